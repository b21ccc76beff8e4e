"""A person's shift learnt as their answers come in: what every published way here is given as well."""

from __future__ import annotations

import numpy as np

from training.core.memory.evaluation.effects import Floats, sigma
from training.core.memory.evaluation.protocols import Held

POINTS = 31
REACH_SD = 3.0


def with_running_shift(held: Held, logits: Floats) -> Floats:
    """Return each row's chance from its logit and the person's shift, known from their earlier answers of all kinds.

    The shift is a normal of ``sd_ability`` on 31 points, updated after each answer; chances are averaged over it.
    """
    trials = held.trials
    steps = np.linspace(-REACH_SD, REACH_SD, POINTS)
    shifts = steps * held.parameters.sd_ability
    log_weights = np.tile(-0.5 * steps**2, (trials.people, 1))
    chance = np.zeros(len(logits))
    for rows in trials.turns():
        person = trials.person[rows]
        at_points = logits[rows, None] + shifts
        weights = np.exp(log_weights[person] - log_weights[person].max(axis=1, keepdims=True))
        chance[rows] = np.sum(weights * sigma(at_points), axis=1) / weights.sum(axis=1)
        sign = np.where(trials.right[rows], -1.0, 1.0)[:, None]
        log_weights[person] -= np.where(trials.answered[rows, None], np.logaddexp(0.0, sign * at_points), 0.0)
    return chance
