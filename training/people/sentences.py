"""Records in plain words: what was entered, by whom, and what of it this viewer may see."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from training.people import facts
from training.people.causes import cause_said
from training.people.models import Person, RoleHeld, Workshop
from training.people.queries import is_manager
from training.records.facts import BodiesErased, Fact, Reconciled
from training.records.queries import Written

Names = Mapping[str, str]
Saying = Callable[[Any, Names], str]
Preparing = Callable[[Sequence[Any]], Saying]


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One record as a page shows it. ``reason`` is empty where this viewer may not see one.

    ``due`` says what has to be done about it by a day, if anything; ``due_warns``: soon, or late already.
    """

    number: int
    text: str
    reason: str
    by: str
    happened: str
    is_certificate: bool = False
    is_appointment: bool = False
    of: int = 0
    due: str = ""
    due_warns: bool = False


def names_of(group_id: int) -> dict[str, str]:
    """The names of all people and workshops of a group by their keys."""
    names = {person.key: person.full_name for person in Person.objects.filter(group_id=group_id)}
    return names | dict(Workshop.objects.filter(group_id=group_id).values_list("key", "name"))


def lines_for(viewer: Person, person: Person, papers: Iterable[Written[Fact]]) -> list[Line]:
    """Records about a person in words, in the order given, with reasons only for those who may see them."""
    papers, names, zone = list(papers), names_of(person.group_id), ZoneInfo(person.workshop.zone)
    manages = is_manager(viewer)
    return [
        Line(
            number=paper.number,
            text=text,
            reason=reason_for(viewer, paper, manages=manages),
            by=names.get(getattr(paper.fact, "by", ""), ""),
            happened=_instant(paper.happened_at, zone),
            is_certificate=isinstance(paper.fact, facts.CertificateSeen),
            of=person.pk,
            is_appointment=isinstance(paper.fact, facts.Appointed | facts.MentorAppointed),
        )
        for paper, text in zip(papers, all_said(papers, names), strict=True)
    ]


def say(shape: type[Fact], saying: Saying) -> None:
    """Let the app that defines a fact say it in words."""
    SAYINGS[shape] = saying


def say_many(shape: type[Fact], preparing: Preparing) -> None:
    """The same where what it takes to say them has to be looked up: once for all facts of the shape on a page."""
    PREPARING[shape] = preparing
    SAYINGS[shape] = lambda fact, names: preparing([fact])(fact, names)


def all_said(papers: Sequence[Written[Fact]], names: Names) -> list[str]:
    """Records in one sentence each, in the order given; however many they are, each kind is looked up once."""
    prepared = {
        shape: preparing([paper.fact for paper in papers if type(paper.fact) is shape])
        for shape, preparing in PREPARING.items()
        if any(type(paper.fact) is shape for paper in papers)
    }
    return [_said(paper, names, SAYINGS | prepared) for paper in papers]


def said(paper: Written[Fact], names: Names) -> str:
    """A record in one sentence."""
    return _said(paper, names, SAYINGS)


def _said(paper: Written[Fact], names: Names, sayings: Mapping[Any, Saying]) -> str:
    if paper.erased_on is not None:
        return _("Erased on %(day)s: what it said is no longer kept. It proves nothing.") % {
            "day": day(paper.erased_on)
        }
    if paper.fact is None:
        return _("Cannot be read. It blocks until somebody has looked into it.")
    saying = sayings.get(type(paper.fact))
    return saying(paper.fact, names) if saying else paper.kind.replace(".", ": ").replace("_", " ")


def day(on: date) -> str:
    """A day as it is written here, such as 14 Mar 2026."""
    return date_format(on, "j M Y")


def _instant(at: datetime, zone: ZoneInfo) -> str:
    return date_format(at.astimezone(zone), "j M Y, H:i")


def reason_for(viewer: Person, paper: Written[Fact], *, manages: bool) -> str:
    """The person, whoever entered it and managers see a reason; of a medical one there is none to see.

    ``manages``: whether the viewer is a manager, looked up once for all that they see.
    """
    if viewer.key not in (paper.about, getattr(paper.fact, "by", "")) and not manages:
        return ""
    if getattr(paper.fact, "medical", False):
        return _("Not fit until released.")
    return cause_said(paper.fact) if isinstance(paper.fact, facts.StoodDown) else getattr(paper.fact, "reason", "")


