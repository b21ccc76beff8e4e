"""Marking, typed numbers, the chance floor, the shown order and haste."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.questions.builders import SOUND, in_order, pick_all, pick_one, work_out
from training.core.questions.marking import (
    BadAnswer,
    chance_floor,
    mark,
    parse_number,
    right_keys,
    shown_order,
    too_fast,
    words_to_read,
)

STEPS = ["Prove the meter", "Test the poles", "Prove the meter again", "Write it down"]


def test_pick_one_is_right_with_its_one_key_only() -> None:
    assert mark(SOUND, ("a",))
    assert not mark(SOUND, ("b",))


def test_pick_all_is_right_with_exactly_the_right_set_in_any_order() -> None:
    question = pick_all([True, False, True, False])
    rights = {
        frozenset(keys) for n in range(1, 5) for keys in itertools.permutations("abcd", n) if mark(question, keys)
    }
    assert rights == {frozenset("ac")}


def test_put_in_order_is_right_in_one_order_of_all() -> None:
    question = in_order(STEPS)
    assert [keys for keys in itertools.permutations("abcd") if mark(question, keys)] == [tuple("abcd")]


def test_a_number_on_the_edge_of_the_tolerance_is_right_and_beyond_it_wrong() -> None:
    question = work_out(12.5, 0.2)
    assert mark(question, 12.7)
    assert mark(question, 12.3)
    assert not mark(question, 12.71)
    assert not mark(question, -12.5)


@pytest.mark.parametrize("response", [(), ("a", "b"), ("z",), ("a", "a"), 3.0, ("A",)])
def test_an_answer_that_does_not_fit_pick_one_is_refused_with_what_to_do(response: object) -> None:
    with pytest.raises(BadAnswer, match="Choose"):
        mark(SOUND, response)  # type: ignore[arg-type]


@pytest.mark.parametrize("response", [("a",), True, math.nan, math.inf])
def test_an_answer_that_is_no_number_is_refused(response: object) -> None:
    with pytest.raises(BadAnswer, match="Type a number"):
        mark(work_out(12.5, 0.2), response)  # type: ignore[arg-type]


def test_an_order_with_a_step_left_out_is_refused() -> None:
    with pytest.raises(BadAnswer, match="every step"):
        mark(in_order(STEPS), ("a", "b", "c"))


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12.5", 12.5),
        ("12,5", 12.5),
        (" 7 ", 7.0),
        ("-3,25", -3.25),
        ("\u22123", -3.0),
        ("1 258,16", 1258.16),
        ("1\u00a0258.16", 1258.16),
        ("12 345 678", 12345678.0),
        ("0,125", 0.125),
        ("1.234", 1.234),
        ("1234,567", 1234.567),
    ],
)
def test_a_number_is_read_as_a_person_types_it(text: str, value: float) -> None:
    assert parse_number(text) == value


@pytest.mark.parametrize(
    "text",
    ["", "  ", "12 V", "1e5", "nan", "inf", "12.5.1", "1,2,3", "--3", "1 23", "٣", "1,234.5", "9" * 40, ".", "5."],
)
def test_what_is_no_plain_number_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(BadAnswer, match=r"12\.5"):
        parse_number(text)


def test_a_comma_before_three_digits_is_refused_since_it_is_read_in_two_ways() -> None:
    with pytest.raises(BadAnswer, match=r"Type 1234 or 1\.234"):
        parse_number("1,234")


@given(st.text(max_size=30))
def test_any_text_gives_a_finite_number_or_a_clear_error(text: str) -> None:
    said = ""
    value = 0.0
    try:
        value = parse_number(text)
    except BadAnswer as refused:
        said = str(refused)
    assert math.isfinite(value)
    assert said == "" or "Type" in said


@given(st.decimals(min_value=-(10**6), max_value=10**6, places=4))
def test_a_printed_number_is_read_back_with_point_and_comma(number: object) -> None:
    assert parse_number(f"{number:.4f}") == float(str(number))
    assert parse_number(f"{number:.4f}".replace(".", ",")) == float(str(number))


# Memory model, section 5: 1/n, 1/(2^n - 1), 1/n!, 0.02.
@pytest.mark.parametrize(
    ("question", "floor"),
    [
        (SOUND, 1 / 3),
        (pick_one(["one", "two", "three", "four"]), 1 / 4),
        (pick_all([True, False, True, False]), 1 / 15),
        (in_order(STEPS), 1 / 24),
        (work_out(12.5, 0.2), 0.02),
    ],
)
def test_the_chance_floor_is_the_share_of_answers_that_are_right(question: object, floor: float) -> None:
    assert chance_floor(question) == pytest.approx(floor)  # type: ignore[arg-type]


def test_the_chance_floor_of_pick_all_agrees_with_counting_all_answers() -> None:
    question = pick_all([True, True, False])
    answers = [keys for n in (1, 2, 3) for keys in itertools.combinations("abc", n)]
    assert sum(mark(question, keys) for keys in answers) / len(answers) == pytest.approx(chance_floor(question))


@given(st.integers())
def test_the_same_seed_shows_the_same_order_and_every_option_once(seed: int) -> None:
    shown = shown_order(SOUND, seed)
    assert shown == shown_order(SOUND, seed)
    assert sorted(shown) == ["a", "b", "c"]


@given(st.integers(), st.integers(min_value=2, max_value=4))
def test_steps_never_stand_in_the_right_order_already(seed: int, count: int) -> None:
    question = in_order(STEPS[:count])
    assert shown_order(question, seed) != right_keys(question)


def test_every_position_is_shown_about_equally_often() -> None:
    first = [shown_order(SOUND, seed)[0] for seed in range(600)]
    assert all(150 < first.count(key) < 250 for key in "abc")


@given(st.integers())
def test_figures_stay_sorted(seed: int) -> None:
    assert shown_order(pick_one(["1 200 kg", "600 kg", "0.9 t"]), seed) == ("b", "c", "a")
    assert shown_order(pick_one(["3 Mar 2026", "28 Feb 2026", "1 Dec 2025"]), seed) == ("c", "b", "a")
    assert shown_order(pick_one(["class 1", "class 00", "class 0"]), seed) == ("b", "c", "a")


def test_an_answer_faster_than_anyone_reads_is_too_fast() -> None:
    assert words_to_read(SOUND) == 44
    assert too_fast(2.0, SOUND)
    assert not too_fast(2.2, SOUND)
    assert too_fast(0.9, work_out(1.0, 0.1, situation="Short."))
    assert not too_fast(60.0, SOUND)


@pytest.mark.parametrize("seconds", [math.nan, -1.0, 0.0])
def test_a_time_that_makes_no_sense_counts_as_too_fast(seconds: float) -> None:
    assert too_fast(seconds, SOUND)
