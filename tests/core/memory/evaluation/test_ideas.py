"""Other fixed-size states: chances, no look ahead, and the people held out for the final score are never looked at."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.core.memory.evaluation.practice import made_up_trials
from training.core.memory.evaluation.ideas import FOLDS, IDEAS, Fold, _moments, folds_of, only, tried
from training.core.memory.evaluation.odds_power import fit_easiness, predict

TRIALS = made_up_trials()


@pytest.fixture(scope="module")
def fold() -> Fold:
    return next(folds_of(TRIALS, seed=1))


def test_each_person_who_is_not_held_out_is_scored_in_one_fold_and_learnt_from_in_the_others() -> None:
    folds = list(folds_of(TRIALS, seed=1))
    scored = [set(one.held.trials.person[~one.held.early].tolist()) for one in folds]
    assert len(folds) == FOLDS
    assert sum(map(len, scored)) == len(set().union(*scored)) == folds[0].held.trials.people
    assert folds[0].held.trials.people == len(set(TRIALS.person[~TRIALS.test].tolist()))


def test_what_held_out_people_answered_changes_nothing() -> None:
    turned = replace(TRIALS, right=TRIALS.right ^ (TRIALS.test & TRIALS.answered))
    assert tried(turned, seed=1) == tried(TRIALS, seed=1)


@pytest.mark.parametrize("name", IDEAS)
def test_every_row_gets_a_chance(fold: Fold, name: str) -> None:
    chance = IDEAS[name](fold)
    assert chance.shape == fold.held.scored.shape
    assert np.all((chance > 0.0) & (chance < 1.0))


@pytest.mark.parametrize("name", IDEAS)
def test_a_prediction_knows_neither_its_own_answer_nor_later_ones(fold: Fold, name: str) -> None:
    row = int(np.flatnonzero(fold.held.late)[5])
    held = fold.held
    hidden = held.scored & (held.trials.person == held.trials.person[row]) & (held.trials.turn >= held.trials.turn[row])
    turned = replace(held, trials=replace(held.trials, right=held.trials.right ^ hidden))
    again = Fold(turned, predict(turned, fit_easiness(turned)))
    assert IDEAS[name](again)[row] == pytest.approx(IDEAS[name](fold)[row], rel=1e-9)


def test_moments_are_those_of_the_showings_before(fold: Fold) -> None:
    held, moments = fold.held, _moments(fold.held)
    row = int(np.argmax(moments.number))
    earlier = np.flatnonzero(
        (held.trials.person == held.trials.person[row])
        & (held.trials.question == held.trials.question[row])
        & (held.trials.turn < held.trials.turn[row])
    )
    ages_s = (held.showings.clock[row] - held.showings.clock[earlier]) * 86_400.0
    assert moments.number[row] == len(earlier) > 1
    assert moments.last_s[row] == pytest.approx(ages_s.min())
    assert (moments.mean_s[row], moments.spread_s[row]) == pytest.approx((ages_s.mean(), ages_s.std()))
    assert moments.wrong[row] == np.sum(held.trials.answered[earlier] & ~held.trials.right[earlier])


def test_whole_people_are_kept_and_numbered_anew() -> None:
    some = only(TRIALS, TRIALS.test)
    assert set(some.person.tolist()) == set(range(some.people))
    assert len(some.ms) == TRIALS.test.sum()
