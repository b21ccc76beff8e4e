"""The full-history performance equation: activation from the number, ages and spacing of all earlier showings.

Source: Walsh, M. M., Gluck, K. A., Gunzelmann, G., Jastrzembski, T., Krusmark, M. (2018), Evaluating the theoretic
adequacy and applied potential of computational models of the spacing effect, Cognitive Science 42. Own small version
with the session clock, and weights for wrong answers and for reading (memory model, section 2).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from training.core.memory.evaluation.effects import (
    Answers,
    Effects,
    Floats,
    answers_of,
    newton_step,
    no_effects,
    sigma,
)
from training.core.memory.evaluation.protocols import Held
from training.core.memory.evaluation.running import with_running_shift
from training.core.memory.evaluation.search import least
from training.core.memory.evaluation.showings import history_of

SECONDS_PER_DAY = 86_400.0
START = np.array([0.6, 0.3, 0.04, 0.08, 0.5, 0.3])
SPREAD = np.array([0.2, 0.1, 0.03, 0.05, 0.3, 0.3])
TRIES = 160
LEAST, MOST = np.array([0.0, 0.0, 0.0, 0.0, 0.0, 0.0]), np.array([3.0, 2.0, 1.0, 1.0, 3.0, 3.0])


@dataclass(frozen=True, slots=True, eq=False)
class Past:
    """Per row and earlier showing: its age in effective seconds, 1 where there is one, and what it was."""

    age_s: Floats
    there: Floats
    wrong: Floats
    read: Floats
    spacing: Floats


def full_history(held: Held) -> Floats:
    """Return chances from person, question, activation, and whether the question was ever shown."""
    past = _past(held)
    return with_best_shape(held, lambda shape: _features(past, shape))


def activation(past: Past, shape: Floats) -> Floats:
    """Return M = N^c T^-d per row, 0 where nothing came before.

    ``shape``: x (weight of recent ages), c (number), least decay, decay by spacing, weight of wrong, of read.
    """
    recent, number, decay, by_spacing, wrong, read = np.clip(shape, LEAST, MOST)
    count = past.there.sum(axis=1) - (past.wrong * (1.0 - wrong) + past.read * (1.0 - read)).sum(axis=1)
    weights = past.there * past.age_s**-recent
    total = weights.sum(axis=1)
    seen = total > 0.0
    age_s = np.where(seen, (weights * past.age_s).sum(axis=1) / np.where(seen, total, 1.0), 1.0)
    grown = np.maximum(count, 1e-3) ** number * age_s ** -(decay + by_spacing * past.spacing)
    return np.where(seen, grown, 0.0)


def _past(held: Held) -> Past:
    trials, clock = held.trials, held.showings.clock
    history = history_of(held.showings.before)
    there = history >= 0
    age_s = np.where(there, np.maximum((clock[:, None] - clock[history]) * SECONDS_PER_DAY, 1.0), 1.0)
    lags_s = np.where(there[:, 1:], age_s[:, 1:] - age_s[:, :-1], 0.0)
    lags = np.maximum(there[:, 1:].sum(axis=1), 1)
    spacing = np.sum(there[:, 1:] / np.log(np.maximum(lags_s, 0.0) + np.e), axis=1) / lags
    answered, right = trials.answered[history], trials.right[history]
    wrong, read = there & answered & ~right, there & ~answered
    return Past(age_s, there.astype(np.float64), wrong.astype(np.float64), read.astype(np.float64), spacing)


def _features(past: Past, shape: Floats) -> Floats:
    return np.stack([activation(past, shape), (past.there.sum(axis=1) > 0.0).astype(np.float64)], axis=1)


def with_best_shape(held: Held, features_of: Callable[[Floats], Floats]) -> Floats:
    """Return chances from person, question and features, of the shape with the greatest penalised likelihood.

    ``features_of`` gives every row's features for a shape like that of ``activation``.
    """
    shape, effects = _fit(held, features_of)
    logits = effects.easiness[held.trials.question] + features_of(shape) @ effects.weights
    return with_running_shift(held, logits)


def _fit(held: Held, features_of: Callable[[Floats], Floats]) -> tuple[Floats, Effects]:
    effects = no_effects(answers_of(held.trials, held.train, features_of(START)))

    def loss(shape: Floats) -> float:
        nonlocal effects
        answers = answers_of(held.trials, held.train, features_of(shape))
        effects = newton_step(effects, answers, np.zeros(len(answers.right)), held.parameters.sd_easiness)
        outside = np.sum((shape - np.clip(shape, LEAST, MOST)) ** 2)
        return _penalised_loss(effects, answers) + 1e4 * float(outside)

    for _ in range(4):
        loss(START)
    shape = least(loss, START, SPREAD, TRIES)
    for _ in range(4):
        loss(shape)
    return shape, effects


def _penalised_loss(effects: Effects, answers: Answers) -> float:
    chance = sigma(effects.logits(answers))
    return float(-np.sum(np.log(np.where(answers.right > 0.0, chance, 1.0 - chance) + 1e-12)))
