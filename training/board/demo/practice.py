"""Observations of practical tasks: as many as the rule book asks for, by mentors who may, or just short of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import time
from random import Random

from training.bank.queries import newest_tasks, task_of
from training.bank.rule_books import rule_book_of
from training.board.demo.house import House
from training.board.demo.reading import Practice
from training.board.demo.timeline import Event
from training.core.permission.counting import Asked
from training.core.permission.evidence import Supervision
from training.core.permission.practical import Judgement, PracticalTask, StepResult, faults_of_attempt
from training.core.permission.rule_book import JobType, RuleBook, SignOffOf, holds_of
from training.people.models import Person
from training.signoff.facts import Observed

SETTLED_IN_DAYS = 8
EARLIEST = 306  # the mentors are appointed by then
LATEST_DAYS = (18, 110)
GOOD = (
    "Calm and in order; said aloud what came next.",
    "Nothing to add. Checked the trap without being told.",
    "Slow, and right at every step.",
    "Good. Asked one question, about the maker's page.",
    "",
)
NOT_YET = "Had to be told at a critical step. Talked about it; again next week."


def events(house: House, chance: Random) -> Iterator[Event]:
    """The observations of everybody."""
    for username, practice in house.story.practice.items():
        person = house.people[username]
        book = rule_book_of(person.workshop)
        if book is None:
            raise LookupError(f"no rule book is in force at {person.workshop}")
        joined = next(one.joined for one in house.story.cast.people if one.username == username)
        watched = _Watched(house, person, practice, min(joined - SETTLED_IN_DAYS, EARLIEST), chance)
        yield from watched.events(book)


def asked_for(book: RuleBook, keys: Sequence[str]) -> dict[str, tuple[Asked, int | None]]:
    """Per task the most that these job types and all below them ask, and within how many days it was last done."""
    named = [book.job_type(key) for key in keys]
    found: dict[str, tuple[Asked, int | None]] = {}
    for job_type in dict.fromkeys([*named, *(held for one in named for held in holds_of(book, one))]):
        for rule in _sign_offs(job_type):
            found[rule.task] = _harder(found.get(rule.task), rule)
    return dict(sorted(found.items(), key=lambda pair: (len(pair[0]), pair[0])))


def _sign_offs(job_type: JobType) -> list[SignOffOf]:
    return [rule for rule in job_type.requirements if isinstance(rule, SignOffOf)]


def _harder(known: tuple[Asked, int | None] | None, rule: SignOffOf) -> tuple[Asked, int | None]:
    asked, within = known or (Asked(observations=0, mentors=0, days=0, valid_months=rule.valid_months), None)
    limits = [days for days in (within, rule.done_within_days) if days is not None]
    return Asked(
        observations=max(asked.observations, rule.observations),
        mentors=max(asked.mentors, rule.mentors),
        days=max(asked.days, rule.days),
        valid_months=min(asked.valid_months, rule.valid_months),
        beside_first=max(asked.beside_first, rule.beside_first),
    ), min(limits, default=None)


class _Watched:
    """One person being watched, from ``start`` days ago on."""

    def __init__(self, house: House, person: Person, practice: Practice, start: int, chance: Random) -> None:
        self.house, self.person, self.practice, self.start, self.chance = house, person, practice, start, chance
        self.past = house.past(person.workshop)
        self.tasks = {ident: task_of(version) for ident, version in newest_tasks(person.group_id).items()}
        self.mentors = [one for one in house.mentors_at(person.workshop) if one.pk != person.pk]

    def events(self, book: RuleBook) -> Iterator[Event]:
        for ident, (asked, within) in asked_for(book, self.practice.enough_for).items():
            number = self.practice.fewer.get(ident, asked.observations)
            days = self._days(ident, number, asked, within)
            mentors = self._mentors(len(days))
            if ident in self.practice.failed and days:
                yield self._event(self.tasks[ident], min(self.start + 2, days[0] + 7), mentors[-1], passes=False)
            yield from self._beside(self.tasks[ident], days, mentors, asked.beside_first)
            for days_ago, mentor in zip(days, mentors, strict=True):
                yield self._event(self.tasks[ident], days_ago, mentor, passes=True)

    def _beside(
        self, task: PracticalTask, days: Sequence[int], mentors: Sequence[Person], number: int
    ) -> Iterator[Event]:
        """On the days before the first attempt alone, as many with the mentor beside as are asked for."""
        for before in range(number if days else 0, 0, -1):
            yield self._event(task, days[0] + before, mentors[0], passes=True, supervision=Supervision.BESIDE)

    def _days(self, ident: str, number: int, asked: Asked, within: int | None) -> list[int]:
        """So many different days, oldest first; the last one lately, where the task is to be done lately."""
        if number == 0:
            return []
        oldest = min(self.start, asked.valid_months * 30 - 35)
        last = self.practice.last_done.get(ident) or min(self.chance.randint(*LATEST_DAYS), oldest - 2 * number)
        if within is not None and ident not in self.practice.last_done:
            last = min(last, within - 40)
        earlier = self.chance.sample(range(last + 1, max(oldest, last + number) + 1), number - 1)
        return sorted([*earlier, last], reverse=True)

    def _mentors(self, number: int) -> list[Person]:
        """A different mentor each time, as long as there are any."""
        order = self.chance.sample(self.mentors, len(self.mentors))
        return [order[place % len(order)] for place in range(number)]

    def _event(
        self,
        task: PracticalTask,
        days_ago: int,
        mentor: Person,
        *,
        passes: bool,
        supervision: Supervision = Supervision.ALONE,
    ) -> Event:
        steps = [StepResult.DONE] * len(task.steps)
        if not passes:
            steps[self._critical_step(task)] = StepResult.PROMPTED
        judgement = Judgement.READY if passes else Judgement.NOT_YET
        fact = Observed(
            task=task.id,
            version=task.version,
            workshop=self.person.workshop.key,
            steps=[step.value for step in steps],
            judgement=judgement.value,
            passed=not faults_of_attempt(task, steps, judgement),
            note=self.chance.choice(GOOD) if passes else NOT_YET,
            by=mentor.key,
            supervision=supervision.value,
        )
        clock = time(self.chance.randint(9, 15), self.chance.randint(0, 59))
        at = self.past.at(days_ago, clock)
        return Event(at=at, about=self.person.key, fact=fact, names=(mentor.key,))

    def _critical_step(self, task: PracticalTask) -> int:
        return self.chance.choice([place for place, step in enumerate(task.steps) if step.critical])
