"""What an open stand-down still needs, in words: fresh evidence and after when, and whose releases."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from training.core.permission.evidence import Release
from training.core.permission.release import may_release
from training.people.fresh import Judged, judged
from training.people.models import Person, RoleHeld
from training.people.queries import people_of_group


def needs_of(person: Person, at: datetime) -> dict[int, list[str]]:
    """Per open stand-down of a person, by its record number, everything that it still needs."""
    return {one.stand_down.record: needs_said(one, person) for one in judged(person, at) if one.still_needed}


def needs_said(found: Judged, person: Person) -> list[str]:
    """What one stand-down still needs; that nothing is, where enough releases count."""
    if not found.still_needed:
        return [_("Nothing: it was released by %(records)s.") % {"records": _records(found.counted)}]
    said = [_evidence_said(found, person), _releases_said(found, person)]
    if found.fallen:
        sentence = _("%(records)s count for nothing: what was seen then does not stand. The stand-down is open.")
        said.insert(0, sentence % {"records": _records(found.fallen, start=True)})
    return said


def _evidence_said(found: Judged, person: Person) -> str:
    told = {"name": person.full_name, "since": since_said(found, person)}
    if found.evidence:
        return _("Fresh evidence is there, dated after %(since)s.") % told
    if found.stand_down.medical:
        return (
            _(
                "Fresh evidence: a new medical answer entered after %(since)s, or a practical task that a mentor saw "
                "%(name)s do alone after that, signed as passed."
            )
            % told
        )
    return _(
        "Fresh evidence: a practical task that a mentor saw %(name)s do alone after %(since)s, signed as passed. "
        "What was seen before does not count."
    ) % told  # fmt: skip


def _releases_said(found: Judged, person: Person) -> str:
    count = found.still_needed
    said = ngettext(
        "%(n)d release is still to be given", "%(n)d releases are still to be given, by as many people", count
    )
    who = [one.full_name for one in who_may_release(found, person)]
    whole = _("%(said)s: %(names)s may.") if who else _("%(said)s, and nobody here may: it takes another manager.")
    return whole % {"said": said % {"n": count}, "names": ", ".join(who)}


def who_may_release(found: Judged, person: Person) -> list[Person]:
    """The managers of the group with no part in it whose release does not count already."""
    given = {one.by for one in found.counted}
    managers = people_of_group(person.group_id).filter(roles__role=RoleHeld.Role.MANAGER)
    return [one for one in managers if may_release(one.key, found.stand_down, person.key) and one.key not in given]


def since_said(found: Judged, person: Person) -> str:
    """When it began, by the clock on the workshop's wall, and whose clock that is."""
    zone = person.workshop.zone
    local = found.stand_down.happened_at.astimezone(ZoneInfo(zone))
    return f"{date_format(local, 'j M Y, H:i')} ({zone})"


def _records(releases: Sequence[Release], *, start: bool = False) -> str:
    numbers = ", ".join(str(one.record) for one in releases)
    said = ngettext("record %(numbers)s", "records %(numbers)s", len(releases)) % {"numbers": numbers}
    return said[:1].upper() + said[1:] if start else said
