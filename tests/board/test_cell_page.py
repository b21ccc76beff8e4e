"""What opens from a cell: everything that is missing with its way, worked out at that moment, for few eyes."""

from __future__ import annotations

from collections.abc import Callable
from html import unescape
from typing import Any

import pytest
from django.test import Client

from tests.board.house import NOW, House, answer, signed_in, stand_down
from training.board import actions
from training.board.queries import decision_for
from training.people.models import Person
from training.records.models import Chain

pytestmark = [pytest.mark.django_db, pytest.mark.db, pytest.mark.usefixtures("set_clock")]


def address(house: House, person: Person, job_type: str) -> str:
    return f"/board/{house.workshop.slug}/{person.pk}/{job_type}/"


def text(client: Client, house: House, person: Person, job_type: str) -> str:
    response = client.get(address(house, person, job_type))
    assert response.status_code == 200
    return unescape(response.content.decode()).replace("\xa0", " ")


def test_a_manager_sees_every_gap_with_its_remedy_rule_and_source(house: House) -> None:
    html = text(signed_in(house.manager), house, house.nina, "B")
    gaps = decision_for(house.nina, house.workshop, "B", NOW).gaps
    assert html.count('class="why"') == len(gaps) == 9
    for sentence in ("May not take yet", "9 missing", "Written appointment by a manager", "Ask Max R.", "Earliest: "):
        assert sentence in html
    for gap in gaps:
        assert gap.sentence in html
        assert f"({gap.source})" in html


def test_where_recall_stands_is_said_in_100_against_what_is_asked(house: House) -> None:
    html = text(signed_in(house.manager), house, house.nina, "A")
    assert "2 of 2 life questions below what is asked; the lowest at least 0 in 100, asks for 60." in html


def test_a_clearance_opens_with_its_end_and_the_record_that_it_was_answered_from(house: House) -> None:
    html = text(signed_in(house.manager), house, house.tina, "B")
    assert "May take through 20 Mar" in html
    head = Chain.objects.get(pk=house.chain_id).head_number
    assert f"Answered 2 Mar 2026 10:01 from record {head}, rule book 1." in html


def test_supervised_work_says_under_whom_and_what_alone_still_lacks(house: House) -> None:
    html = text(signed_in(house.rob), house, house.rob, "A")
    assert "May take under supervision of Tina O., until 26 Mar 10:30" in html
    assert "1 missing to take it alone" in html
    assert "Sign-off: Task 1" in html


def test_it_is_worked_out_now_whatever_is_stored(house: House) -> None:
    actions.sweep(at=NOW)
    stand_down(house, house.tina, at=NOW)
    assert "Stood down" in text(signed_in(house.manager), house, house.tina, "A")
    assert "May not take yet" in text(signed_in(house.rob), house, house.rob, "A")


def test_an_unsafe_answer_is_counted_and_not_shown_to_the_manager(house: House) -> None:
    answer(house, house.tina, house.questions[0], at=NOW, right=False)
    html = text(signed_in(house.manager), house, house.tina, "A")
    assert "Unsafe answer still open: rescue" in html
    assert "Still to be talked through, and answered right on another day." in html
    assert "What now" not in html
    assert "question-1" not in html


def test_a_stand_downs_reason_is_not_on_the_page(house: House) -> None:
    html = text(signed_in(house.manager), house, house.sam, "A")
    assert "Stood down" in html
    assert "visor" not in html


@pytest.mark.parametrize("who", ["nina", "mentor", "tina", "stranger", "foreign_manager"])
def test_nobody_else_opens_it(house: House, who: str) -> None:
    assert signed_in(getattr(house, who)).get(address(house, house.rob, "A")).status_code == 404


def test_a_stranger_is_sent_to_sign_in(house: House) -> None:
    assert Client().get(address(house, house.rob, "A")).url.startswith("/people/sign-in/")  # type: ignore[attr-defined]


def test_what_there_is_not_is_404(house: House) -> None:
    client = signed_in(house.manager)
    assert client.get(address(house, house.rob, "Z")).status_code == 404
    assert client.get(f"/board/{house.workshop.slug}/999999/A/").status_code == 404
    assert client.get(f"/board/{house.stranger.workshop.slug}/{house.rob.pk}/A/").status_code == 404
    assert client.post(address(house, house.rob, "A")).status_code == 405
    Person.objects.filter(pk=house.rob.pk).update(is_active=False)
    assert client.get(address(house, house.rob, "A")).status_code == 404


def test_a_workshop_without_a_rule_book_answers_no(house: House) -> None:
    site = house.stranger.workshop
    html = unescape(signed_in(house.foreign_manager).get(f"/board/{site.slug}/{house.stranger.pk}/A/").content.decode())
    assert "No rule book is in force here" in html
    assert "May not take yet" in html


def test_the_page_asks_the_database_seldom(house: House, django_assert_max_num_queries: Callable[..., Any]) -> None:
    client = signed_in(house.manager)
    with django_assert_max_num_queries(33):  # one of them looks for whoever has left
        client.get(address(house, house.tina, "B"))


def test_every_page_bears_the_caution(house: House) -> None:
    for path in (address(house, house.rob, "A"), f"/board/{house.workshop.slug}/", "/", "/tally/"):
        html = unescape(signed_in(house.rob).get(path).content.decode())
        assert "The vehicle maker's procedure, local codes and licensed practice come first" in html.replace(
            "the vehicle", "The vehicle"
        )
        assert "says that a vehicle is safe" in html
