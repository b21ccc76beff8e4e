"""What a shift drill could ask of a person, and why: the questions their job types ask for, by what is due."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from training.bank.queries import AcceptedQuestion, accepted_in
from training.bank.rule_books import rule_book_of
from training.core.memory.choose import Candidate, choose
from training.core.memory.due import due_at
from training.core.memory.fold import PersonRecall
from training.core.memory.posterior import moments
from training.core.permission.evidence import UnsafeAnswer
from training.core.permission.rule_book import HoldsJobType, JobType, RecallOf, RuleBook
from training.core.permission.unsafe import SECOND_RETURN, SOONEST_RIGHT
from training.core.questions.kinds import Consequence, Topic
from training.drill.queries import history_of, recall_of
from training.people.models import Person, WorksTowards

FIRST_RETURN = SOONEST_RIGHT + timedelta(minutes=1)  # an answer counts only when more than half a day has passed


@dataclass(frozen=True, slots=True, kw_only=True)
class Aim:
    """What the nearest job type asks of one topic: its rank (0 is nearest) and the highest floors of any."""

    rank: int
    life_floor: float
    mean_floor: float
    life_only: bool

    def floor_for(self, consequence: Consequence) -> float:
        """The floor asked of a question with this consequence; a mean asks its floor of each."""
        return max(self.life_floor, self.mean_floor) if consequence is Consequence.LIFE else self.mean_floor


def job_types_sought(person: Person, book: RuleBook) -> list[JobType]:
    """The job types a person works towards, nearest first; the lowest one always, and all that they stand on."""
    wanted = set(WorksTowards.objects.filter(person=person).values_list("job_type", flat=True))
    wanted.add(book.job_types[0].key)
    keys = {
        key for job_type in book.job_types if job_type.key in wanted for key in _with_what_it_stands_on(book, job_type)
    }
    return [job_type for job_type in book.job_types if job_type.key in keys]


def aims_of(sought: Sequence[JobType]) -> Mapping[Topic, Aim]:
    """What the sought job types ask, per topic."""
    aims: dict[Topic, Aim] = {}
    for rank, job_type in enumerate(sought):
        for asked in job_type.requirements:
            if isinstance(asked, RecallOf):
                for topic in asked.topics:
                    aims[topic] = _raised(aims.get(topic), asked, rank)
    return aims


def pick_questions(person: Person, *, minutes: int, at: datetime) -> list[AcceptedQuestion]:
    """The questions for a drill of so many minutes, in the order to ask them; empty when nothing is accepted yet."""
    book = rule_book_of(person.workshop)
    if book is None:
        return []
    aims = aims_of(job_types_sought(person, book))
    accepted = {row.ident: row for row in accepted_in(person.workshop) if _is_asked(row, aims)}
    history = history_of(person)
    recall, returns = recall_of(person), returns_of(history.unsafe())
    seconds = history.seconds()
    candidates = [_candidate(row, aims[row.topic], recall, returns, seconds) for row in accepted.values()]
    return [accepted[ident] for ident in choose(candidates, minutes, at)]


def returns_of(unsafe: Sequence[UnsafeAnswer]) -> dict[str, datetime]:
    """When each question with an unsafe answer comes back: next day while open, about a week after it was closed."""
    found: dict[str, datetime] = {}
    for answer in unsafe:
        back = answer.closed_at + SECOND_RETURN if answer.closed_at else answer.happened_at + FIRST_RETURN
        if not (answer.closed_at is None and answer.right_since):
            found[answer.question] = max(back, found.get(answer.question, back))
    return found


def _with_what_it_stands_on(book: RuleBook, job_type: JobType) -> set[str]:
    below = [asked.job_type for asked in job_type.requirements if isinstance(asked, HoldsJobType)]
    return {job_type.key}.union(*(_with_what_it_stands_on(book, book.job_type(key)) for key in below))


def _raised(aim: Aim | None, asked: RecallOf, rank: int) -> Aim:
    mean_floor = asked.topic_mean_floor or 0.0
    if aim is None:
        return Aim(
            rank=rank, life_floor=asked.life_floor, mean_floor=mean_floor, life_only=asked.topic_mean_floor is None
        )
    return Aim(
        rank=aim.rank,
        life_floor=max(aim.life_floor, asked.life_floor),
        mean_floor=max(aim.mean_floor, mean_floor),
        life_only=aim.life_only and asked.topic_mean_floor is None,
    )


def _is_asked(row: AcceptedQuestion, aims: Mapping[Topic, Aim]) -> bool:
    aim = aims.get(row.topic)
    return aim is not None and (row.consequence is Consequence.LIFE or not aim.life_only)


def _candidate(
    row: AcceptedQuestion, aim: Aim, recall: PersonRecall, returns: Mapping[str, datetime], seconds: float
) -> Candidate:
    trace = recall.traces.get(row.ident)
    floor = aim.floor_for(row.consequence)
    must = row.ident in returns and (trace is None or trace.last_at < returns[row.ident])
    return Candidate(
        question=row.ident,
        topic=row.topic.value,
        consequence=row.consequence.value,
        due_at=returns[row.ident] if must else due_at(trace, moments(recall.belief), floor),
        seconds=seconds,
        floor=floor,
        must=must,
        last_at=trace.last_at if trace else None,
        last_wrong=trace is not None and not trace.last_right,
        rank=aim.rank,
    )
