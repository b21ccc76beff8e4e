"""Logistic regression on counts of earlier answers in widening windows of time.

Source: Choffin, B., Popineau, F., Bourda, Y., Vie, J.-J. (2019), DAS3H: modeling student learning and forgetting for
optimally scheduling distributed practice of skills, EDM 2019. Own small version: one skill a question.
"""

from __future__ import annotations

import numpy as np

from training.core.memory.evaluation.effects import Floats, answers_of, fit_effects
from training.core.memory.evaluation.protocols import Held
from training.core.memory.evaluation.rows import MS_PER_DAY
from training.core.memory.evaluation.running import with_running_shift
from training.core.memory.evaluation.showings import history_of

WINDOWS_DAYS = (1.0 / 24.0, 1.0, 7.0, 30.0, float("inf"))


def time_windows(held: Held) -> Floats:
    """Return chances from person, question and ln(1 + answers) and ln(1 + right answers) in each window."""
    features = window_counts(held)
    answers = answers_of(held.trials, held.train, features)
    effects = fit_effects(answers, np.zeros(len(answers.right)))
    return with_running_shift(held, effects.easiness[held.trials.question] + features @ effects.weights)


def window_counts(held: Held) -> Floats:
    """Return, per row, ln(1 + count) of earlier answers, then of right ones, within each window of plain days."""
    trials = held.trials
    history = history_of(held.showings.before)
    answered = (history >= 0) & trials.answered[history]
    lag_days = (trials.ms[:, None] - trials.ms[history]) / MS_PER_DAY
    counts = []
    for counted in (answered, answered & trials.right[history]):
        counts += [np.sum(counted & (lag_days <= window), axis=1) for window in WINDOWS_DAYS]
    return np.log1p(np.stack(counts, axis=1).astype(np.float64))
