"""Laws of recall over time, of its inverses, and of scalar and array calls."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from training.core.memory.posterior import PersonMoments
from training.core.memory.recall import band_sd, chance_right, days_to, days_to_low, recall, recall_low, recall_mean
from training.core.memory.session_clock import effective_days
from training.core.memory.steps import Hold, Shown, next_hold, recall_now

LN_HOLDS = st.floats(-10, 8)
DAYS = st.floats(0, 11_000)
OFFS = st.floats(-6, 6)
FADES = st.floats(-2, 2)


@st.composite
def people(draw):
    sd_ability, sd_fade = draw(st.floats(0, 0.85)), draw(st.floats(0, 0.6))
    return PersonMoments(
        ability=draw(st.floats(-2.4, 2.4)),
        fade=draw(st.floats(-1.7, 1.7)),
        var_ability=sd_ability**2,
        var_fade=sd_fade**2,
        cov=draw(st.floats(-0.98, 0.98)) * sd_ability * sd_fade,
    )


@given(LN_HOLDS, OFFS, FADES, DAYS, DAYS)
def test_recall_never_rises_with_time_alone(ln_hold, off, fade, one, other):
    earlier, later = sorted((one, other))
    assert recall(ln_hold, later, off=off, fade=fade) <= recall(ln_hold, earlier, off=off, fade=fade)


@given(LN_HOLDS, people(), DAYS, DAYS, st.floats(0, 4), st.floats(0, 3))
def test_the_lower_bound_never_rises_with_time(ln_hold, who, one, other, ln_hold_var, easiness_var):
    earlier, later = sorted((one, other))
    bounds = recall_low(ln_hold, [earlier, later], who, ln_hold_var=ln_hold_var, easiness_var=easiness_var)
    assert bounds[1] <= bounds[0] + 1e-15


@given(LN_HOLDS, people(), DAYS, st.floats(-3, 3))
def test_the_bound_lies_at_or_below_the_recall_of_the_persons_point(ln_hold, who, days, easiness):
    middle = recall(ln_hold, days, off=who.ability + easiness, fade=who.fade)
    assert recall_low(ln_hold, days, who, easiness=easiness) <= middle


@given(LN_HOLDS, people(), DAYS)
def test_the_predictive_mean_lies_between_a_half_and_the_recall_of_the_persons_point(ln_hold, who, days):
    middle = recall(ln_hold, days, off=who.ability, fade=who.fade)
    assert min(middle, 0.5) - 1e-12 <= recall_mean(ln_hold, days, who) <= max(middle, 0.5) + 1e-12


@given(LN_HOLDS, OFFS, FADES, st.floats(0.02, 0.98))
def test_the_days_to_a_target_lead_back_to_it(ln_hold, off, fade, target):
    days = days_to(target, ln_hold, off=off, fade=fade)
    assert recall(ln_hold, days, off=off, fade=fade) == pytest.approx(target, rel=1e-9)


@given(LN_HOLDS, people(), st.floats(0.05, 0.95), st.floats(0, 1), st.floats(0, 2.1))
def test_the_days_to_a_target_bound_lead_back_to_it(ln_hold, who, target, ln_hold_var, easiness_var):
    spreads = {"ln_hold_var": ln_hold_var, "easiness_var": easiness_var}
    days = days_to_low(target, ln_hold, who, **spreads)
    assert recall_low(ln_hold, days, who, **spreads) == pytest.approx(target, rel=1e-5)


def test_a_recall_that_starts_below_its_target_takes_no_days():
    assert days_to(0.9, -5.0, off=-9.0) == 0.0


@pytest.mark.parametrize("target", [0.0, 1.0, -0.2, 1.2])
def test_a_target_outside_nought_to_one_is_refused(target):
    with pytest.raises(ValueError, match="between 0 and 1"):
        days_to(target, -5.0)


@given(st.lists(st.tuples(LN_HOLDS, DAYS, OFFS), min_size=1, max_size=40), people())
def test_scalar_and_array_calls_give_the_same_numbers(cases, who):
    ln_holds, days, offs = (np.array(column) for column in zip(*cases, strict=True))
    together = recall(ln_holds, days, off=offs), recall_low(ln_holds, days, who, easiness=offs)
    for place, (ln_hold, interval_days, off) in enumerate(cases):
        assert recall(ln_hold, interval_days, off=off) == pytest.approx(together[0][place], rel=1e-13)
        assert recall_low(ln_hold, interval_days, who, easiness=off) == pytest.approx(together[1][place], rel=1e-12)
        assert recall_now(ln_hold, interval_days, off, 0.0) == pytest.approx(together[0][place], rel=1e-12)


@given(st.lists(st.tuples(LN_HOLDS, DAYS, OFFS), min_size=1, max_size=30), st.randoms(use_true_random=False))
def test_permuting_people_changes_nothing(cases, chance):
    order = list(range(len(cases)))
    chance.shuffle(order)
    ln_holds, days, offs = (np.array(column) for column in zip(*cases, strict=True))
    shuffled = recall(ln_holds[order], days[order], off=offs[order])
    assert shuffled == pytest.approx(recall(ln_holds, days, off=offs)[order], rel=1e-13)


def test_a_question_never_seen_is_predicted_by_person_and_question_alone():
    never = recall([math.nan, -5.0], 3.0, off=0.7)
    assert never[0] == pytest.approx(1 / (1 + math.exp(-0.7)), rel=1e-14)
    assert never[1] != never[0]
    assert band_sd(math.nan, 3.0, PersonMoments()) == pytest.approx(math.sqrt(0.85**2 + 0.09), rel=1e-14)


@given(st.floats(-5000, 5000), st.floats(0, 11_000), people())
def test_no_hold_however_extreme_gives_nan(ln_hold, days, who):
    assert 0.0 <= recall(ln_hold, days) <= 1.0
    assert 0.0 <= recall_low(ln_hold, days, who, ln_hold_var=9.0) <= 1.0
    assert days_to(0.6, ln_hold) >= 0.0


@given(st.floats(0, 1), st.floats(0, 0.9))
def test_the_chance_of_a_right_answer_lies_between_chance_floor_and_slip(recalled, chance_floor):
    assert chance_floor - 1e-12 <= chance_right(recalled, chance_floor) <= 0.98 + 1e-12


@given(LN_HOLDS, st.floats(0.01, 3000), st.floats(0.01, 3000), OFFS)
def test_right_after_a_longer_gap_gives_a_longer_hold(ln_hold, one, other, off):
    shorter, longer = sorted((one, other))
    shown = Shown(right=True, chance_floor=0.0, off=off)
    gains = [next_hold(Hold(ln_hold), days, shown).ln_hold for days in (shorter, longer)]
    assert gains[1] >= gains[0]


def test_the_session_clock_counts_in_session_time_more_and_days_plainly():
    hour = 1 / 24
    assert effective_days([5.0, 5.0 + hour / 2, 8.0]) == pytest.approx(
        (0, 38.5 * hour / 2, 38.5 * hour / 2 + 3 - hour / 2)
    )
    assert effective_days([]) == ()
    with pytest.raises(ValueError, match="in order"):
        effective_days([2.0, 1.0])
