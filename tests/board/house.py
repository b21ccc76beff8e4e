"""A small workshop with a rule book of two job types, four questions, two tasks, and people in every state.

Tina may take A and B alone. Rob, an apprentice, lacks only his own sign-offs. Nina has nothing. Sam is stood down.
Max is the mentor, Mona the manager. Strangers belong to another group.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.db import transaction
from django.test import Client

from tests.factories.bank import QuestionVersionFactory, TaskVersionFactory, pick_one
from tests.factories.people import ManagerFactory, PersonFactory, WorkshopFactory
from tests.factories.second import signed_second
from training.bank import actions as bank
from training.bank.models import QuestionVersion, TaskVersion
from training.core.questions.kinds import Topic
from training.drill.facts import Answered, TalkedThrough
from training.people import actions as papers
from training.people import standing_down
from training.people.models import Person, Workshop
from training.records.actions import Entry, append, append_many
from training.records.models import Record
from training.signoff.facts import Observed

NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)  # a Monday, 10:00 at the workshop
START = datetime(2026, 1, 5, 8, tzinfo=UTC)
ANSWER_DAYS = (1, 4, 11, 25, 53)  # from START on; the last is 27 February
WATCHED = START + timedelta(days=7)
FIRST_AID = "first aid and CPR"
SOURCE = "common practice, no source"
AT_START = {"second_person": "", "maker_procedure": False, "live_work_order": False, "cordon": False, "kit": []}


def _recall(topics: list[str], mean: float | None) -> dict[str, Any]:
    asked = {"topics": topics, "life_floor": 0.6, "topic_mean_floor": mean, "most_life_questions": None}
    return {"recall": asked, "sentence": f"Knows {', '.join(topics)}.", "source": SOURCE}


def _sign_off(task: str) -> dict[str, Any]:
    asked = {"task": task, "observations": 1, "mentors": 1, "days": 1, "valid_months": 12, "done_within_days": None}
    return {"sign_off": asked, "sentence": f"Seen once at {task}.", "source": SOURCE}


def two_job_types(version: int = 1) -> dict[str, Any]:
    """A for everybody; B on top of it, with a certificate and an appointment."""
    rest = {"says": "Invented.", "young_person": "supervised", "supervised": True, "at_start": AT_START}
    a = [
        _recall(["rescue"], None),
        _sign_off("T1"),
        {"instructed": {"months": 12, "months_under_18": 6}, "sentence": "Instructed here.", "source": SOURCE},
    ]
    b = [
        {"holds": "A", "sentence": "Holds A.", "source": SOURCE},
        _recall(["isolation"], 0.4),
        _sign_off("T2"),
        {"certificate": {"kind": FIRST_AID, "valid_months": 24}, "sentence": "First aid.", "source": SOURCE},
        {"appointed": {"valid_months": 12}, "sentence": "Appointed in writing.", "source": SOURCE},
    ]
    types = [
        {"key": "A", "title": "Wash and move", "requirements": a, **rest},
        {"key": "B", "title": "Isolate", "requirements": b, **rest},
    ]
    return {"version": version, "regime": "EU", "title": "Two job types", "note": "", "job_types": types}


@dataclass(frozen=True)
class House:
    workshop: Workshop
    manager: Person
    mentor: Person
    tina: Person
    rob: Person
    nina: Person
    sam: Person
    stranger: Person
    foreign_manager: Person
    questions: tuple[QuestionVersion, ...]
    tasks: tuple[TaskVersion, ...]

    @property
    def chain_id(self) -> int:
        chain_id: int = self.workshop.group.chain_id
        return chain_id


def make_house() -> House:
    """Everything up to NOW, in the order in which it was written."""
    workshop, elsewhere = WorkshopFactory(opened_on=date(2025, 6, 1)), WorkshopFactory()
    house = House(
        workshop=workshop,
        manager=ManagerFactory(workshop=workshop, given_name="Mona", family_name="Brand"),
        mentor=PersonFactory(workshop=workshop, given_name="Max", family_name="Ruth"),
        tina=PersonFactory(workshop=workshop, given_name="Tina", family_name="Olsen"),
        rob=PersonFactory(workshop=workshop, given_name="Rob", family_name="Hale", contract="apprentice"),
        nina=PersonFactory(workshop=workshop, given_name="Nina", family_name="Vogt", contract="apprentice"),
        sam=PersonFactory(workshop=workshop, given_name="Sam", family_name="Pike"),
        stranger=PersonFactory(workshop=elsewhere, given_name="Otto", family_name="Fern"),
        foreign_manager=ManagerFactory(workshop=elsewhere, given_name="Fay", family_name="Wolf"),
        questions=_questions(workshop),
        tasks=tuple(TaskVersionFactory(group=workshop.group, ident=f"T{n}", title=f"Task {n}") for n in (1, 2)),
    )
    _open(house)
    for person in (house.tina, house.rob, house.sam):
        _enter_papers(house, person)
    for days in ANSWER_DAYS[:2]:
        _all_right(house, days)
    for task in ("T1", "T2"):
        observe(house, house.tina, task, at=WATCHED)
    for days in ANSWER_DAYS[2:]:
        _all_right(house, days)
    standing_down.stand_down(
        person=house.sam, job_types=None, reason="Worked without a visor.", medical=False, by=house.tina,
        at=NOW - timedelta(days=1),
    )  # fmt: skip
    return house


def _questions(workshop: Workshop) -> tuple[QuestionVersion, ...]:
    asked = ((Topic.RESCUE, "life"), (Topic.RESCUE, "life"), (Topic.ISOLATION, "life"), (Topic.ISOLATION, "injury"))
    return tuple(
        QuestionVersionFactory(
            question__group=workshop.group,
            question__ident=f"question-{number}",
            topic=topic,
            content=pick_one(f"question-{number}", consequence=consequence, stem=f"What now, number {number}?"),
        )
        for number, (topic, consequence) in enumerate(asked, 1)
    )


def _open(house: House) -> None:
    bank.put_in_force(workshop=house.workshop, book=two_job_types(), by=house.manager, at=START)
    bank.accept(workshop=house.workshop, versions=house.questions, by=house.manager, at=START)
    papers.enter_certificate(
        person=house.mentor, certificate="HV course", issuer="An institute", issued_on=date(2025, 9, 1),
        through_day=date(2028, 8, 31), tasks=["T1", "T2"], by=house.manager, at=START,
    )  # fmt: skip
    make_mentor(house, house.mentor, ["T1", "T2"], at=START)


def make_mentor(house: House, person: Person, tasks: list[str], *, at: datetime) -> Record:
    """The manager names a mentor for tasks, and somebody who has left since signed second."""
    written = papers.appoint_mentor(
        person=person, tasks=tasks, workshop=house.workshop, from_day=at.date(), through_day=date(2026, 12, 31),
        reason="Steady hands.", by=house.manager, at=at,
    )  # fmt: skip
    signed_second(person, written, at=at)
    return written


def _enter_papers(house: House, person: Person) -> None:
    papers.enter_age(person=person, under_18=False, by=house.manager, at=START)
    papers.instruct(
        person=person,
        workshop=house.workshop,
        given_on=START.date(),
        about_what="The site.",
        by=house.manager,
        at=START,
    )
    papers.enter_certificate(
        person=person, certificate=FIRST_AID, issuer="An institute", issued_on=date(2024, 4, 1),
        through_day=date(2026, 3, 20), by=house.manager, at=START,
    )  # fmt: skip
    papers.appoint(
        person=person, job_types=["A", "B"], workshop=house.workshop, from_day=START.date(),
        through_day=date(2026, 12, 31), reason="Papers seen.", by=house.manager, at=START,
    )  # fmt: skip


def _all_right(house: House, days: int) -> None:
    entries = [
        Entry(fact=answered(house, version), about=person.key, at=START + timedelta(days=days, minutes=minute))
        for minute, person in enumerate((house.tina, house.rob, house.sam))
        for version in house.questions
    ]
    with transaction.atomic():
        append_many(entries, chain_id=house.chain_id)


def answered(house: House, version: QuestionVersion, *, right: bool = True, act: bool = True) -> Answered:
    """What the drill writes of an answer."""
    outcome = {(True, True): "sound", (True, False): "careful", (False, True): "unsafe"}.get((right, act), "held back")
    return Answered(
        turn="0" * 32, workshop=house.workshop.key, question=version.question.ident, version=version.number,
        topic=version.topic, consequence=version.consequence, seed=1, response=["b" if right else "a"], right=right,
        commitment="act" if act else "ask", outcome=outcome, too_fast=False, milliseconds=20_000,
        chance_floor_ppm=333_333,
    )  # fmt: skip


def answer(
    house: House, person: Person, version: QuestionVersion, *, at: datetime, right: bool = True, act: bool = True
) -> Record:
    """An answer on record; recall is folded from these."""
    return write(house, answered(house, version, right=right, act=act), about=person, at=at)


def observe(
    house: House, person: Person, task: str, *, at: datetime, by: Person | None = None, passed: bool = True
) -> Record:
    """A signed observation on record; nobody's authority is asked here: ``decide`` judges it."""
    fact = Observed(
        task=task, version=1, workshop=house.workshop.key, steps=["done", "done" if passed else "missed"],
        judgement="ready", passed=passed, note="", by=(by or house.mentor).key,
    )  # fmt: skip
    return write(house, fact, about=person, at=at)


def talk(house: House, person: Person, unsafe: Record, version: QuestionVersion, *, at: datetime) -> Record:
    """A talk-through on record."""
    fact = TalkedThrough(answer=unsafe.number, question=version.question.ident, note="Heard.", by=house.mentor.key)
    return write(house, fact, about=person, at=at)


def write(
    house: House, fact: Any, *, about: Person | Workshop, at: datetime, happened_at: datetime | None = None
) -> Record:
    """One record about a person or a workshop."""
    with transaction.atomic():
        return append(fact, chain_id=house.chain_id, about=about.key, at=at, happened_at=happened_at)


def stand_down(house: House, person: Person, *, at: datetime = NOW, **changed: Any) -> Record:
    """Stood down from everything by the manager."""
    said: dict[str, Any] = {"job_types": None, "reason": "Cut corners.", "medical": False, "by": house.manager}
    return standing_down.stand_down(person=person, at=at, **(said | changed))


def signed_in(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client
