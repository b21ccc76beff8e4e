"""How often pages ask the database: as often for many people and many records as for few."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.board.house import NOW, House, answer, make_mentor, observe, signed_in
from tests.factories.people import PersonFactory
from training.board.actions import sweep
from training.people import actions as papers
from training.people.models import Person, RoleHeld

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("set_clock")]


def asked(client: Client, address: str) -> int:
    """How many queries one page takes, when it is asked for a second time."""
    assert client.get(address).status_code == 200
    with CaptureQueriesContext(connection) as seen:
        client.get(address)
    return len(seen)


def more_records(house: House, person: Person, count: int) -> None:
    for number in range(count):
        answer(house, person, house.questions[number % 4], at=NOW)
        observe(house, person, "T1", at=NOW)


def more_people(house: House, count: int) -> None:
    """Technicians with papers and answers of their own, every third a mentor; all worked out."""
    for number in range(count):
        person: Any = PersonFactory(workshop=house.workshop)
        papers.enter_age(person=person, under_18=False, by=house.manager, at=NOW)
        papers.appoint(
            person=person, job_types=["A", "B"], workshop=house.workshop, from_day=NOW.date(),
            through_day=date(2026, 12, 31), reason="Papers seen.", by=house.manager, at=NOW,
        )  # fmt: skip
        answer(house, person, house.questions[number % 4], at=NOW)
        if number % 3 == 0:
            make_mentor(house, person, ["T1"], at=NOW)
    sweep(at=NOW)


@pytest.fixture
def auditor(house: House) -> Person:
    person: Person = PersonFactory(workshop=house.workshop)
    RoleHeld.objects.create(person=person, role=RoleHeld.Role.AUDITOR)
    return person


Address = Callable[[House], str]
OF_RECORDS: dict[str, tuple[str, Address]] = {
    "my records": ("tina", lambda _house: reverse("people:mine")),
    "home": ("tina", lambda _house: reverse("board:home")),
    "tally": ("tina", lambda _house: reverse("board:card")),
    "papers": ("manager", lambda house: reverse("people:person", args=[house.tina.pk])),
    "board": ("manager", lambda house: reverse("board:board", args=[house.workshop.slug])),
    "cell": ("manager", lambda house: reverse("board:cell", args=[house.workshop.slug, house.tina.pk, "A"])),
    "recall": ("tina", lambda _house: reverse("board:recall")),
}
OF_PEOPLE: dict[str, tuple[str, Address]] = {
    "home": ("tina", lambda _house: reverse("board:home")),
    "board": ("manager", lambda house: reverse("board:board", args=[house.workshop.slug])),
    "board of a colleague": ("rob", lambda house: reverse("board:board", args=[house.workshop.slug])),
    "cell": ("manager", lambda house: reverse("board:cell", args=[house.workshop.slug, house.tina.pk, "A"])),
    "papers": ("manager", lambda house: reverse("people:person", args=[house.tina.pk])),
    "everybody": ("manager", lambda _house: reverse("people:everyone")),
    "past": ("manager", lambda house: reverse("board:past", args=[house.workshop.slug])),
    "watch": ("mentor", lambda _house: reverse("board:waiting")),
    "start of work": ("manager", lambda house: reverse("board:start_of_work", args=[house.workshop.slug])),
    "crews": ("manager", lambda house: reverse("board:crews", args=[house.workshop.slug])),
}


@pytest.mark.parametrize("page", OF_RECORDS)
def test_more_records_are_not_asked_for_one_by_one(house: House, page: str) -> None:
    who, address = OF_RECORDS[page]
    sweep(at=NOW)
    client = signed_in(getattr(house, who))
    more_records(house, house.tina, 2)
    sweep(at=NOW)
    few = asked(client, address(house))
    more_records(house, house.tina, 18)
    sweep(at=NOW)
    assert asked(client, address(house)) <= few


@pytest.mark.parametrize("page", OF_PEOPLE)
def test_more_people_are_not_asked_for_one_by_one(house: House, page: str) -> None:
    who, address = OF_PEOPLE[page]
    client = signed_in(getattr(house, who))
    more_people(house, 3)
    few = asked(client, address(house))
    more_people(house, 6)
    assert asked(client, address(house)) <= few


def test_the_records_of_a_past_answer_are_not_looked_up_one_by_one(house: House, auditor: Person) -> None:
    client = signed_in(auditor)
    address = reverse("board:past_answer", args=[house.workshop.slug, house.tina.pk, "A"])
    few = asked(client, address)
    more_records(house, house.tina, 12)
    assert asked(client, address) <= few
