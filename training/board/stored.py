"""Stored clearances and when they are believed: before their end, not older than any mark, on a sound chain."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from training.board.models import StoredClearance
from training.core.permission.decision import Decision, Ending, Ground, Mode
from training.core.permission.evidence import Supervisor
from training.core.permission.mapping import from_mapping
from training.people.models import Person, Workshop
from training.records.queries import Head, head_of, marks_of

CLOCK_SLACK = timedelta(seconds=2)  # reliability.md F9


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One cell of the board. ``decision`` None: it is being worked out, which counts as not cleared."""

    person: Person
    job_type: str
    decision: Decision | None
    computed_at: datetime | None = None

    @property
    def is_alone(self) -> bool:
        """Whether it is believed that this person may take the job type alone."""
        return self.decision is not None and self.decision.mode is Mode.ALONE


Cells = dict[tuple[int, str], Cell]


def cells_of(workshop: Workshop, people: Sequence[Person], job_types: Sequence[str], *, at: datetime) -> Cells:
    """The cells of these people, by person id and job type, as far as stored clearances can be believed now.

    Head and marks are read before the rows: a record that is written meanwhile is for the next look, and a row that is
    renewed meanwhile is only newer than it has to be.
    """
    head = head_of(workshop.group.chain_id)
    if not is_trusted(head, at):
        return {(one.pk, key): Cell(person=one, job_type=key, decision=None) for one in people for key in job_types}
    marks = marks_of(workshop.group.chain_id, [workshop.key, *(person.key for person in people)])
    rows = {
        (row.person_id, row.job_type): row
        for row in StoredClearance.objects.filter(workshop=workshop, person__in=people)
    }
    believed = {
        (one.pk, key): _cell(one, key, rows.get((one.pk, key)), max(marks[one.key], marks[workshop.key]), at)
        for one in people
        for key in job_types
    }
    return {place: _with_present_supervisors(cell, believed) for place, cell in believed.items()}


def is_trusted(head: Head, at: datetime) -> bool:
    """Whether anything that is stored may be believed at all: the chain verifies and the clock is not behind it."""
    newest = head.newest_recorded_at
    return head.is_sound is True and (newest is None or at >= newest - CLOCK_SLACK)


def supervisors_believed(cells: Mapping[tuple[int, str], Cell], job_types: Collection[str]) -> tuple[Supervisor, ...]:
    """Whoever is believed to be cleared alone for these job types."""
    return tuple(
        Supervisor(person=cell.person.key, job_type=cell.job_type, until=cell.decision.until)
        for cell in cells.values()
        if cell.job_type in job_types and cell.is_alone and cell.decision and cell.decision.until
    )


def _cell(person: Person, job_type: str, row: StoredClearance | None, mark: int, at: datetime) -> Cell:
    working = Cell(person=person, job_type=job_type, decision=None)
    if row is None or row.computed_number < mark or row.computed_at > at + CLOCK_SLACK:
        return working
    try:
        decision = from_mapping(row.decision)
    except (ValueError, KeyError, TypeError, AttributeError):
        return working
    if not _is_of_row(decision, row) or not _holds(decision, at):
        return working
    return Cell(person=person, job_type=job_type, decision=decision, computed_at=row.computed_at)


def _is_of_row(decision: Decision, row: StoredClearance) -> bool:
    """Whether row and decision say the same: a clearance that contradicts itself is not believed."""
    said = (decision.mode.value, decision.job_type, decision.until, decision.known_at)
    return said == (row.mode, row.job_type, row.until, row.computed_number)


def _holds(decision: Decision, at: datetime) -> bool:
    """Whether it says no, or says yes until an instant that is still to come."""
    if decision.mode is Mode.NOT_CLEARED:
        return decision.until is None
    return decision.until is not None and decision.ends_by is not None and at < decision.until


def _with_present_supervisors(cell: Cell, believed: Mapping[tuple[int, str], Cell]) -> Cell:
    """Supervised stands only while a supervisor is still believed to be cleared alone, and no longer than they are."""
    decision = cell.decision
    if decision is None or decision.mode is not Mode.SUPERVISED:
        return cell
    named = set(decision.supervisors)
    present = [one for one in supervisors_believed(believed, [cell.job_type]) if one.person in named]
    if not present:
        return replace(cell, decision=None)
    return replace(cell, decision=_cut_to(decision, present))


def _cut_to(decision: Decision, present: Sequence[Supervisor]) -> Decision:
    last = max(present, key=lambda one: (one.until, one.person))
    names = tuple(sorted(one.person for one in present))
    if decision.until is not None and decision.until <= last.until:
        return replace(decision, supervisors=names)
    ends_by = Ending(at=last.until, because=Ground.NO_SUPERVISOR, subject=last.person)
    return replace(decision, supervisors=names, until=last.until, ends_by=ends_by)
