"""Log loss, rank order and calibration against their definitions."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from training.core.memory.evaluation.metrics import area_under_curve, log_loss, score

ANSWERS = st.lists(st.tuples(st.integers(0, 8), st.booleans()), min_size=2, max_size=60)


@given(ANSWERS)
def test_the_area_is_the_share_of_right_and_wrong_pairs_in_order_with_ties_half(answers):
    chance = np.array([eighths / 8 for eighths, _ in answers])
    right = np.array([was_right for _, was_right in answers])
    pairs = [(a, b) for a in chance[right] for b in chance[~right]]
    area = area_under_curve(chance, right)
    if not pairs:
        assert math.isnan(area)
    else:
        assert area == pytest.approx(sum((a > b) + 0.5 * (a == b) for a, b in pairs) / len(pairs))


def test_log_loss_is_the_mean_cost_of_what_happened_and_finite_for_a_sure_miss():
    assert log_loss(np.array([0.8, 0.3]), np.array([True, False])) == pytest.approx(-math.log(0.8 * 0.7) / 2)
    assert log_loss(np.array([0.0]), np.array([True])) == pytest.approx(-math.log(1e-6))


def test_calibration_error_is_the_mean_distance_over_twenty_bins_of_equal_count():
    chance = np.repeat(np.arange(20) / 20, 10)
    right = np.concatenate([np.arange(10) < count / 2 for count in range(20)])
    half_up = np.ceil(np.arange(20) / 2) / 10
    assert score(chance, right).ece == pytest.approx(np.mean(np.abs(np.arange(20) / 20 - half_up)))


def test_predicting_the_share_seen_has_no_calibration_error():
    right = np.arange(400) % 4 == 0
    assert score(np.full(400, 0.25), right).ece == pytest.approx(0.0)
    assert score(np.full(400, 0.45), right).ece == pytest.approx(0.2)
    assert score(np.full(400, 0.45), right).binned_rmse == pytest.approx(0.2)


@pytest.mark.parametrize("chance", [[], [1.2, 0.5], [math.nan, 0.5]])
def test_a_chance_that_is_none_is_refused(chance):
    with pytest.raises(ValueError, match="between 0 and 1"):
        score(np.array(chance), np.ones(len(chance), dtype=bool))


def test_a_score_without_wrong_answers_says_that_it_has_no_area():
    assert score(np.array([0.5, 0.6]), np.array([True, True])).as_dict()["auc"] is None
