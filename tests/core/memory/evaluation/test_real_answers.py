"""The limits that the model must reach on real answers; run when the open data set lies beside this checkout."""

from __future__ import annotations

import gzip
from functools import cache

import pytest

from tests.core.memory.evaluation.practice import NOT_HERE, REAL_FILE
from training.core.memory.evaluation.coverage import coverage
from training.core.memory.evaluation.effects import Effects
from training.core.memory.evaluation.odds_power import fit_easiness, predict
from training.core.memory.evaluation.protocols import STUDENT, Held, held_out
from training.core.memory.evaluation.report import Scores, scores_of
from training.core.memory.evaluation.rows import read_trials

pytestmark = pytest.mark.skipif(not REAL_FILE.exists(), reason=NOT_HERE)


@cache
def learnt() -> tuple[Held, Effects]:
    with gzip.open(REAL_FILE, "rt", encoding="utf-8", newline="") as lines:
        held = held_out(read_trials(lines), STUDENT)
    return held, fit_easiness(held)


@cache
def own_scores() -> Scores:
    held, effects = learnt()
    return scores_of(held, predict(held, effects).chance)


def test_the_file_holds_the_answers_that_the_limits_were_set_on():
    scores = own_scores()
    assert (scores.late.n, scores.day.n) == (560, 3649)


def test_late_answers_of_held_out_people_are_predicted_within_the_limits():
    # memory model, first section, 3: the reference implementation reached .4836 and .847
    assert own_scores().late.log_loss <= 0.490
    assert own_scores().late.auc >= 0.838


def test_late_and_first_answers_are_predicted_within_the_limit():
    # the same place: .4822
    assert own_scores().day.log_loss <= 0.488


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_few_held_out_people_fall_under_the_bound_of_their_forecast(seed):
    held, effects = learnt()
    found = coverage(held, effects, seed)
    assert found.people == 45
    assert found.below <= 0.12
