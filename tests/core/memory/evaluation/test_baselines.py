"""Each published way of predicting: chances, no look ahead, nothing learnt from those it is scored on."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest

from tests.core.memory.evaluation.practice import lines_of, made_up_trials
from training.core.memory.evaluation.baselines import BASELINES
from training.core.memory.evaluation.full_history import START, _past, activation
from training.core.memory.evaluation.hidden_state import Chances, Runs, _forward, hidden_state
from training.core.memory.evaluation.metrics import log_loss
from training.core.memory.evaluation.protocols import FORWARD, STUDENT, held_out
from training.core.memory.evaluation.rows import read_trials
from training.core.memory.evaluation.search import least
from training.core.memory.evaluation.time_windows import window_counts

NAMES = (
    "item mean",
    "person running mean",
    "person and item (Rasch)",
    "exponential forgetting with counted answers",
    "logistic regression with time windows",
    "hidden-state model",
    "full-history performance equation",
)


def test_the_baselines_are_those_that_reports_name():
    assert tuple(BASELINES) == NAMES


@pytest.mark.parametrize("protocol", [STUDENT, FORWARD])
@pytest.mark.parametrize("name", NAMES)
def test_every_row_gets_a_chance(name, protocol):
    held = held_out(made_up_trials(), protocol)
    chance = BASELINES[name](held)
    assert chance.shape == held.scored.shape
    assert np.all((chance > 0.0) & (chance < 1.0))


@pytest.mark.parametrize("name", NAMES)
def test_a_prediction_knows_neither_its_own_answer_nor_later_ones_nor_other_held_out_people(name):
    held = held_out(made_up_trials(), STUDENT)
    rows = np.flatnonzero(held.scored)[[3, 40, 90]]
    before = BASELINES[name](held)[rows]
    for row, expected in zip(rows.tolist(), before, strict=True):
        own = held.trials.person == held.trials.person[row]
        hidden = held.scored & (~own | (held.trials.turn >= held.trials.turn[row]))
        turned = replace(held, trials=replace(held.trials, right=held.trials.right ^ hidden))
        assert BASELINES[name](turned)[row] == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("name", ["person and item (Rasch)", "logistic regression with time windows"])
def test_knowing_person_and_question_predicts_better_than_the_overall_share(name):
    held = held_out(made_up_trials(90), STUDENT)
    right = held.trials.right
    flat = np.full(len(right), right[held.train].mean())
    assert log_loss(BASELINES[name](held)[held.scored], right[held.scored]) < log_loss(
        flat[held.scored], right[held.scored]
    )


def test_windows_count_earlier_answers_and_right_ones_within_each():
    at_days = (0, 3, 3.02, 40)
    rows = [("ann", "test", "q", round(day * 86.4e6), how, 1) for day, how in zip(at_days, "rwrr", strict=True)]
    rows = [(*row[:4], {"r": "right", "w": "wrong"}[row[4]], 1) for row in rows]
    held = held_out(read_trials(lines_of([*rows, *(("bob", "train", *row[2:]) for row in rows)])), STUDENT)
    counts = np.rint(np.expm1(window_counts(held)[:4])).astype(int).tolist()
    # answers within 1 h, 1 d, 7 d, 30 d, ever, then right ones
    assert counts[2] == [1, 1, 2, 2, 2, 0, 0, 1, 1, 1]
    assert counts[3] == [0, 0, 0, 0, 3, 0, 0, 0, 0, 2]


def test_the_hidden_state_is_filtered_as_by_adding_over_all_states():
    rows = [("ann", "test", "q", at, how, 1) for at, how in enumerate(("right", "read", "wrong", "right"))]
    later = [("ann", "test", "q", 90_000_000, "right", 1), ("bob", "train", "q", 0, "right", 1)]
    held = held_out(read_trials(lines_of([*rows, *later])), STUDENT)
    run = Runs(np.array([[0, 1, 2, 3]]), np.array([0]))
    chances = Chances(*(np.array([chance]) for chance in (0.3, 0.4, 0.15, 0.2, 0.1)))
    before, _ = _forward(held, run, chances.of(run.question))
    for length in range(4):
        assert before[0, length] == pytest.approx(_by_all_states(["right", None, "wrong", "right"][:length]))


def _by_all_states(seen):
    known, total = 0.0, 0.0
    for states in itertools.product((0, 1), repeat=len(seen) + 1):
        weight = 0.3 if states[0] else 0.7
        for state, after, shown in zip(states, states[1:], seen, strict=False):
            right = 0.9 if state else 0.2
            weight *= {"right": right, "wrong": 1 - right, None: 1.0}[shown]
            weight *= {(0, 1): 0.4, (0, 0): 0.6, (1, 0): 0.15, (1, 1): 0.85}[state, after]
        total += weight
        known += weight * states[-1]
    return known / total


def test_the_hidden_state_model_finds_a_question_that_everybody_learns():
    easy = [(f"n{n}", "test" if n < 9 else "train", "q", at, how, 1) for n in range(40) for at, how in LEARNT]
    chance = hidden_state(held_out(read_trials(lines_of(easy)), STUDENT))
    assert chance[1] > 0.85 > 0.4 > chance[0]


LEARNT = ((0, "wrong"), (60_000, "right"), (90_000_000, "right"))


def test_activation_is_number_to_the_c_times_weighted_age_to_the_minus_decay():
    days = (0, 1, 4)
    rows = [(who, split, "q", day * 86_400_000, "right", 1) for who, split in WHO for day in days]
    past = _past(held_out(read_trials(lines_of(rows)), STUDENT))
    recent, number, decay, by_spacing, _, _ = START
    ages = [(4 - day) * 86_400.0 for day in days[:2]]
    weights = [age**-recent for age in ages]
    age = sum(w * a for w, a in zip(weights, ages, strict=True)) / sum(weights)
    spacing = 1 / math.log(86_400.0 + math.e)
    assert activation(past, START)[2] == pytest.approx(2**number * age ** -(decay + by_spacing * spacing))
    assert activation(past, START)[0] == 0.0


WHO = (("ann", "train"), ("bob", "test"))


def test_the_search_finds_the_bottom_of_a_valley():
    found = least(lambda p: (p[0] - 2) ** 2 + 10 * (p[1] - p[0] ** 2) ** 2, np.array([-1.0, 0.5]), np.full(2, 0.5), 400)
    assert found == pytest.approx([2.0, 4.0], abs=1e-3)
