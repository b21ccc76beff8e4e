"""When a question is due, and how long it takes to answer."""

from __future__ import annotations

import math
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.memory.histories import START, answered, histories
from training.core.memory.due import EARLIEST, due_at
from training.core.memory.fold import fold
from training.core.memory.pace import DEFAULT_SECONDS, is_time_up, is_too_fast, typical_seconds, with_one_to_spare
from training.core.memory.posterior import PersonMoments, moments
from training.core.memory.recall import recall_low


@given(histories(at_least=1), st.floats(0.01, 0.99), st.floats(0.01, 0.99))
def test_due_moves_later_with_a_lower_floor(answers, one, other):
    state = fold(answers)
    lower, higher = sorted((one, other))
    for trace in state.traces.values():
        who = moments(state.belief)
        assert due_at(trace, who, lower) >= due_at(trace, who, higher)


@given(histories(at_least=1), st.floats(0.05, 0.95))
def test_at_the_due_instant_recall_low_meets_the_floor(answers, floor):
    state = fold(answers)
    who = moments(state.belief)
    for trace in state.traces.values():
        days = (due_at(trace, who, floor) - trace.last_at).total_seconds() / 86_400
        low = recall_low(
            trace.ln_hold,
            days,
            who,
            easiness=trace.easiness,
            ln_hold_var=trace.ln_hold_var,
            easiness_var=trace.easiness_var,
        )
        if 0.001 < days < 10_000:
            assert low == pytest.approx(floor, abs=1e-4)


def test_a_question_never_answered_is_due_first_of_all():
    assert due_at(None, PersonMoments(), 0.6) == EARLIEST


def test_floors_at_the_ends_give_the_last_answer_and_thirty_years():
    trace = fold([answered()]).traces["a"]
    assert due_at(trace, PersonMoments(), 1.0) == START
    assert due_at(trace, PersonMoments(), 0.0) == START + timedelta(days=30 * 365)
    with pytest.raises(ValueError, match="number"):
        due_at(trace, PersonMoments(), math.nan)


def test_seconds_are_the_median_cut_at_five_minutes_or_35_without_answers():
    assert typical_seconds([]) == DEFAULT_SECONDS == 35.0
    assert typical_seconds([10.0, 20.0, 4000.0]) == 20.0
    assert typical_seconds([4000.0]) == 300.0
    with pytest.raises(ValueError, match="at least 0"):
        typical_seconds([3.0, -1.0])


def test_an_answer_under_a_tenth_of_the_median_is_too_fast():
    assert is_too_fast(3.4, 35.0)
    assert not is_too_fast(3.5, 35.0)


@given(st.floats(1, 60), st.floats(1, 300))
def test_no_question_begins_with_less_than_half_of_one_left(minutes, usual_s):
    left_s = usual_s / 2
    assert is_time_up(minutes * 60 - 0.999 * left_s, minutes, usual_s)
    assert not is_time_up(minutes * 60 - 1.001 * left_s, minutes, usual_s)


@given(st.floats(1, 60), st.floats(1, 60))
def test_at_the_usual_pace_one_question_waits_to_spare_and_the_clock_keeps_the_minutes(minutes, usual_s):
    chosen = int(with_one_to_spare(minutes, usual_s) * 60 / usual_s)
    asked = next(n for n in range(1, chosen + 2) if is_time_up(n * usual_s, minutes, usual_s))
    assert asked <= chosen
    assert abs(asked * usual_s - minutes * 60) <= usual_s / 2 * 1.000001
