"""What a shift drill could ask of a person, and why: the questions that count for their job types, what comes back, and
for practice, once all of these hold, the questions of the same topics that count for nothing here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from training.bank.queries import AcceptedQuestion, accepted_in
from training.bank.rule_books import book_in_force, coming_books
from training.bank.rule_history import rules_of
from training.core.memory.composer import Candidate
from training.core.memory.fold import PersonRecall
from training.core.memory.posterior import moments
from training.core.memory.practice import compose_with_practice
from training.core.permission.evidence import QuestionGate
from training.core.permission.questions import counting, is_life
from training.core.permission.rule_book import JobType, RecallOf, RuleBook, holds_of
from training.core.questions.kinds import Consequence, Kind, Question
from training.core.trade.calendar import local_day
from training.drill.queries import History, history_of, recall_of
from training.drill.returning import Returning
from training.people.models import Person, Workshop, WorksTowards
from training.people.queries import papers_of

CHANCE_FLOOR = {
    Kind.PICK_ONE: 1 / 3,
    Kind.PICK_ALL: 1 / 15,
    Kind.PUT_IN_ORDER: 1 / 24,
    Kind.WORK_OUT: 0.02,
}  # only for planning; each answer on record carries its own
AHEAD = timedelta(days=28)  # common practice, no source: four weeks of shifts to raise what is remembered


@dataclass(frozen=True, slots=True, kw_only=True)
class Aim:
    """What is asked of one question: the rank of the nearest job type (0 is nearest) and the highest floor of any.

    A mean asks its floor of each of its questions.
    """

    rank: int
    floor: float


NOTHING_ASKED = Aim(rank=99, floor=0.0)  # for practice, or since it was answered unsafe


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


def aims_of(sought: Sequence[JobType], accepted: Iterable[AcceptedQuestion], *, in_use_days: int) -> Mapping[str, Aim]:
    """What the sought job types ask, by id of the questions that count for any of them or soon will."""
    questions = [_unanswered(row) for row in sorted(accepted, key=lambda row: (row.accepted_on, row.ident))]
    consequences = {one.question: one.consequence for one in questions}
    aims: dict[str, Aim] = {}
    for rank, job_type in enumerate(sought):
        for asked in (one for one in job_type.requirements if isinstance(one, RecallOf)):
            for ident in counting(questions, asked, in_use_days):
                aims[ident] = _raised(aims.get(ident), _floor(asked, consequences[ident]), rank)
    return aims


def aim_at(person: Person, *, at: datetime) -> Mapping[str, Aim]:
    """What is asked of this person by the rule book in force, by question; nothing where there is none.

    What a book asks that comes into force within ``AHEAD`` is asked already, so that they hold it in time.
    """
    rules = rules_of(person.workshop)
    book = book_in_force(rules)
    if book is None:
        return {}
    accepted, last = accepted_in(person.workshop), local_day(at, person.workshop.zone) + AHEAD
    aims: dict[str, Aim] = {}
    for each in (book, *(one.book for one in coming_books(rules) if one.book and one.from_day <= last)):
        asked = aims_of(job_types_sought(person, each, at=at), accepted, in_use_days=each.in_use_days)
        aims |= {ident: _raised(aims.get(ident), aim.floor, aim.rank) for ident, aim in asked.items()}
    return aims


def pick_questions(person: Person, history: History, *, minutes: float, at: datetime) -> list[AcceptedQuestion]:
    """The questions for a drill of so many minutes, in the order to ask them; empty when there is nothing to ask."""
    aims = aim_at(person, at=at)
    if not aims:
        return []
    recall, returning, seconds = recall_of(person), Returning(history), history.seconds()
    accepted = {row.ident: row for row in accepted_in(person.workshop)}
    candidates = {
        row.ident: _candidate(row, aims.get(row.ident, NOTHING_ASKED), recall, returning, seconds)
        for row in accepted.values()
    }
    wanted = aims.keys() | returning.unsafe.keys()
    asked = [one for ident, one in candidates.items() if ident in wanted]
    topics = {one.topic for one in asked}
    others = [one for ident, one in candidates.items() if ident not in wanted and one.topic in topics]
    chosen = compose_with_practice(
        asked, others, recall.belief, minutes, at, parameters=history.parameter_set.parameters
    )
    return [accepted[ident] for ident in chosen]


def comes_back(person: Person, questions: Iterable[Question], *, at: datetime) -> dict[str, datetime]:
    """When answered questions come back by their outcome and by what this person's job types ask; by id.

    Never within half a day of the last answer.
    """
    aims, recall, returning = aim_at(person, at=at), recall_of(person), Returning(history_of(person))
    found = {}
    for question in questions:
        trace = recall.traces.get(question.id)
        if trace is not None:
            floor = aims.get(question.id, NOTHING_ASKED).floor
            found[question.id] = returning.back(question.id, trace, moments(recall.belief), floor).at
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


def _unanswered(row: AcceptedQuestion) -> QuestionGate:
    """The question as the rules count it; what is known of a person changes nothing in that."""
    return QuestionGate(
        question=row.ident,
        topic=row.topic,
        consequence=row.consequence,
        accepted_on=row.accepted_on,
        gate=None,
        answered=False,
    )


def _floor(asked: RecallOf, consequence: Consequence) -> float:
    mean_floor = asked.topic_mean_floor or 0.0
    return max(asked.life_floor, mean_floor) if is_life(consequence) else mean_floor


def _raised(aim: Aim | None, floor: float, rank: int) -> Aim:
    return Aim(rank=rank, floor=floor) if aim is None else Aim(rank=aim.rank, floor=max(aim.floor, floor))


def _candidate(
    row: AcceptedQuestion, aim: Aim, recall: PersonRecall, returning: Returning, usual_seconds: float
) -> Candidate:
    trace, floor = recall.traces.get(row.ident), aim.floor
    comes = trace and returning.by_outcome(row.ident, trace, moments(recall.belief), floor)
    return Candidate(
        question=row.ident,
        topic=row.topic.value,
        consequence=row.consequence.value,
        trace=trace,
        floor=floor,
        rank=aim.rank,
        seconds=returning.seconds(row.ident) or usual_seconds,
        chance_floor=CHANCE_FLOOR[row.kind],
        after=comes.after if comes else None,
        back_at=comes.at if comes else None,
    )
