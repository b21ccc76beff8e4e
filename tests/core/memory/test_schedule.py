"""The shortest way to a floor: doing exactly what it says gets there, and no plan is promised that does not."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.memory.histories import START, answered, histories
from training.core.memory.fold import after_answer, fold
from training.core.memory.gates import Gate, gate_low
from training.core.memory.posterior import PersonMoments
from training.core.memory.schedule import MOST_ANSWERS, answers_to_floor

FLOORS = st.sampled_from([0.3, 0.4, 0.6, 0.75])


@given(histories(), st.sampled_from("abc"), FLOORS, st.floats(0, 60))
def test_doing_exactly_what_the_plan_says_reaches_the_floor_and_holds_a_day(answers, question, floor, days):
    state = fold(answers)
    at = (answers[-1].at if answers else START) + timedelta(days=days)
    kin = next((one for one in answers if one.question == question), answered(question))
    gate = state.traces[question].gate if question in state.traces else Gate(easiness=kin.easiness)
    plan = answers_to_floor(gate, state.gate_moments, floor, at, kin.chance_floor)
    if plan is None:
        return
    assert len(plan) <= MOST_ANSWERS
    for number, day in enumerate(plan):
        done = answered(question, chance_floor=kin.chance_floor, record=1000 + number, easiness=kin.easiness)
        at_day = at + timedelta(days=day)
        state = after_answer(state, type(done)(**{**{k: getattr(done, k) for k in done.__slots__}, "at": at_day}))
    end = at + timedelta(days=plan[-1] + 1 if plan else 0)
    low = gate_low(state.traces[question].gate if plan else gate, state.gate_moments, end)
    assert low >= floor


@given(FLOORS, st.floats(0.0, 0.5))
def test_no_answer_is_planned_within_half_a_day_of_the_last_one(floor, days):
    gate = Gate(last_seen_at=START, clean=False)
    plan = answers_to_floor(gate, PersonMoments(), floor, START + timedelta(days=days), 1 / 3)
    assert plan is not None
    assert plan[0] == 1
    assert all(later > earlier for earlier, later in zip(plan, plan[1:], strict=False))


def test_a_gate_at_its_floor_needs_nothing():
    assert answers_to_floor(Gate(ln_hold=2.0, last_at=START), PersonMoments(), 0.6, START, 1 / 3) == ()


def test_a_question_never_answered_needs_two_right_answers_three_days_apart_for_a_floor_of_60():
    """Four options to pick one from; with three options it takes four days running."""
    assert answers_to_floor(None, PersonMoments(), 0.6, START, 1 / 4) == (0, 3)
    assert answers_to_floor(None, PersonMoments(), 0.6, START, 1 / 3) == (0, 1, 2, 3)


def test_an_easier_floor_is_reached_no_later_and_a_longer_hold_no_sooner():
    ends = [answers_to_floor(None, PersonMoments(), floor, START, 1 / 3)[-1] for floor in (0.2, 0.4, 0.6, 0.8)]
    assert ends == sorted(ends)
    held = answers_to_floor(None, PersonMoments(), 0.6, START, 1 / 3, holds_for_days=30)
    assert held[-1] >= ends[2]


def test_a_floor_out_of_reach_has_no_plan():
    assert answers_to_floor(None, PersonMoments(ability=-6.0), 0.9999, START, 0.5) is None


def test_two_wrong_answers_running_need_at_least_one_right_answer():
    gate = Gate(ln_hold=2.0, last_at=START, wrong_running=2, last_seen_at=START + timedelta(days=9), clean=False)
    assert answers_to_floor(gate, PersonMoments(), 0.6, START + timedelta(days=10), 1 / 3) == (0,)


@pytest.mark.parametrize("floor", [-0.1, 1.1, float("nan")])
def test_a_floor_that_is_no_share_is_refused(floor):
    with pytest.raises(ValueError, match="floor"):
        answers_to_floor(None, PersonMoments(), floor, START, 0.25)
