"""Topic readiness and its end by forgetting: counted anew, minute by minute, by another few lines of arithmetic."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta

from hypothesis import given
from hypothesis import strategies as st

from tests.core.memory.histories import DAY, START, answered, histories
from training.core.memory.fold import after_answer, fold
from training.core.memory.gates import Gate, gate_low, last_minute_at_floor, mean_gate_low
from training.core.memory.posterior import PersonMoments

MINUTE = timedelta(minutes=1)
WHO = PersonMoments(ability=1.5, fade=-0.2, var_ability=0.1, var_fade=0.1, cov=0.02)


def plain_low(gate, who, at):
    """The lower bound of one gate from the equations of the memory model, section 5; what is not proved counts 0."""
    if gate is None or gate.ln_hold is None or gate.last_at is None or gate.wrong_running >= 2 or at < gate.last_at:
        return 0.0
    days = max((at - gate.last_at).total_seconds() / DAY, 1.0)
    x = days / math.exp(gate.ln_hold + who.fade)
    slope = 1.087 * x / (1 + x)
    variance = who.var_ability + 2 * slope * who.cov + slope**2 * (who.var_fade + gate.ln_hold_var)
    variance += 0.3**2 + gate.easiness_var
    logit = who.ability + gate.easiness + 9.68 - 1.087 * math.log(1 + x) - 1.645 * math.sqrt(variance)
    return 1 / (1 + math.exp(-logit))


def plain_mean(gates, who, at):
    return math.floor(sum(plain_low(gate, who, at) for gate in gates) / len(gates) * 1000) / 1000


def counted_end(gates, who, floor, at, most_minutes):
    """The last whole minute that still meets the floor, by looking at every one; None if the first does not."""
    minute, end = at, None
    while minute <= at + most_minutes * MINUTE and plain_mean(gates, who, minute) >= floor:
        end, minute = minute, minute + MINUTE
    return end


PROVED = st.builds(
    Gate,
    ln_hold=st.floats(-7.5, -5.0),
    ln_hold_var=st.floats(0, 0.5),
    last_at=st.integers(0, 6000).map(lambda minutes: START - minutes * MINUTE),
    easiness=st.floats(-0.5, 1.0),
    easiness_var=st.sampled_from([0.0, 0.3]),
)
GATES = st.one_of(PROVED, st.none(), PROVED.map(lambda gate: replace(gate, wrong_running=2)), st.just(Gate()))


@given(st.lists(GATES, min_size=1, max_size=5), st.floats(0.1, 0.9))
def test_a_topics_end_is_the_last_minute_found_by_counting(gates, floor):
    found = last_minute_at_floor(gates, WHO, floor, START)
    counted = counted_end(gates, WHO, floor, START, 1500)
    if counted is None or counted < START + 1500 * MINUTE:
        assert found == counted
    else:
        assert found >= counted
        assert plain_mean(gates, WHO, found) >= floor > plain_mean(gates, WHO, found + MINUTE)


@given(histories(at_least=1), st.integers(0, 60 * DAY), st.sampled_from([0.1, 0.25, 0.4, 0.6]))
def test_after_any_history_the_mean_and_its_end_are_those_of_the_plain_equations(answers, later_s, floor):
    state = fold(answers)
    at = (answers[-1].at + timedelta(seconds=later_s)).replace(second=0, microsecond=0) + MINUTE
    gates = [state.traces[one].gate if one in state.traces else None for one in "abc"]
    who = state.gate_moments
    assert abs(mean_gate_low(gates, who, at) - plain_mean(gates, who, at)) < 0.0011
    found = last_minute_at_floor(gates, who, floor, at)
    if found is None:
        assert plain_mean(gates, who, at) < floor + 0.0011
    else:
        assert plain_mean(gates, who, found - MINUTE if found > at else found) >= floor - 0.0011
        assert plain_mean(gates, who, found + MINUTE) < floor + 0.0011


@given(st.lists(PROVED, min_size=1, max_size=5), st.floats(0.1, 0.9), st.floats(0.1, 0.9))
def test_a_higher_floor_ends_no_later_and_one_more_unanswered_question_ends_no_later(gates, one, other):
    lower, higher = sorted((one, other))
    early, late = (last_minute_at_floor(gates, WHO, floor, START) for floor in (higher, lower))
    assert early is None or (late is not None and early <= late)
    with_more = last_minute_at_floor([*gates, None], WHO, lower, START)
    assert with_more is None or (late is not None and with_more <= late)


@given(histories(at_least=1), st.sampled_from("abc"), st.integers(0, 90 * DAY), st.floats(0.05, 0.6))
def test_no_wrong_answer_makes_a_topic_hold_longer(answers, question, gap_s, floor):
    before = fold(answers)
    at = answers[-1].at + timedelta(seconds=gap_s)
    kin = next((one for one in answers if one.question == question), answered(question))
    after = after_answer(before, replace(kin, at=at, right=False, record=1000, too_fast=False))
    ends = [
        last_minute_at_floor(
            [state.traces[one].gate if one in state.traces else None for one in "abc"], state.gate_moments, floor, at
        )
        for state in (before, after)
    ]
    assert ends[1] is None or (ends[0] is not None and ends[1] <= ends[0])


def test_the_end_of_a_topic_does_not_move_while_time_passes():
    gates = [Gate(ln_hold=-5.0, last_at=START, easiness_var=0.0), Gate(ln_hold=-4.5, last_at=START, easiness_var=0.0)]
    end = last_minute_at_floor(gates, WHO, 0.6, START)
    assert end is not None
    for days in (0.4, 1.0, 2.7):
        assert last_minute_at_floor(gates, WHO, 0.6, START + timedelta(days=days)) == end
    assert gate_low(gates[0], WHO, end) < gate_low(gates[1], WHO, end)
