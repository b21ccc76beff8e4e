"""What a shift drill could ask of a person, and why: the questions their job types ask for, by what is due."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from training.bank.queries import AcceptedQuestion, accepted_in
from training.bank.rule_books import rule_book_of
from training.core.memory.choose import Candidate, choose
from training.core.memory.due import due_at
from training.core.memory.fold import PersonRecall
from training.core.memory.posterior import moments
from training.core.permission.evidence import UnsafeAnswer
from training.core.permission.rule_book import JobType, RecallOf, RuleBook, holds_of
from training.core.permission.unsafe import SECOND_RETURN, SOONEST_RIGHT
from training.core.questions.kinds import Consequence, Question, Topic
from training.core.trade.calendar import local_day
from training.drill.queries import History, recall_of
from training.people.models import Person, Workshop, WorksTowards
from training.people.queries import papers_of

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Return:
    """A question that comes back since it was answered unsafe; ``until_right``: again until it is answered right."""

    at: datetime
    until_right: bool


NOTHING_ASKED = Aim(rank=99, life_floor=0.0, mean_floor=0.0, life_only=False)  # asked only since it was unsafe


def job_types_sought(person: Person, book: RuleBook, *, at: datetime) -> list[JobType]:
    """The job types a person is appointed for or works towards, nearest first, and all that these stand on.

    The lowest one is always among them: everybody works towards it.
    """
    return job_types_sought_at(person.workshop, [person], book, at=at)[person.pk]


def job_types_sought_at(
    workshop: Workshop, people: Sequence[Person], book: RuleBook, *, at: datetime
) -> Mapping[int, list[JobType]]:
    """The same for several people of one workshop, read at once, by person id."""
    wanted: dict[int, set[str]] = {person.pk: {book.job_types[0].key} for person in people}
    for person_id, key in WorksTowards.objects.filter(person__in=people).values_list("person_id", "job_type"):
        wanted[person_id].add(key)
    appointed = _appointed(workshop, people, at)
    return {person.pk: _with_all_below(book, wanted[person.pk] | appointed[person.key]) for person in people}


def aims_of(sought: Sequence[JobType]) -> Mapping[Topic, Aim]:
    """What the sought job types ask, per topic."""
    aims: dict[Topic, Aim] = {}
    for rank, job_type in enumerate(sought):
        for asked in job_type.requirements:
            if isinstance(asked, RecallOf):
                for topic in asked.topics:
                    aims[topic] = _raised(aims.get(topic), asked, rank)
    return aims


def aim_at(person: Person, *, at: datetime) -> Mapping[Topic, Aim]:
    """What is asked of this person per topic by the rule book in force; nothing where there is none."""
    book = rule_book_of(person.workshop)
    return aims_of(job_types_sought(person, book, at=at)) if book else {}


def pick_questions(person: Person, history: History, *, minutes: int, at: datetime) -> list[AcceptedQuestion]:
    """The questions for a drill of so many minutes, in the order to ask them; empty when there is nothing to ask."""
    aims = aim_at(person, at=at)
    if not aims:
        return []
    recall, returns, seconds = recall_of(person), returns_of(history.unsafe()), history.seconds()
    accepted = {row.ident: row for row in accepted_in(person.workshop) if row.ident in returns or _is_asked(row, aims)}
    candidates = [
        _candidate(row, aims.get(row.topic, NOTHING_ASKED), recall, returns, seconds) for row in accepted.values()
    ]
    return [accepted[ident] for ident in choose(candidates, minutes, at)]


def returns_of(unsafe: Sequence[UnsafeAnswer]) -> dict[str, Return]:
    """When each question with an unsafe answer comes back.

    Next day while a right answer is still wanted; once closed, again about a week later. In between, when only the
    talk-through is wanted, asking would show nothing new.
    """
    by_question: dict[str, list[UnsafeAnswer]] = defaultdict(list)
    for answer in unsafe:
        by_question[answer.question].append(answer)
    found = {question: _return_of(openings) for question, openings in by_question.items()}
    return {question: back for question, back in found.items() if back}


def comes_back(person: Person, questions: Iterable[Question], *, at: datetime) -> dict[str, datetime]:
    """When answered questions are due again by what this person's job types ask, never within half a day; by id."""
    aims, recall = aim_at(person, at=at), recall_of(person)
    found = {}
    for question in questions:
        trace = recall.traces.get(question.id)
        if trace is not None:
            floor = aims.get(question.topic, NOTHING_ASKED).floor_for(question.consequence)
            found[question.id] = max(due_at(trace, moments(recall.belief), floor), trace.last_at + FIRST_RETURN)
    return found


def _with_all_below(book: RuleBook, wanted: set[str]) -> list[JobType]:
    sought = [job_type for job_type in book.job_types if job_type.key in wanted]
    keys = {below.key for job_type in sought for below in (job_type, *holds_of(book, job_type))}
    return [job_type for job_type in book.job_types if job_type.key in keys]


def _appointed(workshop: Workshop, people: Sequence[Person], at: datetime) -> Mapping[str, set[str]]:
    """The job types of appointments at this workshop that have not ended, by person key."""
    papers = papers_of([person.key for person in people], chain_id=workshop.group.chain_id)
    today = local_day(at, workshop.zone)
    return {
        key: {
            job_type
            for one in found.appointments
            if one.workshop == workshop.key and one.through_day >= today
            for job_type in one.job_types
        }
        for key, found in papers.items()
    }


def _return_of(openings: Sequence[UnsafeAnswer]) -> Return | None:
    wanting = [answer.happened_at for answer in openings if answer.closed_at is None and not answer.right_since]
    if wanting:
        return Return(at=max(wanting) + FIRST_RETURN, until_right=True)
    closings = [answer.closed_at for answer in openings if answer.closed_at]
    return Return(at=max(closings) + SECOND_RETURN, until_right=False) if len(closings) == len(openings) else None


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
    row: AcceptedQuestion, aim: Aim, recall: PersonRecall, returns: Mapping[str, Return], seconds: float
) -> Candidate:
    trace = recall.traces.get(row.ident)
    floor = aim.floor_for(row.consequence)
    back = returns.get(row.ident)
    must = back is not None and (back.until_right or trace is None or trace.last_at < back.at)
    return Candidate(
        question=row.ident,
        topic=row.topic.value,
        consequence=row.consequence.value,
        due_at=back.at if back and must else due_at(trace, moments(recall.belief), floor),
        seconds=seconds,
        floor=floor,
        must=must,
        last_at=trace.last_at if trace else None,
        last_wrong=trace is not None and not trace.last_right,
        rank=aim.rank,
    )
