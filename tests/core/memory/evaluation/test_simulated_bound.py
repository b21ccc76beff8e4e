"""The lower bound holds for people who guess, as long as the model knows how often a guess is right."""

from __future__ import annotations

import pytest

from training.core.memory.evaluation.simulated_bound import share_held


@pytest.mark.parametrize("chance_floor", [0.02, 0.25, 0.5])
def test_the_bound_holds_for_at_least_95_in_100_with_the_chance_floor(chance_floor):
    assert share_held(150, chance_floor, seed=1) >= 0.95


def test_the_bound_fails_when_guesses_are_taken_for_knowledge():
    assert share_held(40, 0.25, seed=11, believed_floor=0.0) < 0.93


def test_the_bound_holds_a_day_and_two_months_ahead():
    assert share_held(150, 0.25, seed=1, ahead_days=1.0) >= 0.95
    assert share_held(150, 0.25, seed=1, ahead_days=60.0) >= 0.95
