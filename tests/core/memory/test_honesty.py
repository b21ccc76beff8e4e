"""Honesty is cheapest: with the shipped minutes, acting costs least above one chance p*, and asking below it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.core.memory.histories import START, answered
from training.core.memory.due import due_at
from training.core.memory.fold import PersonRecall, after_answer
from training.core.memory.gates import is_first_of_session
from training.core.memory.honesty import (
    NEXT_SESSION_DAYS,
    STEP,
    WEEK_LATER_DAYS,
    After,
    break_even,
    cost_minutes,
    days_until_back,
    expected_minutes,
)
from training.core.memory.posterior import moments

CONSEQUENCES = ("life", "injury", "damage")


@pytest.mark.parametrize("consequence", CONSEQUENCES)
def test_the_chance_from_which_acting_is_cheapest_lies_between_80_and_95_in_100(consequence):
    print(f"\n{consequence}: p* = {break_even(consequence):.3f}")
    assert 0.80 <= break_even(consequence) <= 0.95


@given(st.floats(0, 1), st.sampled_from(CONSEQUENCES))
def test_acting_costs_least_above_that_chance_and_asking_below_it(chance_right, consequence):
    act, ask = (expected_minutes(chance_right, consequence, acts=acts) for acts in (True, False))
    assume(abs(chance_right - break_even(consequence)) > 1e-9)
    assert (act < ask) == (chance_right > break_even(consequence))


def test_worse_consequences_ask_for_more_certainty():
    ordered = [break_even(one) for one in ("damage", "injury", "life")]
    assert ordered == sorted(ordered)
    assert ordered[0] < ordered[-1]


def test_an_unsafe_answer_costs_a_talk_through_and_two_returns_and_the_others_one_return():
    """Minutes by hand: 35 s a return; 3 minutes of two people for a talk-through (trade practice, C34)."""
    assert cost_minutes(After.UNSAFE, "life") == pytest.approx(6 + 2 * 35 / 60)
    assert cost_minutes(After.HELD_BACK, "life") == cost_minutes(After.CAREFUL, "damage") == pytest.approx(35 / 60)


@pytest.mark.parametrize("chance_right", [-0.1, 1.1, float("nan")])
def test_a_chance_that_is_none_is_refused(chance_right):
    with pytest.raises(ValueError, match="chance"):
        expected_minutes(chance_right, "life", acts=True)


def test_an_unknown_consequence_is_refused():
    with pytest.raises(KeyError):
        break_even("nothing")


@given(st.floats(0, 5000))
def test_wrong_comes_back_next_day_and_careful_a_step_sooner_than_sound(held_days):
    sound, careful = days_until_back(None, held_days), days_until_back(After.CAREFUL, held_days)
    assert days_until_back(After.UNSAFE, held_days) == NEXT_SESSION_DAYS
    assert days_until_back(After.HELD_BACK, held_days) == NEXT_SESSION_DAYS
    assert careful == max(sound / STEP, NEXT_SESSION_DAYS)
    assert careful < sound or sound == NEXT_SESSION_DAYS


def test_the_next_session_is_one_that_counts_and_lies_within_a_day():
    assert is_first_of_session(START, START + timedelta(days=NEXT_SESSION_DAYS))
    assert NEXT_SESSION_DAYS < 1.0 < WEEK_LATER_DAYS


def ladder(careful_at, easiness, within_days=400.0):
    """The days of right answers, each on the day its question comes back; the one at ``careful_at`` was careful."""
    state, day, days = PersonRecall(), 0.0, []
    while day <= within_days:
        state = after_answer(state, answered(days=day, record=len(days), easiness=easiness, chance_floor=0.0))
        trace = state.traces["a"]
        held_days = (due_at(trace, moments(state.belief), 0.6) - trace.last_at) / timedelta(days=1)
        days.append(day)
        day += days_until_back(After.CAREFUL if len(days) == careful_at + 1 else None, held_days)
    return days


@pytest.mark.parametrize("easiness", [0.0, 2.0])
@pytest.mark.parametrize("careful_at", [3, 4, 5])
def test_a_careful_answer_repeats_about_the_gap_before_it_and_costs_at_most_one_more_return(careful_at, easiness):
    """What honesty prices: whenever it is counted, one return more or none yet, and never more than one."""
    sound, careful = ladder(10**6, easiness), ladder(careful_at, easiness)
    gap_before = sound[careful_at] - sound[careful_at - 1]
    assert sound[careful_at + 1] - sound[careful_at] > 1.5 * gap_before
    assert careful[careful_at + 1] - careful[careful_at] == pytest.approx(gap_before, rel=0.15)
    more = {sum(day <= until for day in careful) - sum(day <= until for day in sound) for until in range(400)}
    assert more == {0, 1}
