"""Opening a workshop: its group if it is new, its first manager and a second signer; all of it or nothing."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import available_timezones

from django.db import transaction

from training.core.trade.calendar import local_day
from training.people.facts import WorkshopOpened
from training.people.models import Person, RoleHeld, Workshop, WorkshopGroup
from training.people.queries import is_manager
from training.people.roster import HIGHEST_TALLY, LONGEST_NAME
from training.records.actions import append
from training.records.models import Chain

OLDEST_OPENING = date(1950, 1, 1)  # an earlier day is a slip of the pen
SLUG, USERNAME = r"[a-z0-9-]{1,50}", r"[\w.@+-]{1,60}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Signer:
    """Somebody who signs the opening: by username alone where they are on record already, else with name and tally."""

    username: str
    given_name: str = ""
    family_name: str = ""
    tally: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """Everything that is asked; ``group_name`` is needed only where the group is new."""

    group: str
    group_name: str
    slug: str
    name: str
    zone: str
    regime: str
    opened_on: date
    manager: Signer
    second: Signer


class OpeningRefused(ValueError):
    """Nothing was entered; ``faults`` lists all that is wrong."""

    def __init__(self, faults: tuple[str, ...]) -> None:
        self.faults = faults
        super().__init__("\n".join(faults))


@transaction.atomic
def open_workshop(opening: Opening, *, at: datetime) -> Workshop:
    """Enter the workshop with both signatures on record. Raises ``OpeningRefused`` with every fault.

    The second signer of a workshop is another manager of its group or, where there is none, a checker: the second pair
    of eyes for its rule books and questions. Nobody new can sign in before a password is set.
    """
    faults = tuple(_faults(opening, at))
    if faults:
        raise OpeningRefused(faults)
    group = WorkshopGroup.objects.filter(slug=opening.group).first() or WorkshopGroup.objects.create(
        slug=opening.group, name=opening.group_name.strip(), chain=Chain.objects.create()
    )
    workshop = Workshop.objects.create(
        group=group,
        slug=opening.slug,
        name=opening.name.strip(),
        zone=opening.zone,
        regime=opening.regime,
        opened_on=opening.opened_on,
    )
    manager = _signer(opening.manager, workshop, RoleHeld.Role.MANAGER)
    second = _signer(opening.second, workshop, RoleHeld.Role.CHECKER)
    fact = WorkshopOpened(
        name=workshop.name,
        zone=workshop.zone,
        regime=workshop.regime,
        opened_on=workshop.opened_on,
        by=manager.key,
        second=second.key,
    )
    append(fact, chain_id=group.chain_id, about=workshop.key, at=at)
    return workshop


def _signer(signer: Signer, workshop: Workshop, role: str) -> Person:
    known = Person.objects.filter(username=signer.username).first()
    if known is not None:
        return known
    assert signer.tally is not None  # or there was a fault
    person = Person.objects.create_person(
        username=signer.username,
        password=None,
        group=workshop.group,
        workshop=workshop,
        given_name=signer.given_name.strip(),
        family_name=signer.family_name.strip(),
        tally=signer.tally,
        contract=Person.Contract.OFFICE,
    )
    RoleHeld.objects.create(person=person, role=role)
    return person


def _faults(opening: Opening, at: datetime) -> Iterator[str]:
    group = WorkshopGroup.objects.filter(slug=opening.group).first()
    yield from _group_faults(opening, group)
    yield from _site_faults(opening, at)
    yield from _signer_faults("manager", opening.manager, group)
    yield from _signer_faults("second", opening.second, group)
    if opening.manager.username.casefold() == opening.second.username.casefold():
        yield "second: the second signature is another person's"
    tallies = (opening.manager.tally, opening.second.tally)
    if None not in tallies and tallies[0] == tallies[1]:
        yield f"second: tally {tallies[1]} is the manager's"


def _group_faults(opening: Opening, group: WorkshopGroup | None) -> Iterator[str]:
    if not re.fullmatch(SLUG, opening.group):
        yield f"group: {opening.group!r} may hold small letters, digits and - only"
    if group is None and not _fits(opening.group_name):
        yield f"group-name: there is no group {opening.group!r} yet; give its name, of at most 120 letters"


def _site_faults(opening: Opening, at: datetime) -> Iterator[str]:
    if not re.fullmatch(SLUG, opening.slug):
        yield f"slug: {opening.slug!r} may hold small letters, digits and - only"
    elif Workshop.objects.filter(slug=opening.slug).exists():
        yield f"slug: there is a workshop {opening.slug!r} already"
    if not _fits(opening.name):
        yield "name: give the workshop's name, of at most 120 letters"
    if opening.regime not in Workshop.Regime.values:
        yield f"regime: {opening.regime!r} is none of {', '.join(Workshop.Regime.values)}"
    if opening.zone not in available_timezones():
        yield f"zone: {opening.zone!r} is no time zone, such as Europe/Berlin"
    elif not OLDEST_OPENING <= opening.opened_on <= local_day(at, opening.zone):
        yield f"opened-on: {opening.opened_on.isoformat()} is still to come there, or too long ago. Check the date"


def _fits(name: str) -> bool:
    return 0 < len(name.strip()) <= 120


def _signer_faults(who: str, signer: Signer, group: WorkshopGroup | None) -> Iterator[str]:
    known = Person.objects.filter(username__iexact=signer.username).first()
    if known is None:
        yield from _new_person_faults(who, signer, group)
    elif group is None or known.group_id != group.pk or not known.is_active:
        yield f"{who}: the username {signer.username!r} belongs to somebody of another group, or who has left"
    elif known.username != signer.username:
        yield f"{who}: there is {known.username!r}; write it that way"
    elif not is_manager(known):
        yield f"{who}: {known.full_name} is no manager of the group"


def _new_person_faults(who: str, signer: Signer, group: WorkshopGroup | None) -> Iterator[str]:
    if not re.fullmatch(USERNAME, signer.username):
        yield f"{who}: the username {signer.username!r} may hold letters, digits and . @ + - _ only"
    for name, text in (("given name", signer.given_name), ("family name", signer.family_name)):
        if not 0 < len(text.strip()) <= LONGEST_NAME:
            yield f"{who}: give the {name}, of at most {LONGEST_NAME} letters"
    if signer.tally is None or not 1 <= signer.tally <= HIGHEST_TALLY:
        yield f"{who}: give a tally number from 1 to {HIGHEST_TALLY}"
    elif group is not None and Person.objects.filter(group=group, tally=signer.tally).exists():
        yield f"{who}: tally {signer.tally} belongs to somebody of the group already"
