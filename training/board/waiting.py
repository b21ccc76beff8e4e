"""Who waits for which practical task, and whose unsafe answers wait for a talk-through, as one mentor may see them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from training.board.queries import decide_all, read_workshop
from training.core.permission.authority import Court, House
from training.core.permission.decision import Decision, Gap, Ground
from training.core.permission.evidence import UnsafeAnswer
from training.core.permission.rule_book import RuleBook, SignOffOf
from training.drill.picking import job_types_sought
from training.drill.queries import histories_of
from training.people.models import Person, Workshop
from training.people.queries import people_of
from training.signoff.queries import house_of_workshop

WAITED_FOR = (Ground.SIGN_OFF, Ground.NOT_DONE_LATELY)


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


def waiting_for_tasks(workshop: Workshop, mentor: Person, *, at: datetime) -> list[WaitsForTask]:
    """Who of this workshop waits for a task that this mentor may observe for them now."""
    reading = read_workshop(workshop, read_at=at)
    house = house_of_workshop(workshop)
    if reading.rule_book is None or house is None:
        return []
    court = Court(house)
    team = [person for person in people_of(workshop) if person.pk != mentor.pk]
    decided = decide_all(reading, team, at=at)
    found = [row for person in team for row in _tasks_of(person, decided[person.key], reading.rule_book)]
    return [row for row in found if not court.refusals(mentor.key, row.person.key, row.task, at)]


def waiting_for_talk(workshop: Workshop, mentor: Person, *, at: datetime) -> list[WaitsForTalk]:
    """Unsafe answers without a talk-through, of those whom this mentor may observe at some task."""
    house = house_of_workshop(workshop)
    if house is None:
        return []
    court = Court(house)
    team = [person for person in people_of(workshop) if person.pk != mentor.pk]
    histories = histories_of([person.key for person in team], chain_id=workshop.group.chain_id)
    return [
        WaitsForTalk(person=person, answer=answer)
        for person in team
        if may_talk_with(court, mentor, person, at)
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


def _tasks_of(person: Person, decided: Mapping[str, Decision], book: RuleBook) -> list[WaitsForTask]:
    """The tasks that a person misses for job types held or worked towards."""
    waits: dict[str, list[str]] = {}
    for job_type in job_types_sought(person, book):
        for gap in decided[job_type.key].gaps:
            if _is_observation(gap):
                waits.setdefault(gap.subject, []).append(job_type.key)
    return [WaitsForTask(person=person, task=task, job_types=tuple(keys)) for task, keys in waits.items()]


def _is_observation(gap: Gap) -> bool:
    return gap.ground in WAITED_FOR
