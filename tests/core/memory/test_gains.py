"""What an answer would buy, by columns: the same numbers as folding the answer and reading the gate."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.memory.histories import DAY, START, answered, histories
from training.core.memory.fold import after_answer, fold
from training.core.memory.gains import chance_right_now, columns, low_after_right, low_after_wrong, low_without
from training.core.memory.gates import gate_low, is_first_of_session
from training.core.memory.recall import chance_right, recall_mean

QUESTIONS = "abc"


def gathered(answers, at):
    state = fold(answers)
    kin = {one.question: one for one in reversed(answers)}
    floors = [kin[one].chance_floor if one in kin else 1 / 3 for one in QUESTIONS]
    return state, kin, columns([state.traces.get(one) for one in QUESTIONS], floors, at)


def after(state, kin, question, at, right):
    """The question's gate were it answered now, the person's point held still."""
    one = kin.get(question, answered(question))
    told = answered(question, right=right, record=10_000, chance_floor=one.chance_floor)
    told = type(told)(**{**{name: getattr(told, name) for name in told.__slots__}, "at": at, "easiness": 0.0})
    return after_answer(state, told).traces[question].gate


def low(gate, who, at, days):
    return gate_low(gate, who, at + timedelta(days=days))


@given(histories(), st.integers(DAY // 2 + 1, 200 * DAY), st.sampled_from([1.0, 4.0, 14.0, 40.0]))
def test_bounds_with_and_without_an_answer_are_those_of_the_gates(answers, gap_s, ahead_days):
    at = (answers[-1].at if answers else START) + timedelta(seconds=gap_s)
    state, kin, asked = gathered(answers, at)
    who, gate_who = state.belief.moments, state.gate_moments
    (without,) = low_without(asked, gate_who, ahead_days)
    right = low_after_right(asked, who, gate_who, ahead_days)
    wrong = low_after_wrong(asked, without)
    for place, question in enumerate(QUESTIONS):
        trace = state.traces.get(question)
        assert without[place] == pytest.approx(low(trace and trace.gate, gate_who, at, ahead_days), abs=0.0011)
        gate = after(state, kin, question, at, right=False)
        assert wrong[place] == pytest.approx(low(gate, gate_who, at, ahead_days), abs=0.0011)
        exact = low(after(state, kin, question, at, right=True), gate_who, at, ahead_days)
        assert right[place] >= exact - 1e-9
        if trace is None or trace.gate.clean:
            assert right[place] == pytest.approx(exact, abs=0.0011)


@given(histories(), st.integers(1, 100 * DAY))
def test_the_chance_of_a_right_answer_is_the_drills_mean_with_the_chance_floor(answers, gap_s):
    at = (answers[-1].at if answers else START) + timedelta(seconds=gap_s)
    state, kin, asked = gathered(answers, at)
    chances = chance_right_now(asked, state.belief.moments)
    for place, question in enumerate(QUESTIONS):
        trace, floor = state.traces.get(question), kin[question].chance_floor if question in kin else 1 / 3
        mean = recall_mean(
            trace.ln_hold if trace else np.nan,
            (at - trace.last_at).total_seconds() / DAY if trace else 0.0,
            state.belief.moments,
            easiness=trace.easiness if trace else 0.0,
            ln_hold_var=trace.ln_hold_var if trace else 0.0,
            easiness_var=1.44**2,
        )
        assert chances[place] == pytest.approx(float(chance_right(mean, floor)), abs=1e-9)


def test_no_questions_give_no_columns_and_no_error():
    asked = columns([], [], START)
    assert asked.held.shape == (0,)
    assert low_without(asked, fold([]).gate_moments, 14.0).shape == (1, 0)


def test_a_session_begins_where_the_gates_say():
    """The composer bars what was seen at most half a day ago, as the gates count."""
    assert not is_first_of_session(START, START + timedelta(days=0.5))
    assert columns([fold([answered()]).traces["a"]], [1 / 3], START + timedelta(days=0.5)).seen_days[0] == 0.5
