"""Every fact that the apps define is told in a sentence, and "My records" tells a person's own."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from html import unescape

import pytest
from django.urls import reverse

from tests.board.house import NOW, House, answer, observe, signed_in, talk
from training.bank.facts import Accepted, RuleBookInForce
from training.board.facts import WorkStarted
from training.board.sayings import starts_said
from training.drill.facts import Answered
from training.equipment.facts import KitAdded, KitChecked, KitIssued, KitNoted, KitRetired, KitTested
from training.people.models import Person
from training.people.sentences import SAYINGS, names_of
from training.records.facts import Fact

pytestmark = [pytest.mark.django_db, pytest.mark.db, pytest.mark.usefixtures("set_clock")]
DAY = date(2026, 3, 2)


def my_records(person: Person) -> str:
    return unescape(signed_in(person).get(reverse("people:mine")).content.decode())


def shapes(base: type[Fact] = Fact) -> Iterator[type[Fact]]:
    for shape in base.__subclasses__():
        if shape.kind and shape.__module__.startswith("training."):
            yield shape
        yield from shapes(shape)


def test_every_fact_of_every_app_has_a_sentence() -> None:
    assert {shape.kind for shape in shapes()} - {shape.kind for shape in SAYINGS} == set()


def test_an_answer_is_told_with_what_it_came_to(house: House) -> None:
    answer(house, house.nina, house.questions[2], at=NOW, right=False)
    said = "Answered “What now, number 3?” (question-3), of isolation: Unsafe (Wrong, and you would have acted)."
    assert said in my_records(house.nina)


def test_an_answer_too_fast_to_have_been_read_says_so(house: House) -> None:
    fast = Answered(
        turn="0" * 32, workshop=house.workshop.key, question="q", version=2, topic="PPE", consequence="life", seed=1,
        response=["a"], right=True, commitment="ask", outcome="careful", too_fast=True, milliseconds=300,
        chance_floor_ppm=333_333,
    )  # fmt: skip
    assert SAYINGS[Answered](fast, {}) == (
        "Answered question q, version 2, of PPE: Careful (Right, and you would have asked first). "
        "Too fast to have been read: it counts for nothing."
    )


def test_a_talk_through_and_an_observation_are_told_with_the_mentor(house: House) -> None:
    unsafe = answer(house, house.nina, house.questions[2], at=NOW - timedelta(hours=2), right=False)
    talk(house, house.nina, unsafe, house.questions[2], at=NOW - timedelta(hours=1))
    observe(house, house.nina, "T1", at=NOW)
    page = my_records(house.nina)
    assert f"Max Ruth talked your answer of record {unsafe.number} to question question-3 through: Heard." in page
    assert f"Max Ruth watched practical task T1, version 1, at {house.workshop.name}: passed." in page
    assert "drill: answered" not in page


@pytest.mark.parametrize(
    ("fact", "said"),
    [
        (
            KitAdded(workshop="w", ident="G-1", kit_kind="gloves", title="Gloves, class 0", label="{}", by="m"),
            "G-1, Gloves, class 0, added to the kit register of Mill.",
        ),
        (
            KitTested(tested_on=DAY, passed=False, test="electrical test", by="m"),
            "Electrical test on 2 Mar 2026: not passed.",
        ),
        (KitIssued(issued_on=DAY, by="m"), "Issued for service on 2 Mar 2026."),
        (KitNoted(what="Oil on the cuff.", noted_on=DAY, by="m"), "Noted on 2 Mar 2026: Oil on the cuff."),
        (KitChecked(checked_on=DAY, passed=True, by="m"), "Pre-use check on 2 Mar 2026: passed."),
        (KitRetired(retired_on=DAY, why="Cut.", by="m"), "Taken out of service on 2 Mar 2026: Cut."),
        (
            Accepted(workshop="w", questions=[("q1", 1), ("q2", 1)], accepted_on=DAY, by="m"),
            "2 questions accepted for Mill on 2 Mar 2026.",
        ),
        (RuleBookInForce(workshop="w", version=4, book="{}", by="m"), "Rule book 4 put in force at Mill."),
    ],
)  # fmt: skip
def test_records_of_kit_and_workshop_in_words(fact: Fact, said: str) -> None:
    assert SAYINGS[type(fact)](fact, {"w": "Mill", "m": "Mona"}) == said


@pytest.mark.parametrize("with_second", [True, False])
def test_a_start_of_work_is_told_by_the_clock_of_its_workshop(house: House, with_second: bool) -> None:
    fact = WorkStarted(
        workshop=house.workshop.key, job_type="B", vehicle="Van 7", lead=house.tina.key,
        second_person=house.rob.key if with_second else "", kit=[], decision="{}", by=house.tina.key,
        planned_end=datetime(2026, 3, 2, 15, tzinfo=UTC),
    )  # fmt: skip
    said = "Start of work, job type B, on Van 7: Tina Olsen leads, planned until 2 Mar 2026, 16:00."
    second = " Second person: Rob Hale." if with_second else ""
    assert starts_said([fact])(fact, names_of(house.workshop.group_id)) == said + second
