"""Who waits for which practical task, and whose unsafe answers wait for a talk-through, as one mentor may see them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from training.board.queries import Reading, decisions_for, evidence_for, read_workshop
from training.board.stored import cells_of
from training.core.permission.authority import Court, House
from training.core.permission.decision import Decision, RemedyKind
from training.core.permission.evidence import UnsafeAnswer
from training.core.permission.rule_book import JobType, SignOffOf
from training.drill.picking import job_types_sought_at
from training.drill.queries import histories_of
from training.people.models import Person, Workshop
from training.people.queries import people_of

Decisions = Mapping[str, Decision]


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitsForTask:
    """A person who needs a task observed, and for which job types."""

    person: Person
    task: str
    job_types: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitsForTalk:
    """A person with an unsafe answer that nobody has talked through yet."""

    person: Person
    answer: UnsafeAnswer


def waiting_for_tasks(workshop: Workshop, mentor: Person, court: Court, *, at: datetime) -> list[WaitsForTask]:
    """Who of this workshop waits for a task that this mentor may observe for them now."""
    book = court.house.rule_book
    team = [person for person in people_of(workshop) if person.pk != mentor.pk]
    decided = _decisions(workshop, team, [job_type.key for job_type in book.job_types], at)
    sought = job_types_sought_at(workshop, team, book, at=at)
    found = [row for person in team for row in _tasks_of(person, decided[person.pk], sought[person.pk])]
    return [row for row in found if not court.refusals(mentor.key, row.person.key, row.task, at)]


def waiting_for_talk(workshop: Workshop, mentor: Person, court: Court, *, at: datetime) -> list[WaitsForTalk]:
    """Unsafe answers without a talk-through, of those whom this mentor may observe at some task."""
    team = [person for person in people_of(workshop) if may_talk_with(court, mentor, person, at)]
    histories = histories_of([person.key for person in team], chain_id=workshop.group.chain_id)
    return [
        WaitsForTalk(person=person, answer=answer)
        for person in team
        for answer in histories[person.key].until(at).unsafe()
        if not answer.talked_through
    ]


def may_talk_with(court: Court, mentor: Person, person: Person, at: datetime) -> bool:
    """Whether this mentor may observe this person at any task at all: then they may talk answers through."""
    return mentor.pk != person.pk and any(
        not court.refusals(mentor.key, person.key, task, at) for task in tasks_asked(court.house)
    )


def tasks_asked(house: House) -> list[str]:
    """Every practical task that the rule book asks for."""
    asked = {
        rule.task
        for job_type in house.rule_book.job_types
        for rule in job_type.requirements
        if isinstance(rule, SignOffOf)
    }
    return sorted(asked, key=lambda task: (len(task), task))


def _decisions(workshop: Workshop, team: Sequence[Person], job_types: list[str], at: datetime) -> dict[int, Decisions]:
    """Decisions by person id: the stored ones where all of a person's are believed, else worked out now.

    They only say who waits; whether the mentor may observe is judged now.
    """
    cells = cells_of(workshop, team, job_types, at=at)
    believed: dict[int, Decisions] = {
        person.pk: {key: found for key in job_types if (found := cells[person.pk, key].decision)} for person in team
    }
    doubted = [person for person in team if len(believed[person.pk]) < len(job_types)]
    reading = read_workshop(workshop, read_at=at) if doubted else None
    worked_out = {person.pk: _now(reading, person, at) for person in doubted if reading}
    return {**believed, **worked_out}


def _now(reading: Reading, person: Person, at: datetime) -> Decisions:
    return decisions_for(reading, evidence_for(reading, person, at=at), at=at)


def _tasks_of(person: Person, decided: Decisions, sought: Sequence[JobType]) -> list[WaitsForTask]:
    """The tasks that a person misses for job types held or worked towards."""
    waits: dict[str, list[str]] = {}
    for job_type in sought:
        for task in _to_observe(decided.get(job_type.key)):
            waits.setdefault(task, []).append(job_type.key)
    return [WaitsForTask(person=person, task=task, job_types=tuple(keys)) for task, keys in waits.items()]


def _to_observe(decision: Decision | None) -> list[str]:
    """The tasks that a mentor's observation would bring nearer, each once."""
    gaps = decision.gaps if decision else ()
    return list(dict.fromkeys(gap.subject for gap in gaps if gap.remedy.kind is RemedyKind.OBSERVATION))
