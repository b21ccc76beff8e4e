"""What two managers decide of the records of people who have left: one proposes to erase, another confirms."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.utils.translation import gettext as _

from training.board.privacy.facts import ErasureConfirmed, ErasureProposed
from training.board.privacy.retention import Kept, kept_of, kept_of_all, left_on_all
from training.core.trade.calendar import local_day
from training.people import checks
from training.people.models import Person, WorkshopGroup
from training.people.refusal import Refusal
from training.people.writing import lock
from training.records.actions import append
from training.records.models import Record
from training.records.queries import facts_of

SHAPES = (ErasureProposed, ErasureConfirmed)


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """One proposal; ``confirmed_by`` is "" while nobody else has confirmed it."""

    record: int
    numbers: frozenset[int]
    why: str
    by: str
    confirmed_by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaver:
    """Somebody who has left: what may go because its time is over, or on request, and what has to stay.

    ``proposal`` is the newest of which something is still there, ``next_day`` when more is over, if ever.
    """

    person: Person
    left: date
    over: tuple[int, ...]
    free: tuple[int, ...]
    held: int
    next_day: date | None
    proposal: Proposal | None

    @property
    def waits(self) -> bool:
        """Whether a manager is asked to do something: time is over, and two have not decided it yet."""
        return bool(self.over) and (self.proposal is None or not self.proposal.confirmed_by)


@transaction.atomic
def propose(*, person: Person, numbers: Sequence[int], why: str, by: Person, at: datetime) -> Record:
    """A manager proposes to erase these records of somebody who has left; nothing is erased yet."""
    lock(person)
    checks.entered_by_manager(person, by, may_have_left=True)
    _refuse_held(person, numbers, at)
    newest = _newest(person)
    if newest is not None and newest.numbers == frozenset(numbers):
        raise Refusal(_("This is proposed already. Another manager confirms it."))
    fact = ErasureProposed(numbers=sorted(set(numbers)), why=checks.worded(why, "why"), by=by.key)
    return append(fact, chain_id=person.group.chain_id, about=person.key, at=at)


@transaction.atomic
def confirm(*, person: Person, record: int, by: Person, at: datetime) -> Record:
    """A second manager confirms the newest proposal; ``manage.py erase_bodies`` then erases it."""
    lock(person)
    checks.entered_by_manager(person, by, may_have_left=True)
    newest = _newest(person)
    if newest is None or newest.record != record:
        raise Refusal(_("This is not the newest proposal. Reload the page."))
    if newest.confirmed_by:
        raise Refusal(_("This is confirmed already."))
    if newest.by == by.key:
        raise Refusal(_("You proposed this. Another manager confirms it."))
    _refuse_held(person, sorted(newest.numbers), at)
    fact = ErasureConfirmed(record=record, by=by.key)
    return append(fact, chain_id=person.group.chain_id, about=person.key, at=at)


def proposals_of(people: Sequence[Person], *, chain_id: int) -> dict[str, list[Proposal]]:
    """All proposals of each of these people, oldest first, by their keys."""
    found: dict[str, dict[int, Proposal]] = {person.key: {} for person in people}
    for row in facts_of(SHAPES, chain_id=chain_id, about=list(found)):
        mine, fact = found[row.about], row.fact
        if isinstance(fact, ErasureProposed):
            mine[row.number] = Proposal(
                record=row.number, numbers=frozenset(fact.numbers), why=fact.why, by=fact.by, confirmed_by=""
            )
        elif isinstance(fact, ErasureConfirmed) and (one := mine.get(fact.record)) and fact.by not in ("", one.by):
            mine[fact.record] = Proposal(
                record=one.record, numbers=one.numbers, why=one.why, by=one.by, confirmed_by=one.confirmed_by or fact.by
            )
    return {key: list(proposals.values()) for key, proposals in found.items()}


def confirmed_of(person: Person) -> list[Proposal]:
    """What two managers decided to erase of a person, oldest first."""
    proposals = proposals_of([person], chain_id=person.group.chain_id)[person.key]
    return [one for one in proposals if one.confirmed_by]


def leavers(group: WorkshopGroup, *, at: datetime) -> list[Leaver]:
    """Everybody of a group who has left and of whom something is still on record, the first to have left first."""
    people = list(Person.objects.filter(group=group, is_active=False).select_related("group", "workshop"))
    # retention is counted in months: which zone's day it is decides over hours only, on the late side
    kept = kept_of_all(people, today=min((local_day(at, one.workshop.zone) for one in people), default=date.min))
    proposals = proposals_of(people, chain_id=group.chain_id)
    left = left_on_all(people)
    found = [_leaver(one, left[one.pk], kept[one.pk], proposals[one.key]) for one in people if kept[one.pk]]
    return sorted(found, key=lambda one: (one.left, one.person.tally))


def _leaver(person: Person, left: date | None, kept: Sequence[Kept], proposals: Sequence[Proposal]) -> Leaver:
    numbers = {row.number for row in kept}
    waiting = [one for one in proposals if one.numbers & numbers]
    later = [row.end for row in kept if row.end is not None and not row.over]
    return Leaver(
        person=person,
        left=left or date.min,
        over=tuple(row.number for row in kept if row.over),
        free=tuple(row.number for row in kept if not row.held),
        held=sum(1 for row in kept if row.held),
        next_day=min(later, default=None),
        proposal=waiting[-1] if waiting else None,
    )


def _newest(person: Person) -> Proposal | None:
    proposals = proposals_of([person], chain_id=person.group.chain_id)[person.key]
    return proposals[-1] if proposals else None


def _refuse_held(person: Person, numbers: Sequence[int], at: datetime) -> None:
    kept = {row.number: row for row in kept_of(person, today=local_day(at, person.workshop.zone))}
    wrong = [number for number in numbers if number not in kept or kept[number].held]
    if wrong or not numbers:
        raise Refusal(_("Some of these records have to stay, or are erased already. Reload the page."))
