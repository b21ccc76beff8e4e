"""Working clearances out and storing them, so that the board need not work everything out at each look."""

from __future__ import annotations

import logging
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import datetime, timedelta

from django.db import transaction

from training.bank.rule_books import rule_book_of
from training.board.models import StoredClearance
from training.board.queries import (
    Reading,
    Supervisors,
    decide_all,
    decide_one,
    is_waiting_for_supervisor,
    read_workshop,
)
from training.board.stored import Cell, Cells, cells_of, is_trusted, supervisors_believed
from training.core.permission.decision import Decision, Mode
from training.core.permission.mapping import as_mapping
from training.core.permission.rule_book import RuleBook
from training.people.models import Person, Workshop
from training.people.queries import people_of
from training.records.queries import head_of

logger = logging.getLogger(__name__)
OLD = timedelta(hours=12)  # what is missing is told by day; older than this its estimates are worked out anew


class SweepIncomplete(RuntimeError):
    """The clearances of at least one workshop could not be worked out; the message names them."""


def work_out(*, workshop: Workshop, people: Iterable[Person] | None, at: datetime) -> int:
    """Work out and store the clearances of these people of a workshop (None: of all); returns how many were stored.

    Colleagues are not decided again: whoever is believed to be cleared alone may supervise. That is safe, since the
    board shows supervised work only while one of the supervisors named is still believed to be cleared alone.
    """
    reading = read_workshop(workshop, read_at=at)
    if reading.rule_book is None:
        return 0
    team = list(people_of(workshop))
    wanted = team if people is None else [person for person in people if person.workshop_id == workshop.pk]
    decided = _decided(reading, reading.rule_book, wanted, team, at)
    with transaction.atomic():
        for person in sorted(wanted, key=lambda one: one.pk):
            for decision in decided[person.key].values():
                _store(person, workshop, decision, at)
    return sum(len(decided[person.key]) for person in wanted)


def work_out_named(*, keys: Collection[str], at: datetime) -> None:
    """Work out, of the people with these keys, whoever has a clearance that is no longer believed.

    A workshop that fails is logged: the records stand, and its cells say "being worked out" until a worker comes.
    """
    by_workshop = defaultdict(list)
    for person in Person.objects.filter(key__in=keys, is_active=True).select_related("workshop__group"):
        by_workshop[person.workshop].append(person)
    for workshop, people in by_workshop.items():
        try:
            _work_out_doubted(workshop, people, at)
        except Exception:
            logger.exception("Clearances of %s could not be worked out", workshop.slug)


def sweep(*, at: datetime) -> int:
    """Work out whatever is no longer believed or has grown old, everywhere; returns how many were stored anew.

    Safe to run twice and at any moment: a clearance only ever gets as new as the records that were read for it. Raises
    ``SweepIncomplete`` at the end if a workshop failed; the others are done all the same.
    """
    stored, failed = 0, []
    for workshop in Workshop.objects.select_related("group").order_by("pk"):
        try:
            stored += _sweep_workshop(workshop, at)
        except Exception:
            logger.exception("Clearances of %s could not be worked out", workshop.slug)
            failed.append(workshop.slug)
    if failed:
        raise SweepIncomplete("Not worked out: " + ", ".join(failed))
    return stored


def _decided(
    reading: Reading, book: RuleBook, wanted: Sequence[Person], team: Sequence[Person], at: datetime
) -> Mapping[str, Mapping[str, Decision]]:
    """All of the team together; of a few, each with those who are believed to be cleared alone already."""
    if len(wanted) > 1 and {one.pk for one in team} <= {one.pk for one in wanted}:
        return decide_all(reading, wanted, at=at)
    cells = cells_of(reading.workshop, team, [one.key for one in book.job_types], at=at)
    return {
        person.key: decide_one(
            reading, person, at=at, supervisors=lambda job_types: supervisors_believed(cells, job_types)
        )
        for person in wanted
    }


def _work_out_doubted(workshop: Workshop, people: Sequence[Person], at: datetime) -> None:
    cells = _cells(workshop, people, at)
    doubted = [person for person in people if any(cell.decision is None for cell in _of(person, cells))]
    if doubted:
        work_out(workshop=workshop, people=doubted, at=at)


def _sweep_workshop(workshop: Workshop, at: datetime) -> int:
    """Nothing is done while nothing could be believed anyway: no rule book, a broken chain, a clock behind it."""
    if not is_trusted(head_of(workshop.group.chain_id), at):
        return 0
    stored = _work_out_due(workshop, at)
    # whoever is newly cleared alone may open supervised work to others, and to nobody beyond these
    return stored + _work_out_due(workshop, at) if stored else 0


def _work_out_due(workshop: Workshop, at: datetime) -> int:
    team = list(people_of(workshop))
    cells = _cells(workshop, team, at)
    due = [person for person in team if any(_is_due(cell, cells, at) for cell in _of(person, cells))]
    return work_out(workshop=workshop, people=due, at=at) if due else 0


def _cells(workshop: Workshop, people: Sequence[Person], at: datetime) -> Cells:
    book = rule_book_of(workshop)
    return cells_of(workshop, people, [one.key for one in book.job_types] if book else [], at=at)


def _of(person: Person, cells: Cells) -> list[Cell]:
    return [cell for (person_id, _job_type), cell in cells.items() if person_id == person.pk]


def _is_due(cell: Cell, cells: Cells, at: datetime) -> bool:
    """Not believed; or its estimates have grown old; or others could supervise by now than those it names."""
    decision = cell.decision
    if decision is None or cell.computed_at is None:
        return True
    if decision.gaps and cell.computed_at <= at - OLD:
        return True
    others = {one.person for one in _others(cell, cells)}
    if is_waiting_for_supervisor(decision):
        return bool(others)
    return decision.mode is Mode.SUPERVISED and others != set(decision.supervisors)


def _others(cell: Cell, cells: Cells) -> Supervisors:
    believed = supervisors_believed(cells, [cell.job_type])
    return tuple(one for one in believed if one.person != cell.person.key)


def _store(person: Person, workshop: Workshop, decision: Decision, at: datetime) -> None:
    """Store a decision unless a newer one is there already: a late worker never overwrites."""
    kept = {
        "mode": decision.mode.value,
        "until": decision.until,
        "decision": as_mapping(decision),
        "computed_number": decision.known_at,
        "computed_at": at,
    }
    rows = StoredClearance.objects.filter(person=person, workshop=workshop, job_type=decision.job_type)
    if not rows.filter(computed_number__lte=decision.known_at).update(**kept):
        StoredClearance.objects.get_or_create(
            person=person, workshop=workshop, job_type=decision.job_type, defaults=kept
        )