def _listed(words: Sequence[str]) -> str:
    return ", ".join(words)


def _appointed(fact: facts.Appointed, names: Names) -> str:
    said = _("Appointed for %(what)s at %(where)s, from %(from)s through %(through)s.") % {
        "what": _listed(fact.job_types),
        "where": names.get(fact.workshop, "?"),
        "from": day(fact.from_day),
        "through": day(fact.through_day),
    }
    if fact.vehicle_families:
        said += " " + _("Vehicle families: %(what)s.") % {"what": _listed(fact.vehicle_families)}
    if fact.may_not:
        said += " " + _("May not: %(what)s.") % {"what": "; ".join(fact.may_not)}
    return said


def _mentor_appointed(fact: facts.MentorAppointed, names: Names) -> str:
    said = _("Appointed as mentor for %(what)s at %(where)s, from %(from)s through %(through)s.")
    if fact.outside:
        said = _("Appointed as mentor from outside for %(what)s at %(where)s, from %(from)s through %(through)s.")
    return said % {
        "what": _listed(fact.tasks),
        "where": names.get(fact.workshop, "?"),
        "from": day(fact.from_day),
        "through": day(fact.through_day),
    }


def _second_signed(fact: facts.SecondSigned, _names: Names) -> str:
    return _("The appointment as mentor of record %(number)d was signed by a second person.") % {"number": fact.record}


def _confirmed(fact: facts.Confirmed, _names: Names) -> str:
    return _("The appointment of record %(number)d was put into force.") % {"number": fact.record}


def _withdrawn(fact: facts.Withdrawn, _names: Names) -> str:
    return _("Record %(number)d is void from %(day)s on.") % {"number": fact.record, "day": day(fact.from_day)}


def _verified(fact: facts.CertificateVerified, _names: Names) -> str:
    return _("The issuer confirmed the certificate of record %(number)d on %(day)s: %(how)s.") % {
        "number": fact.record,
        "day": day(fact.verified_on),
        "how": fact.how,
    }


def _stood_down(fact: facts.StoodDown, _names: Names) -> str:
    if fact.job_types is None:
        what = _("Stood down from every job type, until released.")
    else:
        what = _("Stood down from %(what)s, until released.") % {"what": _listed(fact.job_types)}
    return f"{what} {_('After an incident: two people release it.')}" if fact.incident else what


def _released(fact: facts.Released, _names: Names) -> str:
    said = _("Released from the stand-down of record %(number)d.") % {"number": fact.record}
    if not fact.evidence:
        return said
    return f"{said} {_('Seen since: records %(numbers)s.') % {'numbers': _listed([str(n) for n in fact.evidence])}}"


def _certificate(fact: facts.CertificateSeen, _names: Names) -> str:
    through = _("through %(day)s") % {"day": day(fact.through_day)} if fact.through_day else _("no last day on it")
    sentence = _("Outside certificate seen: %(what)s, issued by %(issuer)s on %(on)s, %(through)s.") % {
        "what": fact.certificate,
        "issuer": fact.issuer,
        "on": day(fact.issued_on),
        "through": through,
    }
    return f"{sentence} {_('It names')} {_listed(fact.tasks)}." if fact.tasks else sentence


def _instructed(fact: facts.Instructed, names: Names) -> str:
    where = names.get(fact.workshop, "?")
    return _("Instructed at %(where)s on %(on)s: %(what)s.") % {
        "where": where,
        "on": day(fact.given_on),
        "what": fact.about_what,
    }


def _age(fact: facts.AgeEntered, _names: Names) -> str:
    word = _("under 18") if fact.under_18 else _("18 or over")
    return _("Entered as %(word)s on %(on)s.") % {"word": word, "on": day(fact.entered_on)}


