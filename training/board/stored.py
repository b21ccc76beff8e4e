"""Stored clearances and when they are believed: before their end, not older than any mark, on a sound chain."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from training.board.models import StoredClearance
from training.core.permission.decision import Decision, Mode
from training.core.permission.mapping import from_mapping
from training.people.models import Person, Workshop
from training.records.queries import head_of, marks_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One cell of the board. ``decision`` None: it is being worked out, which counts as not cleared."""

    person: Person
    job_type: str
    decision: Decision | None
    computed_at: datetime | None = None


def cells_of(
    workshop: Workshop, people: Sequence[Person], job_types: Sequence[str], *, at: datetime
) -> dict[tuple[int, str], Cell]:
    """The cells of these people, by person id and job type, as far as stored clearances can be believed now."""
    marks = marks_of(workshop.group.chain_id, [workshop.key, *(person.key for person in people)])
    sound = head_of(workshop.group.chain_id).is_sound
    rows = {
        (row.person_id, row.job_type): row
        for row in StoredClearance.objects.filter(workshop=workshop, person__in=people)
    }
    believed = {
        (person.pk, job_type): _cell(
            person, job_type, rows.get((person.pk, job_type)), max(marks[person.key], marks[workshop.key]), sound, at
        )
        for person in people
        for job_type in job_types
    }
    return {place: _with_present_supervisors(cell, believed, people) for place, cell in believed.items()}


def _cell(person: Person, job_type: str, row: StoredClearance | None, mark: int, sound: bool, at: datetime) -> Cell:
    if row is None or not sound or row.computed_number < mark or row.computed_at > at:
        return Cell(person=person, job_type=job_type, decision=None)
    if row.until is not None and row.until <= at:
        return Cell(person=person, job_type=job_type, decision=None)
    try:
        decision = from_mapping(row.decision)
    except (ValueError, KeyError, TypeError):
        return Cell(person=person, job_type=job_type, decision=None)
    return Cell(person=person, job_type=job_type, decision=decision, computed_at=row.computed_at)


def _with_present_supervisors(cell: Cell, believed: Mapping[tuple[int, str], Cell], people: Sequence[Person]) -> Cell:
    """Supervised stands only while one of its supervisors is still believed to be cleared alone."""
    if cell.decision is None or cell.decision.mode is not Mode.SUPERVISED:
        return cell
    alone = {
        person.key
        for person in people
        if (found := believed[person.pk, cell.job_type].decision) and found.mode is Mode.ALONE
    }
    present = tuple(key for key in cell.decision.supervisors if key in alone)
    if not present:
        return replace(cell, decision=None)
    return replace(cell, decision=replace(cell.decision, supervisors=present))
