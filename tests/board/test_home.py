"""A person's first page and their tally."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime, timedelta
from html import unescape
from typing import Any

import pytest

from tests.board.house import NOW, House, answer, signed_in
from training.people import actions as papers
from training.people.models import Person
from training.records.models import Chain

pytestmark = [pytest.mark.django_db, pytest.mark.db, pytest.mark.usefixtures("set_clock")]


def page(person: Person, path: str = "/") -> str:
    response = signed_in(person).get(path)
    assert response.status_code == 200
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", response.content.decode())).replace("\xa0", " ").split())


def test_the_first_page_offers_the_shift_drill_and_counts_what_is_missing_per_job_type(house: House) -> None:
    words = page(house.rob)
    assert "Start shift drill, 5 min" in words
    first, second = words.index("Wash and move"), words.index("Isolate")
    assert "May take under supervision of Tina O., until 26 Mar 10:30" in words[first:second]
    assert "1 missing to take it alone" in words[first:second]
    assert "May not take yet 2 missing, about 60 min in all" in words[second:]


def test_somebody_new_works_towards_the_lowest_job_type_and_no_other(house: House) -> None:
    words = page(house.nina)
    assert "4 missing" in words
    assert "Isolate" not in words


def test_the_button_starts_a_drill_and_then_goes_on_with_it(house: House) -> None:
    client = signed_in(house.nina)
    assert client.post("/drill/start/").status_code == 302
    words = page(house.nina)
    assert "Go on with the shift drill" in words
    assert "Start shift drill" not in words


def test_open_unsafe_answers_are_told_with_what_closes_them(house: House) -> None:
    assert "still open" not in page(house.tina)
    answer(house, house.tina, house.questions[0], at=NOW, right=False)
    words = page(house.tina)
    assert "1 unsafe answer is still open." in words
    assert "May not take yet" in words


def test_where_no_rule_book_is_in_force_the_page_says_so_and_shows_no_answer(house: House) -> None:
    words = page(house.stranger)
    assert "No rule book is in force at your workshop yet" in words
    assert "may take" not in words.lower()
    assert "Nothing yet" in page(house.stranger, "/tally/")


def test_the_tally_says_what_may_be_taken_about_a_person_and_not_a_vehicle(house: House) -> None:
    words = page(house.tina, "/tally/")
    assert "Tina O. may take About a person, not a vehicle" in words
    assert "Wash and move until 26 Mar 10:30" in words
    assert "Isolate through 20 Mar" in words
    assert f"from record {Chain.objects.get(pk=house.chain_id).head_number}, rule book 1" in words


def test_the_tally_is_worked_out_at_that_moment(house: House) -> None:
    answer(house, house.tina, house.questions[0], at=NOW, right=False)
    words = page(house.tina, "/tally/")
    assert "Nothing yet" in words
    assert "until" not in words.partition("may take About")[2].partition("Answered")[0]


def test_supervised_work_stands_on_the_tally_with_its_supervisors(house: House) -> None:
    assert "under supervision of Tina O., until 26 Mar 10:30" in page(house.rob, "/tally/")


def test_print_leaves_off_what_ends_within_a_day(house: House, set_clock: Callable[[datetime], None]) -> None:
    def printed() -> list[str]:
        html = signed_in(house.tina).get("/tally/").content.decode()
        return re.findall(r'<div class="pad( noprint)?"><p>', html)

    assert printed() == ["", ""]
    set_clock(datetime(2026, 3, 20, 10, tzinfo=NOW.tzinfo))
    assert printed() == ["", " noprint"], "B ends tonight"


def test_the_tally_says_what_the_appointment_leaves_out(house: House) -> None:
    assert "May not:" not in page(house.tina, "/tally/")
    papers.appoint(
        person=house.tina, job_types=["G"], workshop=house.workshop, from_day=NOW.date(), through_day=date(2026, 9, 1),
        reason="Papers seen.", by=house.manager, at=NOW, vehicle_families=["Vans"], may_not=["opened packs"],
    )  # fmt: skip
    words = page(house.tina, "/tally/")
    assert "Appointed for these vehicle families: Vans" in words
    assert "May not: opened packs" in words


def test_somebody_stood_down_reads_it_on_their_first_page(house: House) -> None:
    assert "Stood down" in page(house.sam)
    assert "Nothing yet" in page(house.sam, "/tally/")


@pytest.mark.parametrize(("path", "most"), [("/", 36), ("/tally/", 36)])
def test_the_pages_ask_the_database_seldom(
    house: House, path: str, most: int, django_assert_max_num_queries: Callable[..., Any]
) -> None:
    client = signed_in(house.tina)
    with django_assert_max_num_queries(most):
        client.get(path)


@pytest.mark.parametrize("path", ["/", "/tally/"])
def test_they_are_read_only(house: House, path: str) -> None:
    assert signed_in(house.tina).post(path).status_code == 405


def test_an_end_that_has_passed_is_off_the_tally(house: House, set_clock: Callable[[datetime], None]) -> None:
    set_clock(NOW + timedelta(days=20))
    assert "Isolate" not in page(house.tina, "/tally/").partition("may take About")[2].partition("Answered")[0]
