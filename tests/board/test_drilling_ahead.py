"""A shift drill drills ahead: what a stricter rule book will ask within four weeks is asked for already."""

from __future__ import annotations

from copy import deepcopy
from datetime import date, datetime, timedelta
from typing import Any

import pytest

from tests.board.house import NOW, House, two_job_types
from tests.board.test_rule_book_coming import confirmed, proposed
from training.bank.queries import question_of
from training.drill.picking import aim_at, comes_back, pick_questions
from training.drill.queries import history_of

pytestmark = pytest.mark.django_db
TODAY, FIRST = date(2026, 3, 2), "question-1"


def asking(life_floor: float, topics: tuple[str, ...] = ("rescue",)) -> dict[str, Any]:
    """A with another floor for life questions, and with these topics."""
    book = deepcopy(two_job_types())
    book["job_types"][0]["requirements"][0]["recall"] |= {"life_floor": life_floor, "topics": list(topics)}
    return book


def floor(house: House) -> float:
    return aim_at(house.tina, at=NOW)[FIRST].floor


def back(house: House) -> Any:
    return comes_back(house.tina, [question_of(house.questions[0], seed=1)], at=NOW)[FIRST]


def drilled(house: House, at: datetime) -> set[str]:
    """What a drill with room for two questions asks."""
    return {one.ident for one in pick_questions(house.tina, history_of(house.tina), minutes=0.7, at=at)}


def test_a_stricter_book_in_two_weeks_is_drilled_for_today(house: House) -> None:
    usual = back(house)
    earlier = usual - timedelta(days=10)
    assert drilled(house, earlier) == {"question-2", "question-3"}
    confirmed(house, asking(0.9), from_day=TODAY + timedelta(days=14))
    assert floor(house) == 0.9
    assert NOW < back(house) < earlier
    assert drilled(house, earlier) == {FIRST, "question-2"}


@pytest.mark.parametrize(("days", "comes"), [(28, True), (29, False)])
def test_four_weeks_ahead_and_no_further(house: House, days: int, comes: bool) -> None:
    confirmed(house, asking(0.9), from_day=TODAY + timedelta(days=days))
    assert floor(house) == (0.9 if comes else 0.6)


def test_a_looser_book_lowers_nothing_before_it_is_in_force(house: House) -> None:
    confirmed(house, asking(0.3), from_day=TODAY + timedelta(days=14))
    assert floor(house) == 0.6


def test_a_book_that_is_only_proposed_asks_nothing(house: House) -> None:
    proposed(house, asking(0.9), from_day=TODAY + timedelta(days=14))
    assert floor(house) == 0.6


def test_a_topic_that_only_the_coming_book_asks_of_a_job_type_is_asked_too(house: House) -> None:
    confirmed(house, asking(0.6, ("rescue", "isolation")), from_day=TODAY + timedelta(days=14))
    assert {"question-3", FIRST} <= aim_at(house.nina, at=NOW).keys()


def test_without_a_coming_book_a_topic_of_another_job_type_is_not_asked(house: House) -> None:
    assert "question-3" not in aim_at(house.nina, at=NOW)
