"""What a shift drill could ask of a person, and why: the questions their job types ask for, and what comes back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from training.bank.queries import AcceptedQuestion, accepted_in
from training.bank.rule_books import rule_book_of
from training.core.memory.composer import Candidate, compose
from training.core.memory.fold import PersonRecall
from training.core.memory.posterior import moments
from training.core.permission.rule_book import JobType, RecallOf, RuleBook, holds_of
from training.core.questions.kinds import Consequence, Kind, Question, Topic
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
    recall, returning, seconds = recall_of(person), Returning(history), history.seconds()
    accepted = {row.ident: row for row in accepted_in(person.workshop)}
    candidates = [
        _candidate(row, aims.get(row.topic, NOTHING_ASKED), recall, returning, seconds)
        for row in accepted.values()
        if row.ident in returning.unsafe or _is_asked(row, aims)
    ]
    parameters = history.parameter_set.parameters
    drill = compose(candidates, recall.belief, minutes, at, parameters=parameters)
    return [accepted[ident] for ident in drill.questions]


def comes_back(person: Person, questions: Iterable[Question], *, at: datetime) -> dict[str, datetime]:
    """When answered questions come back by their outcome and by what this person's job types ask; by id.

    Never within half a day of the last answer.
    """
    aims, recall, returning = aim_at(person, at=at), recall_of(person), Returning(history_of(person))
    found = {}
    for question in questions:
        trace = recall.traces.get(question.id)
        if trace is not None:
            floor = aims.get(question.topic, NOTHING_ASKED).floor_for(question.consequence)
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
    row: AcceptedQuestion, aim: Aim, recall: PersonRecall, returning: Returning, usual_seconds: float
) -> Candidate:
    trace, floor = recall.traces.get(row.ident), aim.floor_for(row.consequence)
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
