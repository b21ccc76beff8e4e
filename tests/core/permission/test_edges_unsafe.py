"""Unsafe answers at their edges: the half day, the week, and what comes at one instant."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.core.permission.test_unsafe import UNSAFE, closings, given_answer, talk
from training.core.permission.unsafe import GivenAnswer, close_unsafe

CLOSED = (UNSAFE, talk(2), given_answer(24, "right"))
SECOND = 1 / 3600


@pytest.mark.parametrize(("right", "closed"), [(12.0, None), (12 + SECOND, 12 + SECOND), (11.0, None)])
def test_a_right_answer_counts_only_after_more_than_half_a_day(right: float, closed: float | None) -> None:
    assert closings(UNSAFE, talk(2), given_answer(right, "right")) == [pytest.approx(closed) if closed else None]


@pytest.mark.parametrize(("back", "watched"), [(24 + 144, False), (24 + 144 - SECOND, True)])
def test_a_return_six_days_after_closing_ends_the_watch(back: float, watched: bool) -> None:
    later = (given_answer(back, "right"), given_answer(400, "held back"))
    assert closings(*CLOSED, *later) == ([24, None] if watched else [24])


def test_a_return_too_fast_to_have_been_read_ends_no_watch() -> None:
    assert closings(*CLOSED, given_answer(192, "fast right"), given_answer(240, "held back")) == [24, None]


def test_while_one_opening_is_open_or_young_no_return_ends_the_watch() -> None:
    two = (UNSAFE, given_answer(1, "unsafe"), talk(2), given_answer(24, "right"))
    assert closings(*two) == [24, 24]
    reopened = (*CLOSED, given_answer(100, "held back"), given_answer(192, "right"), given_answer(240, "held back"))
    assert closings(*reopened) == [24, None, None]
    young = (*CLOSED, given_answer(100, "unsafe"), talk(101), given_answer(120, "right"), given_answer(200, "right"))
    assert closings(*young, given_answer(240, "held back")) == [24, 120, None]


def test_a_right_answer_to_what_was_never_unsafe_and_a_wrong_one_open_nothing() -> None:
    assert closings(given_answer(0, "right"), given_answer(1, "held back"), given_answer(2, "fast right")) == []


def test_what_closed_once_is_moved_by_nothing_later() -> None:
    assert closings(*CLOSED, talk(30), given_answer(48, "right")) == [24]


def test_a_talk_dated_at_the_answer_or_before_it_is_none_for_it() -> None:
    assert closings(UNSAFE, talk(0), given_answer(24, "right")) == [None]
    assert closings(UNSAFE, talk(SECOND), given_answer(24, "right")) == [24]


def test_openings_come_by_time_and_then_by_record_over_all_questions() -> None:
    one, two = given_answer(5, "unsafe", question="z", record=9), given_answer(5, "unsafe", question="a", record=4)
    early = given_answer(1, "unsafe", question="m", record=99)
    found = close_unsafe([one, two, early], [])
    assert [opening.record for opening in found] == [99, 4, 9]


def test_at_one_instant_the_lower_record_comes_first() -> None:
    wrong = given_answer(192, "held back", record=50)
    right = given_answer(192, "right", record=51)
    assert closings(*CLOSED, wrong, right) == [24, None]
    assert closings(*CLOSED, replace(wrong, record=52), right) == [24]


def test_an_answer_is_slow_enough_to_have_been_read_unless_said_otherwise() -> None:
    plain = GivenAnswer(
        record=1,
        question="q",
        topic=UNSAFE.topic,
        consequence=UNSAFE.consequence,
        happened_at=UNSAFE.happened_at,
        right=True,
        unsafe=False,
    )
    assert plain.too_fast is False
