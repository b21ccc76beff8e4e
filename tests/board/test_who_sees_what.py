"""Who opens which page: every address of the product against everybody who may come to it; a new one has to be entered.

Columns: nobody signed in, a colleague, the person whom it is about, a mentor, a manager, an auditor, a manager of
another group. Statuses of a GET: 200 opens, 302 to the sign-in (or onwards), 403 not open, 404 nothing there for them,
405 only to post. What somebody of another group asks for and what there is not look the same.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from tests.board.house import NOW, House, signed_in, stand_down
from tests.factories.people import PersonFactory
from training.bank.facts import RuleBookInForce
from training.drill.actions import open_drill
from training.people.actions import appoint_mentor
from training.people.facts import Appointed
from training.people.models import Person, RoleHeld
from training.people.queries import papers_written
from training.records.models import Record
from training.records.queries import facts_of
from training.signoff.actions import begin

pytestmark = [pytest.mark.django_db, pytest.mark.db, pytest.mark.usefixtures("set_clock")]

COLUMNS = ("nobody", "colleague", "herself", "mentor", "manager", "auditor", "stranger")
WHO_SEES_WHAT: dict[str, tuple[int, ...]] = {
    "health": (200, 200, 200, 200, 200, 200, 200),
    "people:sign_in": (200, 302, 302, 302, 302, 302, 302),
    "people:sign_out": (302, 405, 405, 405, 405, 405, 405),
    "people:cautions": (302, 200, 200, 200, 200, 200, 200),
    "people:mine": (302, 200, 200, 200, 200, 200, 200),
    "people:countersign": (302, 405, 405, 405, 405, 405, 405),
    "people:dispute": (302, 404, 200, 404, 404, 404, 404),
    "people:everyone": (302, 200, 200, 200, 200, 200, 200),
    "people:join": (302, 403, 403, 403, 200, 403, 200),
    "people:roles": (302, 403, 403, 403, 200, 403, 404),
    "people:leaving": (302, 403, 403, 403, 200, 403, 404),
    "people:person": (302, 403, 403, 403, 200, 403, 404),
    "people:appoint": (302, 403, 403, 403, 200, 403, 404),
    "people:appoint_mentor": (302, 403, 403, 403, 200, 403, 404),
    "people:sign_second": (302, 403, 403, 403, 404, 403, 404),
    "people:confirm": (302, 405, 405, 405, 405, 405, 405),
    "people:stand_down": (302, 200, 200, 200, 200, 200, 404),
    "people:release": (302, 403, 403, 403, 200, 403, 404),
    "people:appointment": (302, 403, 200, 403, 200, 403, 404),
    "people:settle": (302, 403, 403, 403, 404, 403, 404),
    "people:verify": (302, 405, 405, 405, 405, 405, 405),
    "people:paper": (302, 403, 403, 403, 200, 403, 404),
    "bank:primers": (302, 200, 200, 200, 200, 200, 200),
    "bank:primer": (302, 200, 200, 200, 200, 200, 200),
    "bank:acceptance": (302, 403, 403, 403, 403, 403, 404),
    "drill:start": (302, 405, 405, 405, 405, 405, 405),
    "drill:drill": (302, 404, 200, 404, 404, 404, 404),
    "drill:closed": (302, 404, 302, 404, 404, 404, 404),
    "drill:outcome": (302, 404, 302, 404, 404, 404, 404),
    "drill:answer": (302, 405, 405, 405, 405, 405, 405),
    "drill:order": (302, 405, 405, 405, 405, 405, 405),
    "signoff:begin": (302, 405, 405, 405, 405, 405, 405),
    "signoff:observe": (302, 404, 404, 200, 404, 404, 404),
    "signoff:sign": (302, 404, 404, 200, 404, 404, 404),
    "signoff:leave": (302, 405, 405, 405, 405, 405, 405),
    "equipment:register": (302, 200, 200, 200, 200, 200, 404),
    "equipment:add": (302, 403, 403, 403, 200, 403, 404),
    "equipment:check_several": (302, 405, 405, 405, 405, 405, 405),
    "equipment:entry": (302, 404, 404, 404, 404, 404, 404),
    "equipment:check": (302, 405, 405, 405, 405, 405, 405),
    "equipment:note": (302, 405, 405, 405, 405, 405, 405),
    "equipment:test": (302, 405, 405, 405, 405, 405, 405),
    "equipment:issue": (302, 405, 405, 405, 405, 405, 405),
    "equipment:retire": (302, 405, 405, 405, 405, 405, 405),
    "board:home": (302, 200, 200, 200, 200, 200, 200),
    "board:card": (302, 200, 200, 200, 200, 200, 200),
    "board:recall": (302, 200, 200, 200, 200, 200, 200),
    "board:parameters": (302, 404, 404, 404, 200, 404, 200),
    "board:confirm_parameters": (302, 405, 405, 405, 405, 405, 405),
    "board:waiting": (302, 200, 200, 200, 200, 200, 200),
    "board:talk_through": (302, 404, 404, 404, 404, 404, 404),
    "board:board": (302, 200, 200, 200, 200, 200, 404),
    "board:topics": (302, 404, 404, 404, 200, 404, 404),
    "board:cell": (302, 404, 200, 404, 200, 404, 404),
    "board:withdraw": (302, 403, 403, 403, 200, 403, 404),
    "board:past": (302, 403, 403, 403, 200, 200, 404),
    "board:past_answer": (302, 403, 403, 403, 200, 200, 404),
    "board:rules": (302, 200, 200, 200, 200, 200, 404),
    "board:rules_history": (302, 403, 403, 403, 200, 200, 404),
    "board:change_rules": (302, 403, 403, 403, 200, 403, 404),
    "board:propose_rules": (302, 405, 405, 405, 405, 405, 405),
    "board:rule_book": (302, 200, 200, 200, 200, 200, 404),
    "board:rule_book_file": (302, 200, 200, 200, 200, 200, 404),
    "board:confirm_rules": (302, 405, 405, 405, 405, 405, 405),
    "board:withdraw_rules": (302, 405, 405, 405, 405, 405, 405),
    "board:small_shop": (302, 200, 200, 200, 200, 200, 404),
    "board:sign_small_shop": (302, 405, 405, 405, 405, 405, 405),
    "board:confirm_small_shop": (302, 405, 405, 405, 405, 405, 405),
    "board:withdraw_small_shop": (302, 403, 403, 403, 404, 403, 404),
    "board:start_of_work": (302, 200, 200, 200, 200, 200, 404),
    "board:leavers": (302, 403, 403, 403, 200, 403, 200),
    "board:erasure": (302, 403, 403, 403, 404, 403, 404),
    "board:copy": (302, 403, 200, 403, 200, 403, 404),
    "board:plan_job": (302, 200, 200, 200, 200, 200, 404),
    "board:crews": (302, 403, 403, 403, 200, 403, 404),
    "board:job": (302, 404, 404, 404, 404, 404, 404),
    "board:job_done": (302, 405, 405, 405, 405, 405, 405),
    "board:stop_read": (302, 405, 405, 405, 405, 405, 405),
    "board:stops": (302, 302, 302, 302, 302, 302, 302),
    "board:stopped": (302, 302, 302, 302, 302, 302, 404),
    "board:started": (302, 404, 404, 404, 404, 404, 404),
}

# as parts, asked for by htmx: as the pages, but for the two that there are only as parts
PARTS_SEEN = WHO_SEES_WHAT | {
    "board:stops": (302, 200, 200, 200, 200, 200, 200),
    "board:stopped": (302, 200, 200, 200, 200, 200, 404),
}


class Rooms:
    """The small workshop with Tina as the person that pages are about, and one of everything that has an address."""

    def __init__(self, house: House) -> None:
        self.house = house
        self.down = stand_down(house, house.tina, at=NOW).number
        self.appointed = next(one.number for one in papers_written(house.tina) if isinstance(one.fact, Appointed))
        self.auditor: Person = PersonFactory(workshop=house.workshop)
        RoleHeld.objects.create(person=self.auditor, role=RoleHeld.Role.AUDITOR)
        self.drill = open_drill(person=house.tina, minutes=5, at=NOW)
        self.draft = begin(person=house.tina, task=house.tasks[0], by=house.mentor, at=NOW)
        self.book = facts_of([RuleBookInForce], chain_id=house.chain_id, about=house.workshop.key)[0].number
        self.visitors = {
            "nobody": Client(),
            "colleague": signed_in(house.rob),
            "herself": signed_in(house.tina),
            "mentor": signed_in(house.mentor),
            "manager": signed_in(house.manager),
            "auditor": signed_in(self.auditor),
            "stranger": signed_in(house.foreign_manager),
        }

    def address(self, name: str, taken: list[str]) -> str:
        known = {
            "person_id": self.house.tina.pk, "workshop": self.house.workshop.slug, "job_type": "A", "number": 1,
            "kind": "age", "slug": "rescue", "drill_id": self.drill.pk, "position": 1, "draft_id": self.draft.pk,
            "kit_id": 99_999, "record": self.record(name), "key": "0" * 32,
        }  # fmt: skip
        return reverse(name, kwargs={each: known[each] for each in taken})

    def record(self, name: str) -> int:
        if name == "people:release":
            return self.down
        return self.book if name.startswith("board:") and "rule" in name else self.appointed


def addresses(inside: URLResolver | None = None, space: str = "") -> Iterator[tuple[str, list[str]]]:
    """Every named address with what it takes."""
    for one in (inside or get_resolver()).url_patterns:
        if isinstance(one, URLPattern):
            yield f"{space}{one.name}", list(one.pattern.converters)
        else:
            yield from addresses(one, f"{one.namespace}:" if one.namespace else space)


def test_every_address_is_in_the_table_and_opens_to_nobody_else(house: House) -> None:
    rooms = Rooms(house)
    found = {
        name: tuple(rooms.visitors[who].get(rooms.address(name, taken)).status_code for who in COLUMNS)
        for name, taken in addresses()
    }
    assert found == WHO_SEES_WHAT


def test_a_mentor_from_outside_opens_exactly_what_any_mentor_opens(house: House) -> None:
    rooms, mentors = Rooms(house), PersonFactory.create_batch(2, workshop=house.workshop)
    for person, outside in zip(mentors, (False, True), strict=True):
        appoint_mentor(
            person=person, tasks=["T1"], workshop=house.workshop, from_day=NOW.date(), through_day=date(2026, 12, 31),
            reason="Course.", by=house.manager, at=NOW, outside=outside,
        )  # fmt: skip
    clients = [signed_in(person) for person in mentors]
    found = [
        {name: client.get(rooms.address(name, taken)).status_code for name, taken in addresses()} for client in clients
    ]
    assert found[1] == found[0]
    assert {found[1][name] for name in ("people:person", "board:crews", "people:sign_second", "board:past")} == {403}


def test_a_part_is_open_to_nobody_to_whom_its_page_is_not(house: House) -> None:
    """What htmx asks for is answered as the page is; a way elsewhere is named in a header, with nothing of the page."""
    rooms, wrong = Rooms(house), []
    for name, taken in addresses():
        for who, status in zip(COLUMNS, PARTS_SEEN[name], strict=True):
            answer = rooms.visitors[who].get(rooms.address(name, taken), headers={"hx-request": "true"})
            goes = "HX-Location" in answer.headers or "HX-Redirect" in answer.headers
            found = 302 if answer.status_code == 200 and goes and not answer.content else answer.status_code
            if found != status:
                wrong.append((name, who, status, found))
    assert wrong == [], "\n".join(map(str, wrong))


@pytest.mark.parametrize("who", ["nobody", "stranger"])
def test_whoever_is_not_of_the_group_changes_nothing_by_posting(house: House, who: str) -> None:
    rooms = Rooms(house)
    records, people = Record.objects.count(), list(Person.objects.order_by("pk").values())
    for name, taken in addresses():
        if name in ("people:sign_out", "people:sign_in"):
            continue
        answer = rooms.visitors[who].post(rooms.address(name, taken))
        assert answer.status_code < 500, name
    assert Record.objects.count() == records
    assert list(Person.objects.order_by("pk").values()) == people
