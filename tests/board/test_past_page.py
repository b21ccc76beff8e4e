"""Any past moment on a page: as of an instant, as known at a record, each answer with the records it stood on."""

from __future__ import annotations

import json
from datetime import timedelta
from html import unescape

import pytest
from django.test import Client

from tests.board.house import NOW, START, House, signed_in, stand_down
from tests.factories.people import PersonFactory
from training.board.queries import decision_for
from training.core.permission.mapping import as_mapping
from training.people.models import Person, RoleHeld
from training.records.queries import head_of

pytestmark = [pytest.mark.django_db, pytest.mark.db, pytest.mark.usefixtures("set_clock")]


@pytest.fixture
def auditor(house: House) -> Person:
    person: Person = PersonFactory(workshop=house.workshop, given_name="Ada", family_name="Quist")
    RoleHeld.objects.create(person=person, role=RoleHeld.Role.AUDITOR)
    return person


def text(client: Client, address: str, **asked: str) -> str:
    response = client.get(address, asked)
    assert response.status_code == 200
    return unescape(response.content.decode()).replace("\xa0", " ")


def test_an_auditor_sees_the_board_of_now_when_nothing_is_asked(house: House, auditor: Person) -> None:
    html = text(signed_in(auditor), f"/past/{house.workshop.slug}/")
    number = head_of(house.chain_id).number
    assert f"as known at record {number}, rule book 1" in html
    assert "may take through 20 Mar" in html


def test_what_was_known_then_stays_what_it_was_whatever_came_later(house: House, auditor: Person) -> None:
    before = head_of(house.chain_id).number
    stand_down(house, house.tina, at=NOW)
    address = f"/past/{house.workshop.slug}/{house.tina.pk}/B/"
    assert "May take through 20 Mar" in text(signed_in(auditor), address, known_at=str(before))
    assert "Stood down" in text(signed_in(auditor), address)


def test_an_answer_names_its_records_in_words_with_both_times(house: House, auditor: Person) -> None:
    html = text(signed_in(auditor), f"/past/{house.workshop.slug}/{house.tina.pk}/B/")
    for number in decision_for(house.tina, house.workshop, "B", NOW).proofs:
        assert f"Record {number} · happened" in html
    assert "Instructed at" in html


def test_what_stood_in_the_way_is_named_as_such(house: House, auditor: Person) -> None:
    html = text(signed_in(auditor), f"/past/{house.workshop.slug}/{house.sam.pk}/A/")
    assert "Stood down from every job type, until released." in html
    assert "stands in the way" in html


def test_the_answer_as_data_is_the_decision_byte_for_byte(house: House, auditor: Person) -> None:
    response = signed_in(auditor).get(f"/past/{house.workshop.slug}/{house.tina.pk}/B/", {"bytes": "1"})
    assert json.loads(response.content) == as_mapping(
        decision_for(house.tina, house.workshop, "B", NOW + timedelta(minutes=1))
    )


def test_the_way_of_a_past_moment_names_its_day_and_never_says_today(house: House, auditor: Person) -> None:
    client, address = signed_in(auditor), f"/past/{house.workshop.slug}/{house.nina.pk}/A/"
    html = text(client, address, at=(NOW - timedelta(days=2)).isoformat())
    assert "2 min on 28 Feb, 2 min on 1 Mar, 2 min on 2 Mar" in html
    assert "today" not in html
    assert "2 min today" in text(client, address)


def test_before_the_rule_book_nobody_was_cleared(house: House, auditor: Person) -> None:
    html = text(signed_in(auditor), f"/past/{house.workshop.slug}/", known_at=(START - timedelta(days=1)).isoformat())
    assert "nobody was cleared" in html


def test_the_seal_is_verified_when_asked(house: House, auditor: Person) -> None:
    assert "Every record verifies." in text(signed_in(auditor), f"/past/{house.workshop.slug}/", verify="1")


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"at": "soon"}, "is not an instant"),
        ({"at": "0001-01-01T00:00"}, "too far away"),
        ({"at": "9999-12-31T23:59"}, "too far away"),
        ({"at": "2026-10-25T02:30"}, "The clocks were changed"),
        ({"at": "2026-03-29T02:30"}, "The clocks were changed"),
        ({"known_at": "99999999"}, "There is no record 99999999 yet"),
        ({"known_at": "9" * 40}, "There is no record"),
    ],
)
def test_a_moment_that_cannot_be_read_is_asked_for_again(
    house: House, auditor: Person, asked: dict[str, str], says: str
) -> None:
    html = text(signed_in(auditor), f"/past/{house.workshop.slug}/", **asked)
    assert says in html
    assert "may take" not in html


def test_managers_may_ask_too_and_nobody_else(house: House, auditor: Person) -> None:
    address = f"/past/{house.workshop.slug}/"
    assert signed_in(house.manager).get(address).status_code == 200
    assert [signed_in(one).get(address).status_code for one in (house.tina, house.mentor)] == [403, 403]
    assert signed_in(house.foreign_manager).get(address).status_code == 404
