"""Laws of the gate state: nothing wrong, nothing ground in one evening and no passing of time ever clears anyone."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.core.memory.histories import DAY, LONG_GAPS_S, START, answered, histories
from training.core.memory.fold import PersonRecall, after_answer, fold
from training.core.memory.gates import Gate, gate_low, last_minute_at_floor, mean_gate_low
from training.core.memory.parameters import Parameters
from training.core.memory.posterior import PersonMoments, worse_of
from training.core.memory.recall import recall_low

LATER_DAYS = (0.0, 0.3, 1.0, 2.0, 7.0, 30.0, 120.0, 1000.0, 10_000.0)
SURE_OF_PERSON = Parameters(sd_ability=1e-6, sd_fade=1e-6, slip=0.0)
KNOWN_PERSON = PersonMoments(ability=0.3, fade=0.1, var_ability=0.2, var_fade=0.2, cov=-0.05)


def lows(state: PersonRecall, at, questions="abc"):
    traces = state.traces
    return [gate_low(traces[one].gate if one in traces else None, state.gate_moments, at) for one in questions]


@given(histories(gaps_s=LONG_GAPS_S), st.sampled_from("abc"), LONG_GAPS_S, st.booleans())
def test_a_wrong_answer_raises_no_gate_at_any_later_instant(answers, question, gap_s, too_fast):
    before = fold(answers)
    at = (answers[-1].at if answers else START) + timedelta(seconds=gap_s)
    kin = next((one for one in answers if one.question == question), answered(question))
    after = after_answer(before, replace(kin, at=at, right=False, record=1000, too_fast=too_fast))
    for days in LATER_DAYS:
        then = at + timedelta(days=days)
        assert all(new <= old for new, old in zip(lows(after, then), lows(before, then), strict=True))


@given(histories(at_least=1), st.integers(0, DAY // 2), st.booleans(), st.booleans())
def test_a_second_answer_in_a_session_raises_no_gate_at_any_later_instant(answers, gap_s, right, too_fast):
    before = fold(answers)
    at = answers[-1].at + timedelta(seconds=gap_s)
    after = after_answer(before, replace(answers[-1], at=at, right=right, too_fast=too_fast, record=1000))
    for days in LATER_DAYS:
        then = at + timedelta(days=days)
        assert all(new <= old for new, old in zip(lows(after, then), lows(before, then), strict=True))


@given(histories(questions="a", at_least=2, most=12), st.data())
def test_with_or_without_an_answer_that_does_not_count_later_right_answers_gain_no_more(answers, data):
    """The person's point is held still here: what the belief may do is the law above.

    Both lows are rounded down to .001, and the search for the least hold goes in steps, which may leave .00003.
    """
    answers = [replace(one, chance_floor=0.0) for one in answers]
    counted = {0} if answers[0].right and not answers[0].too_fast else set()
    for place, (earlier, later) in enumerate(zip(answers, answers[1:], strict=False), start=1):
        if later.right and not later.too_fast and later.at - earlier.at > timedelta(days=0.5):
            counted.add(place)
    idle = [place for place in range(len(answers)) if place not in counted]
    assume(idle)
    left_out = data.draw(st.sampled_from(idle))
    with_it = fold(answers, SURE_OF_PERSON).traces["a"].gate
    kept = [one for place, one in enumerate(answers) if place != left_out]
    without_it = fold(kept, SURE_OF_PERSON).traces["a"].gate
    for days in LATER_DAYS:
        then = answers[-1].at + timedelta(days=days)
        assert gate_low(with_it, KNOWN_PERSON, then) <= gate_low(without_it, KNOWN_PERSON, then) + 0.00104


@given(histories(gaps_s=LONG_GAPS_S))
def test_the_gate_never_stands_above_the_drill_state_after_an_answer_that_moved_it(answers):
    state = PersonRecall()
    for one in answers:
        before = state.traces.get(one.question)
        state = after_answer(state, one)
        trace = state.traces[one.question]
        first = before is None or one.at - before.last_at > timedelta(days=0.5)
        if one.right and not one.too_fast and first:
            assert trace.gate.last_at == one.at
            assert trace.gate.ln_hold <= trace.ln_hold
        elif before is not None:
            assert (trace.gate.ln_hold, trace.gate.last_at) == (before.gate.ln_hold, before.gate.last_at)


@given(st.lists(st.integers(DAY // 2 + 1, 200 * DAY), max_size=8))
def test_a_clean_history_leaves_gate_and_drill_equal(gaps_s):
    days = [sum(gaps_s[:n]) / DAY for n in range(len(gaps_s) + 1)]
    trace = fold(answered(days=day, record=n) for n, day in enumerate(days)).traces["a"]
    assert (trace.gate.ln_hold, trace.gate.ln_hold_var) == (trace.ln_hold, trace.ln_hold_var)


@given(histories(at_least=1), st.integers(0, 400 * DAY), st.integers(0, 400 * DAY))
def test_a_gate_never_rises_with_time(answers, one_s, other_s):
    state = fold(answers)
    earlier, later = sorted((answers[-1].at + timedelta(seconds=gap_s)) for gap_s in (one_s, other_s))
    assert all(new <= old for new, old in zip(lows(state, later), lows(state, earlier), strict=True))


def test_wrong_answers_move_neither_field_of_the_gate():
    before = fold([answered(), answered(days=3, record=1)])
    after = after_answer(before, answered(days=5, right=False, record=2))
    old, new = before.traces["a"].gate, after.traces["a"].gate
    assert (new.ln_hold, new.ln_hold_var, new.last_at) == (old.ln_hold, old.ln_hold_var, old.last_at)


def test_two_wrong_answers_on_different_days_count_nothing_until_right_again():
    state = fold([answered(), answered(days=2, record=1), answered(days=4, right=False, record=2)])
    at = START + timedelta(days=4, hours=1)
    assert gate_low(state.traces["a"].gate, state.gate_moments, at) > 0.0
    same_day = after_answer(state, answered(days=4.4, right=False, record=3))
    assert gate_low(same_day.traces["a"].gate, same_day.gate_moments, START + timedelta(days=4.5)) > 0.0
    twice = after_answer(same_day, answered(days=4.6, right=False, record=4))
    assert gate_low(twice.traces["a"].gate, twice.gate_moments, START + timedelta(days=5)) == 0.0
    ground = after_answer(twice, answered(days=4.7, record=5))
    assert gate_low(ground.traces["a"].gate, ground.gate_moments, START + timedelta(days=5)) == 0.0
    too_fast = after_answer(ground, answered(days=6, record=6, too_fast=True))
    assert gate_low(too_fast.traces["a"].gate, too_fast.gate_moments, START + timedelta(days=7)) == 0.0
    again = after_answer(ground, answered(days=6, record=6))
    assert gate_low(again.traces["a"].gate, again.gate_moments, START + timedelta(days=6)) > 0.0


def test_grinding_in_one_evening_never_opens_a_gate():
    evening = [answered(days=n / 1000, right=n > 0, record=n) for n in range(200)]
    state = fold(evening)
    assert state.traces["a"].gate.ln_hold is None
    assert gate_low(state.traces["a"].gate, state.gate_moments, START + timedelta(days=1)) == 0.0


def test_too_fast_answers_open_no_gate():
    state = fold(answered(days=2 * n, record=n, too_fast=True) for n in range(6))
    assert state.traces["a"].gate.ln_hold is None


def test_a_gate_reads_at_least_one_day():
    state = fold([answered()])
    gate, who = state.traces["a"].gate, state.gate_moments
    assert gate_low(gate, who, START) == gate_low(gate, who, START + timedelta(days=1)) > 0.0
    assert gate_low(gate, who, START + timedelta(days=1.5)) < gate_low(gate, who, START)


@pytest.mark.parametrize(
    "gate",
    [
        None,
        Gate(),
        Gate(ln_hold=-3.0),
        Gate(ln_hold=-3.0, last_at=START + timedelta(days=1)),
        Gate(ln_hold=2.0, last_at=START, wrong_running=2),
    ],
)
def test_what_is_not_proved_counts_nothing(gate):
    assert gate_low(gate, PersonMoments(), START) == 0.0


@given(st.floats(-7, 2), st.floats(1, 900), st.floats(-2, 2))
def test_gate_low_is_the_lower_bound_rounded_down_to_three_decimals(ln_hold, days, easiness):
    at = START + timedelta(days=days)
    gate = Gate(ln_hold=ln_hold, ln_hold_var=0.3, last_at=START, easiness=easiness)
    elapsed = (at - START).total_seconds() / DAY
    bound = recall_low(ln_hold, elapsed, KNOWN_PERSON, easiness=easiness, ln_hold_var=0.3, easiness_var=1.44**2)
    assert bound - 0.001 - 1e-12 <= gate_low(gate, KNOWN_PERSON, at) <= bound + 1e-12


def test_the_mean_counts_a_question_never_answered_as_nothing_and_no_questions_as_nothing():
    gate = Gate(ln_hold=-1.0, last_at=START)
    alone = mean_gate_low([gate], KNOWN_PERSON, START)
    assert mean_gate_low([gate, None], KNOWN_PERSON, START) == pytest.approx(alone / 2, abs=0.001)
    assert mean_gate_low([], KNOWN_PERSON, START) == 0.0


@given(
    st.lists(st.tuples(st.floats(-7.5, -6.0), st.integers(1000, 6000)), min_size=1, max_size=4),
    st.floats(0.2, 0.9),
    st.integers(0, 59),
)
def test_the_last_minute_at_the_floor_is_what_counting_minutes_finds(drawn, floor, second):
    gates = [Gate(ln_hold=held, last_at=START - timedelta(minutes=ago), easiness_var=0.0) for held, ago in drawn]
    who = PersonMoments(ability=1.5, var_ability=0.1, var_fade=0.1)
    at = START + timedelta(seconds=second)
    found = last_minute_at_floor(gates, who, floor, at)
    minute = START if second == 0 else START + timedelta(minutes=1)
    counted, most = None, minute + timedelta(days=0.4)
    while minute <= most and mean_gate_low(gates, who, at) >= floor and mean_gate_low(gates, who, minute) >= floor:
        counted, minute = minute, minute + timedelta(minutes=1)
    assert found == counted or (counted == most and found > most)


def test_the_last_minute_ends_thirty_years_on_and_is_none_below_the_floor_or_without_gates():
    at = START + timedelta(seconds=20)
    assert last_minute_at_floor([Gate()], KNOWN_PERSON, 0.0, at) == START + timedelta(minutes=1, days=30 * 365)
    assert last_minute_at_floor([Gate()], KNOWN_PERSON, 0.1, at) is None
    assert last_minute_at_floor([], KNOWN_PERSON, 0.0, at) is None


def test_a_gate_that_moved_after_the_instant_asked_for_never_counts():
    late = Gate(ln_hold=3.0, last_at=START + timedelta(days=2))
    assert last_minute_at_floor([late], KNOWN_PERSON, 0.1, START) is None


def test_the_plain_posterior_could_raise_a_bound_after_a_wrong_answer_and_the_gates_belief_does_not():
    """Why gates have moments of their own: shown on moments in which ability and fade are strongly anti-correlated."""
    before = PersonMoments(ability=0.0, fade=0.0, var_ability=0.3, var_fade=0.3, cov=-0.28)
    narrowed = PersonMoments(ability=0.01, fade=-0.05, var_ability=0.28, var_fade=0.25, cov=-0.26)
    kept = worse_of(before, narrowed)
    assert recall_low(-3.0, 0.0, narrowed) > recall_low(-3.0, 0.0, before)
    for days in LATER_DAYS:
        assert recall_low(-3.0, days, kept) <= recall_low(-3.0, days, before)
    assert math.isclose(kept.fade, -0.05)
