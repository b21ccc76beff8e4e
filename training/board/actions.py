"""Working clearances out and storing them, so that the board need not work everything out at each look."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction

from training.board.models import StoredClearance
from training.board.queries import decide_all, read_workshop
from training.core.permission.decision import Decision
from training.core.permission.mapping import as_mapping
from training.people.models import Person, Workshop
from training.people.queries import people_of
from training.records.queries import marks_of


def work_out(*, workshop: Workshop, people: Iterable[Person] | None, at: datetime) -> int:
    """Work out and store the clearances of these people of a workshop (None: of all); returns how many were stored.

    Everybody is decided, since supervisors come from colleagues; only the people asked for are stored.
    """
    reading = read_workshop(workshop, read_at=at)
    team = list(people_of(workshop))
    wanted = team if people is None else [person for person in people if person.workshop_id == workshop.pk]
    decided = decide_all(reading, {person.pk: person for person in [*team, *wanted]}.values(), at=at)
    with transaction.atomic():
        for person in wanted:
            for decision in decided[person.key].values():
                _store(person, workshop, decision, at)
    return sum(len(decided[person.key]) for person in wanted)


def sweep(*, at: datetime) -> int:
    """Work out whatever is no longer believed, everywhere; returns how many clearances were stored anew.

    Safe to run twice and at any moment: a clearance only ever gets as new as the records that were read for it.
    """
    return sum(_sweep_workshop(workshop, at) for workshop in Workshop.objects.select_related("group"))


def _sweep_workshop(workshop: Workshop, at: datetime) -> int:
    team = list(people_of(workshop))
    marks = marks_of(workshop.group.chain_id, [workshop.key, *(person.key for person in team)])
    stored: dict[int, list[StoredClearance]] = {person.pk: [] for person in team}
    for row in StoredClearance.objects.filter(workshop=workshop, person__in=team):
        stored[row.person_id].append(row)
    stale = [
        person
        for person in team
        if not stored[person.pk]
        or any(_is_stale(row, max(marks[person.key], marks[workshop.key]), at) for row in stored[person.pk])
    ]
    return work_out(workshop=workshop, people=stale, at=at) if stale else 0


def _is_stale(row: StoredClearance, mark: int, at: datetime) -> bool:
    return row.computed_number < mark or (row.until is not None and row.until <= at)


def _store(person: Person, workshop: Workshop, decision: Decision, at: datetime) -> None:
    """Store a decision unless a newer one is there already: a late worker never overwrites."""
    kept = {
        "mode": decision.mode.value,
        "until": decision.until,
        "decision": as_mapping(decision),
        "computed_number": decision.known_at,
        "computed_at": at,
    }
    row, made = StoredClearance.objects.get_or_create(
        person=person, workshop=workshop, job_type=decision.job_type, defaults=kept
    )
    if not made:
        StoredClearance.objects.filter(pk=row.pk, computed_number__lte=decision.known_at).update(**kept)
