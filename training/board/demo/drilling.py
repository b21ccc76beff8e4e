"""Shift drills of the past: what was asked, what each person answered, and which answers were talked through."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from hashlib import sha256
from random import Random

from training.bank.models import QuestionVersion
from training.bank.queries import AcceptedQuestion, accepted_in
from training.bank.rule_books import rule_book_of
from training.board.demo.answering import Draw, Draws, response
from training.board.demo.ending import met_lately
from training.board.demo.house import House
from training.board.demo.reading import Drilling, LastAnswer
from training.board.demo.remembering import Mind
from training.board.demo.timeline import Event
from training.core.questions.kinds import Commitment, Consequence, outcome
from training.core.questions.marking import chance_floor
from training.drill.facts import Answered, TalkedThrough
from training.drill.picking import Aim, aims_of, job_types_sought
from training.drill.queries import PPM
from training.people.models import Person, Workshop

SHIFT_STARTS = (6 * 60 + 40, 8 * 60 + 30)  # minutes after midnight
TALK_AT = time(12, 40)
DILIGENT_DAYS = 28  # so long before the last shift they drill even when little is due, for what fades by then
AHEAD = timedelta(days=40)
SETTLED_DAYS = 16  # so long before the last shift nothing goes wrong that would still show today
TALKS = (
    "Talked through at the car; said back in own words what to do.",
    "Went over the order again with the lock in hand.",
    "Looked the figure up together and where it stands.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The questions of one workshop, with their draws."""

    workshop: Workshop
    questions: Mapping[str, AcceptedQuestion]
    draws: Mapping[str, Draws]


def events(house: House, seed: str) -> Iterator[Event]:
    """The answers and talk-throughs of everybody who drills."""
    asked = {workshop.pk: _asked(workshop) for workshop in house.workshops.values()}
    for username, habit in house.story.drills.items():
        person = house.people[username]
        yield from _Drilled(house, person, habit, asked[person.workshop_id], Random(f"{seed}/{username}")).events()


def _asked(workshop: Workshop) -> Asked:
    rows = accepted_in(workshop)
    versions = QuestionVersion.objects.select_related("question").in_bulk([row.version_id for row in rows])
    return Asked(
        workshop=workshop,
        questions={row.ident: row for row in rows},
        draws={row.ident: Draws(versions[row.version_id]) for row in rows},
    )


