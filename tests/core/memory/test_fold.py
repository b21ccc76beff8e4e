"""Laws of the fold: order, shifts, what the belief counts, and states that stay sound whatever comes."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.memory.histories import LONG_GAPS_S, START, answered, histories
from training.core.memory.fold import OutOfOrder, after_answer, fold, nothing_answered
from training.core.memory.parameters import Parameters
from training.core.memory.posterior import Belief, moments, prior
from training.core.memory.recall import recall, recall_low


@given(histories(), st.randoms(use_true_random=False))
def test_a_late_answer_refolded_equals_the_fold_in_order(answers, chance):
    shuffled = list(answers)
    chance.shuffle(shuffled)
    step_by_step = nothing_answered()
    for one in answers:
        step_by_step = after_answer(step_by_step, one)
    assert fold(shuffled) == fold(answers) == step_by_step


def test_an_older_answer_is_refused_until_all_are_folded_again():
    state = fold([answered(days=3, record=2)])
    with pytest.raises(OutOfOrder, match="fold all answers again"):
        after_answer(state, answered(days=1, record=3))
    with pytest.raises(OutOfOrder):
        after_answer(state, answered(days=3, record=1))


@given(histories(), st.timedeltas(timedelta(days=-5000), timedelta(days=5000)))
def test_shifting_all_instants_changes_nothing(answers, shift):
    here, there = fold(answers), fold([replace(one, at=one.at + shift) for one in answers])
    assert here.belief == there.belief
    for question, trace in here.traces.items():
        moved = there.traces[question]
        assert (moved.ln_hold, moved.ln_hold_var, moved.answers) == (trace.ln_hold, trace.ln_hold_var, trace.answers)
        assert moved.gate.ln_hold == trace.gate.ln_hold
        assert moved.last_at - trace.last_at == shift


@given(st.lists(histories(most=8), min_size=2, max_size=4), st.randoms(use_true_random=False))
def test_permuting_people_changes_nothing(people, chance):
    order = list(range(len(people)))
    chance.shuffle(order)
    alone = [fold(answers) for answers in people]
    assert [fold(people[place]) for place in order] == [alone[place] for place in order]


@given(histories(gaps_s=LONG_GAPS_S, most=60))
def test_no_history_gives_nan_or_an_error(answers):
    state = fold(answers)
    who = moments(state.belief)
    assert all(math.isfinite(part) for part in (who.ability, who.fade, who.var_ability, who.var_fade, who.cov))
    for trace in state.traces.values():
        assert math.isfinite(trace.ln_hold)
        assert math.isfinite(trace.ln_hold_var)
        for days in (0.0, 1.0, 11_000.0):
            assert 0.0 <= recall_low(trace.ln_hold, days, who, ln_hold_var=trace.ln_hold_var) <= 1.0


@pytest.mark.parametrize("right", [True, False])
def test_a_thousand_answers_in_an_evening_stay_finite(right):
    state = fold(answered(days=number / 86_400, right=right, record=number) for number in range(1000))
    trace = state.traces["a"]
    assert math.isfinite(trace.ln_hold)
    assert trace.answers == 1000
    assert 0.0 <= recall(trace.ln_hold, 30.0) <= 1.0


@given(histories(at_least=1), st.floats(0.0, 400.0))
def test_a_sound_answer_never_lowers_recall_now(answers, days):
    state = fold(answers)
    asked = answers[-1].question
    trace = state.traces[asked]
    at = answers[-1].at + timedelta(days=days)
    since = (at - trace.last_at).total_seconds() / 86_400
    who = moments(state.belief)
    before = recall(trace.ln_hold, since, off=who.ability + trace.easiness, fade=who.fade)
    sound = replace(answers[-1], at=at, right=True, too_fast=False, record=1000)
    after = after_answer(state, sound)
    who, trace = moments(after.belief), after.traces[asked]
    assert recall(trace.ln_hold, 0.0, off=who.ability + trace.easiness, fade=who.fade) >= before - 1e-12


def test_the_belief_counts_only_the_first_answer_of_a_session():
    once = fold([answered(right=True)])
    ground = fold([answered(right=True), *(answered(days=0.4 * n / 5, right=False, record=n) for n in range(1, 6))])
    assert ground.belief == once.belief
    assert ground.traces["a"].last_counted_at == START
    assert ground.traces["a"].answers == 6


def test_half_a_day_exactly_is_still_the_same_session():
    same = fold([answered(), answered(days=0.5, record=1)])
    later = fold([answered(), answered(days=0.5 + 1 / 86_400, record=1)])
    assert same.traces["a"].last_counted_at == START
    assert later.traces["a"].last_counted_at == START + timedelta(days=0.5, seconds=1)


def test_an_answer_too_fast_to_have_been_read_is_no_evidence_but_shows_the_reasons():
    state = fold([answered(too_fast=True)])
    assert state.belief == prior()
    assert state.traces["a"].ln_hold == Parameters().first_read
    assert state.traces["a"].last_right is False
    again = fold([answered(), answered(days=2, record=1, too_fast=True)])
    assert again.traces["a"].ln_hold == fold([answered()]).traces["a"].ln_hold
    assert again.belief == fold([answered()]).belief


def test_right_answers_raise_ability_and_wrong_ones_lower_it():
    right, wrong = (moments(fold([answered(right=outcome)]).belief) for outcome in (True, False))
    assert right.ability > 0.0 > wrong.ability


@given(histories())
def test_a_belief_survives_its_bytes(answers):
    belief = fold(answers).belief
    assert Belief.from_bytes(belief.to_bytes()) == belief


@pytest.mark.parametrize("packed", [b"", b"\x01", b"\x02" + prior().to_bytes()[1:], prior().to_bytes() + b"0"])
def test_bytes_of_another_layout_are_refused(packed):
    with pytest.raises(ValueError, match="fold the person's answers again"):
        Belief.from_bytes(packed)


def test_an_instant_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="no zone"):
        replace(answered(), at=datetime(2026, 3, 2))  # noqa: DTZ001


@pytest.mark.parametrize("chance_floor", [-0.1, 1.0, math.nan])
def test_a_chance_floor_outside_its_range_is_refused(chance_floor):
    with pytest.raises(ValueError, match="chance floor"):
        answered(chance_floor=chance_floor)


def test_a_parameter_set_whose_bound_could_rise_with_time_is_refused():
    with pytest.raises(ValueError, match="sd_fade"):
        Parameters(sd_fade=0.61)
