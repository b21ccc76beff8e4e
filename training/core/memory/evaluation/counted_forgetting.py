"""Exponential forgetting whose half-life grows with counted answers.

Source: Settles, B., Meeder, B. (2016), A trainable spaced repetition model for language learning, ACL 2016. Own small
version: fitted by log loss, since one answer shows no share; a first showing, of which it says nothing, gets the mean
of its question.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from training.core.memory.evaluation.effects import Floats
from training.core.memory.evaluation.plain_means import item_mean
from training.core.memory.evaluation.protocols import Held
from training.core.memory.evaluation.showings import history_of

SHORTEST_DAYS, LONGEST_DAYS = 15.0 / 1440.0, 274.0
LEAST_CHANCE = 1e-4
STEPS, PACE, RIDGE = 500, 0.05, 1e-4


def counted_forgetting(held: Held) -> Floats:
    """Return 2^(-days / half-life), with ln half-life linear in the roots of right and wrong counts, and the question.

    Half-lives stay between 15 minutes and 274 days, chances 1e-4 off 0 and 1, as in the source.
    """
    counts = _root_counts(held)
    weights = _fit(held, counts)
    repeated = ~held.showings.first
    chance = item_mean(held)
    half_life = _half_life_days(weights, counts[repeated], held.trials.question[repeated])
    chance[repeated] = _chance(held.showings.plain_days[repeated], half_life)
    return chance


def _root_counts(held: Held) -> Floats:
    """Return 1 and the roots of 1 + right and 1 + wrong answers before each row."""
    trials = held.trials
    history = history_of(held.showings.before)
    answered = (history >= 0) & trials.answered[history]
    right = np.sum(answered & trials.right[history], axis=1)
    wrong = np.sum(answered & ~trials.right[history], axis=1)
    return np.stack([np.ones(len(right)), np.sqrt(1.0 + right), np.sqrt(1.0 + wrong)], axis=1)


def _half_life_days(weights: Floats, counts: Floats, question: NDArray[np.int64]) -> Floats:
    width = counts.shape[1]
    exponent = counts @ weights[:width] + weights[width:][question]
    return np.asarray(np.exp2(np.clip(exponent, math.log2(SHORTEST_DAYS), math.log2(LONGEST_DAYS))))


def _chance(days: Floats, half_life: Floats) -> Floats:
    return np.asarray(np.clip(np.exp2(-days / half_life), LEAST_CHANCE, 1.0 - LEAST_CHANCE))


def _fit(held: Held, counts: Floats) -> Floats:
    """Return the weights after ``STEPS`` steps of adaptive gradient descent on the repeats learnt from."""
    rows = held.train & ~held.showings.first
    question, right = held.trials.question[rows], held.trials.right[rows]
    weights = np.zeros(counts.shape[1] + held.trials.questions)
    squares = np.full(len(weights), 1e-8)
    for _ in range(STEPS):
        half_life = _half_life_days(weights, counts[rows], question)
        days = held.showings.plain_days[rows]
        chance = _chance(days, half_life)
        by_exponent = np.where(right, -1.0, chance / (1.0 - chance)) * math.log(2.0) ** 2 * days / half_life
        by_question = np.bincount(question, by_exponent, held.trials.questions)
        slope = np.concatenate([counts[rows].T @ by_exponent, by_question]) / len(days) + RIDGE * weights
        squares += slope**2
        weights -= PACE * slope / np.sqrt(squares)
    return weights
