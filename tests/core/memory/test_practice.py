"""Practice: only with time to spare, never more than its part of the minutes, and nothing twice in a session."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.memory.histories import START, answered
from tests.core.memory.offers import AT, OFFERS, drawn
from training.core.memory.composer import SOON_DAYS, Candidate, compose
from training.core.memory.fold import fold
from training.core.memory.gates import gate_low
from training.core.memory.honesty import After
from training.core.memory.posterior import prior
from training.core.memory.practice import SHARE, compose_with_practice, hold_for_days

HELD_FOR_MONTHS = fold(
    answered(one, days=day, record=10 * day + place)
    for place, one in enumerate(("a", "b", "c"))
    for day in (0, 1, 3, 7, 14, 30)
)
SOON = START + timedelta(days=31)


def counted(**more):
    traces = HELD_FOR_MONTHS.traces
    return [
        Candidate(question=one, topic="rescue", consequence="life", trace=traces[one], floor=0.6, seconds=30.0, **more)
        for one in ("a", "b", "c")
    ]


def other(question, consequence="damage", trace=None):
    return Candidate(question=question, topic="rescue", consequence=consequence, trace=trace, seconds=30.0)


def asked_with(others, asked=None, at=SOON, minutes=4.5):
    return compose_with_practice(asked or counted(), others, HELD_FOR_MONTHS.belief, minutes, at)


def test_once_all_that_counts_holds_a_third_of_the_minutes_is_practice():
    drill = asked_with([other(f"x{number}") for number in range(9)])
    assert drill[:-6] == compose(counted(), HELD_FOR_MONTHS.belief, 3.0, SOON).questions
    assert set(drill[-6:]) == {f"x{number}" for number in range(6)}  # what those that count leave of 4.5 minutes
    many = asked_with([other(f"x{number}") for number in range(9)], minutes=1.5)
    assert len([one for one in many if one in "abc"]) == 2
    assert pytest.approx(1 / 3) == SHARE


def test_never_answered_comes_first_and_life_before_the_rest_then_the_oldest():
    old = fold(answered(one, days=day) for one, day in (("old", 1), ("older", 0))).traces
    others = [other("b"), other("c", "life"), other("old", "life", old["old"]), other("older", trace=old["older"])]
    asked = [replace(one, question=f"counts {one.question}") for one in counted()]
    drill = compose_with_practice(asked, others, HELD_FOR_MONTHS.belief, 20.0, SOON)
    assert drill[-4:] == ("c", "b", "older", "old")


def test_practice_asks_nothing_twice_in_a_session():
    traces = fold(answered(one, days=day) for one, day in (("now", 30.9), ("before", 30))).traces
    drill = asked_with([other(one, trace=traces[one]) for one in ("now", "before")])
    assert "before" in drill
    assert "now" not in drill


def test_there_is_none_while_a_floor_is_not_met_for_some_days_or_something_comes_back_soon():
    others = [other("x")]
    assert "x" in asked_with(others)
    assert "x" not in asked_with(others, at=START + timedelta(days=300))
    assert "x" not in asked_with(others, [*counted(), other("never answered", "life")])
    within = SOON + timedelta(days=SOON_DAYS)
    for back_at, practised in ((within, False), (within + timedelta(minutes=1), True)):
        returning = counted(after=After.CAREFUL, back_at=back_at)
        assert ("x" in asked_with(others, returning)) is practised


def test_where_nothing_is_asked_for_there_is_nothing_to_practise():
    assert compose_with_practice([], [other("x")], prior(), 5.0, SOON) == ()


@given(OFFERS)
def test_all_hold_for_days_exactly_when_each_gate_by_itself_does(offer):
    candidates, belief = offer
    soon = AT + timedelta(days=SOON_DAYS)
    lows = [gate_low(one.trace.gate if one.trace else None, belief.gate_moments, soon) for one in candidates]
    waits = all(one.back_at is None or one.back_at > soon for one in candidates)
    floors_met = all(low >= one.floor and one.trace for low, one in zip(lows, candidates, strict=True))
    near = any(one.floor and abs(low - one.floor) <= 0.002 for low, one in zip(lows, candidates, strict=True))
    assert near or hold_for_days(candidates, belief, AT) == (floors_met and waits)


@given(OFFERS, st.integers(0, 10**9), st.floats(0, 12))
def test_a_drill_with_practice_is_as_composed_and_never_longer_than_its_minutes(offer, seed, minutes):
    candidates, belief = offer
    others = [replace(one, question=f"other {one.question}", after=None, back_at=None) for one in drawn(seed, 6)[0]]
    drill = compose_with_practice(candidates, others, belief, minutes, AT)
    seconds = {one.question: one.seconds for one in (*candidates, *others)}
    assert sum(seconds[question] for question in drill) <= minutes * 60 + 1e-6
    assert len(set(drill)) == len(drill)
    asked = tuple(question for question in drill if not question.startswith("other"))
    composed = [compose(candidates, belief, part, AT).questions for part in (minutes, minutes * (1 - SHARE))]
    assert asked in composed
    assert asked == drill or hold_for_days(candidates, belief, AT)