class _Drilled:
    """One person's drills, day after day, with what is remembered moved by the core after each answer."""

    def __init__(self, house: House, person: Person, habit: Drilling, asked: Asked, chance: Random) -> None:
        self.house, self.person, self.habit, self.asked, self.chance = house, person, habit, asked, chance
        self.past = house.past(person.workshop)
        self.mind = Mind(ability=habit.ability, fade=habit.fade, chance=chance)
        self.mentors = [one for one in house.mentors_at(person.workshop) if one.pk != person.pk]
        self.places: dict[str, int] = defaultdict(int)
        self.written: list[Event] = []

    def events(self) -> list[Event]:
        """Everything of this person, as the file asks for the last days."""
        aims = self._aims()
        for days_ago in self._days():
            self._shift(days_ago, aims)
        if self.habit.recall_ends_in:
            self._meet_lately(self._highest_first(aims), self.habit.recall_ends_in)
        for planned in self.habit.at_last:
            self._plan(planned)
        return self.written

    def _highest_first(self, aims: Mapping[str, Aim]) -> list[str]:
        """The life questions, first of topics that only the highest job type asks for."""
        life = [row for row in self._wanted(aims) if row.consequence is Consequence.LIFE]
        return [row.ident for row in sorted(life, key=lambda row: (-aims[row.ident].rank, row.ident))]

    def _meet_lately(self, life: list[str], days: tuple[int, int]) -> None:
        """Take back all but the last answers to one question that nothing unsafe was ever answered to."""
        fit = [ident for ident in life if ident not in self.mind.ever_unsafe()]
        ident, number = met_lately(self.mind.answers, life, fit, days, now=self.house.now)
        answers = [event for event in self.written if getattr(event.fact, "question", "") == ident]
        gone = {id(event) for event in answers[:-number]}
        self.written = [event for event in self.written if id(event) not in gone]

    def _aims(self) -> Mapping[str, Aim]:
        book = rule_book_of(self.person.workshop)
        if book is None:
            raise LookupError(f"no rule book is in force at {self.person.workshop}")
        sought = job_types_sought(self.person, book, at=self.house.now)
        return aims_of(sought, self.asked.questions.values(), in_use_days=book.in_use_days)

    def _days(self) -> list[int]:
        days = range(self.habit.from_day, self.habit.until - 1, -1)
        return [day for day in days if self.chance.random() < self.habit.a_week / 7 or day == self.habit.until]

    def _wanted(self, aims: Mapping[str, Aim]) -> list[AcceptedQuestion]:
        return [row for row in self.asked.questions.values() if row.ident in aims]

    def _shift(self, days_ago: int, aims: Mapping[str, Aim]) -> None:
        minute = self.chance.randint(*SHIFT_STARTS)
        at = self.past.at(days_ago, time(minute // 60, minute % 60, self.chance.randint(0, 59)))
        rows = [(row, aims[row.ident]) for row in self._wanted(aims)]
        left = days_ago - self.habit.until
        settled, ahead = left <= SETTLED_DAYS, AHEAD if left <= DILIGENT_DAYS else None
        for ident in self.mind.pick(rows, minutes=self.habit.minutes, at=at, ahead=ahead):
            draw = self._draw(ident)
            knows = self.mind.knows(ident, at, chance_floor(draw.question), surely=settled)
            acts = self.chance.randrange(100) >= (10 if knows else 100 if settled else self.habit.asks)
            at = self._answer(ident, draw, right=knows, acts=acts, at=at)
        self._talk_through(days_ago)

    def _draw(self, ident: str) -> Draw:
        return self.asked.draws[ident].draw(self.places[ident])

    def _answer(self, ident: str, draw: Draw, *, right: bool, acts: bool, at: datetime) -> datetime:
        """Record one answer; returns when it was given."""
        seconds = max(draw.words / 20 + 2.5, self.chance.gauss(22, 7))
        at += timedelta(seconds=seconds, milliseconds=self.chance.randint(0, 999))
        fact = self._fact(ident, draw, right=right, acts=acts, seconds=seconds)
        self.written.append(Event(at=at, about=self.person.key, fact=fact))
        self.mind.take(ident, fact, at)
        self.places[ident] += 1
        return at + timedelta(seconds=self.chance.randint(6, 20))

    def _fact(self, ident: str, draw: Draw, *, right: bool, acts: bool, seconds: float) -> Answered:
        row, question = self.asked.questions[ident], draw.question
        commitment = Commitment.ACT if acts else Commitment.ASK
        return Answered(
            turn=sha256(f"{self.person.key}/{ident}/{self.places[ident]}".encode()).hexdigest()[:32],
            workshop=self.person.workshop.key,
            question=ident,
            version=row.version,
            topic=row.topic.value,
            consequence=row.consequence.value,
            seed=draw.seed or self.places[ident],
            response=response(question, right=right, chance=self.chance),
            right=right,
            commitment=commitment.value,
            outcome=outcome(right=right, commitment=commitment).value,
            too_fast=False,
            milliseconds=round(seconds * 1000),
            chance_floor_ppm=round(chance_floor(question) * PPM),
        )

    def _talk_through(self, days_ago: int) -> None:
        """Whatever was answered unsafe in this shift is talked through the day after."""
        for unsafe in self.mind.untalked(self.past.at(days_ago, time(0))):
            answer = next(event for event in reversed(self.written) if event.at == unsafe.happened_at)
            self._talk(unsafe.question, answer, max(days_ago - 1, 1))

    def _talk(self, question: str, answer: Event, days_ago: int) -> None:
        mentor, note = self.chance.choice(self.mentors), self.chance.choice(TALKS)
        at = self.past.at(days_ago, TALK_AT) + timedelta(seconds=len(self.written) % 3600)
        self.written.append(
            Event(
                at=at,
                about=self.person.key,
                of=(answer,),
                fact=lambda number: TalkedThrough(answer=number, question=question, note=note, by=mentor.key),
            )
        )
        self.mind.talked(question, at)

    def _plan(self, planned: LastAnswer) -> None:
        """A wrong answer on purpose, in a shift of its own."""
        ident = self._best_known(planned.topic)
        at = self.past.at(planned.days_ago, time(7, 20))
        self._answer(ident, self._draw(ident), right=False, acts=planned.act, at=at)
        if planned.talked_through:
            self._talk(ident, self.written[-1], planned.talked_through)

    def _best_known(self, topic: str) -> str:
        """The life question of a topic that was answered most often, the same one each time."""
        rows = [row for row in self.asked.questions.values() if row.topic == topic]
        life = [row.ident for row in rows if row.consequence is Consequence.LIFE and self.places[row.ident]]
        return max(life, key=lambda ident: (self.places[ident], ident))