def _role_changed(fact: facts.RoleChanged, _names: Names) -> str:
    role = role_said(fact.role)
    return _("Role given: %(role)s.") % {"role": role} if fact.held else _("Role taken: %(role)s.") % {"role": role}


def role_said(role: str) -> str:
    """A role in the reader's language; as it stands where there is no such role any more."""
    return str(dict(RoleHeld.Role.choices).get(role, role))


def _leaving_day(fact: facts.LeavingDay, _names: Names) -> str:
    if fact.last_day is None:
        return _("Stays with the firm: the leaving day was taken back.")
    return _("Last day with the firm: %(day)s.") % {"day": day(fact.last_day)}


def _countersigned(fact: facts.Countersigned, _names: Names) -> str:
    return _("Record %(number)d was countersigned.") % {"number": fact.record}


def _disputed(fact: facts.Disputed, _names: Names) -> str:
    return _("Record %(number)d was disputed: %(what)s") % {"number": fact.record, "what": fact.what}


def _settled(fact: facts.DisputeSettled, _names: Names) -> str:
    told = {"number": fact.record}
    if fact.stands:
        return _("The dispute of record %(number)d was settled: what was disputed stands.") % told
    return _("The dispute of record %(number)d was settled: what was disputed is withdrawn.") % told


def _opened(fact: facts.WorkshopOpened, names: Names) -> str:
    return _("%(name)s opened on %(day)s, signed by %(by)s and %(second)s.") % {
        "name": fact.name,
        "day": day(fact.opened_on),
        "by": names.get(fact.by, "?"),
        "second": names.get(fact.second, "?"),
    }


def _small_shop(fact: facts.SmallShopProposed, _names: Names) -> str:
    said = _("Small-shop exception proposed for %(what)s, from %(from)s through %(through)s.")
    return said % {
        "what": _("all practical tasks") if fact.tasks is None else _listed(fact.tasks),
        "from": day(fact.from_day),
        "through": day(fact.through_day),
    }


def _small_shop_signed(fact: facts.SmallShopSigned, _names: Names) -> str:
    return _("The small-shop exception of record %(number)d was signed by a second person.") % {"number": fact.record}


def _small_shop_confirmed(fact: facts.SmallShopConfirmed, _names: Names) -> str:
    return _("The small-shop exception of record %(number)d was put into force.") % {"number": fact.record}


def _small_shop_withdrawn(fact: facts.SmallShopWithdrawn, _names: Names) -> str:
    said = _("The small-shop exception of record %(number)d is void from %(day)s on.")
    return said % {"number": fact.record, "day": day(fact.from_day)}


def _reconciled(fact: Reconciled, _names: Names) -> str:
    return _("Restored records answer again from record %(number)d on: %(by)s. %(why)s") % {
        "number": fact.restored,
        "by": fact.by,
        "why": fact.why,
    }


def _bodies_erased(fact: BodiesErased, _names: Names) -> str:
    return _("Erased what %(count)d records said: %(why)s") % {"count": len(fact.numbers), "why": fact.why}


PREPARING: dict[type[Fact], Preparing] = {}
SAYINGS: dict[type[Fact], Saying] = {
    Reconciled: _reconciled,
    BodiesErased: _bodies_erased,
    facts.Appointed: _appointed,
    facts.MentorAppointed: _mentor_appointed,
    facts.SecondSigned: _second_signed,
    facts.Confirmed: _confirmed,
    facts.StoodDown: _stood_down,
    facts.Withdrawn: _withdrawn,
    facts.CertificateVerified: _verified,
    facts.Released: _released,
    facts.CertificateSeen: _certificate,
    facts.Instructed: _instructed,
    facts.AgeEntered: _age,
    facts.RoleChanged: _role_changed,
    facts.LeavingDay: _leaving_day,
    facts.Countersigned: _countersigned,
    facts.Disputed: _disputed,
    facts.DisputeSettled: _settled,
    facts.WorkshopOpened: _opened,
    facts.SmallShopProposed: _small_shop,
    facts.SmallShopSigned: _small_shop_signed,
    facts.SmallShopConfirmed: _small_shop_confirmed,
    facts.SmallShopWithdrawn: _small_shop_withdrawn,
}
