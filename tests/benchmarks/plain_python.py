"""The posterior update of one answer in plain Python: what the array version is compared with."""

from __future__ import annotations

import math
from itertools import product

from training.core.memory.parameters import DEFAULT, Parameters
from training.core.memory.posterior import POINTS, REACH_SD

STEPS = [-REACH_SD + 2 * REACH_SD * step / (POINTS - 1) for step in range(POINTS)]


def grid(parameters: Parameters = DEFAULT) -> tuple[list[tuple[float, float]], list[float]]:
    """Return the 225 points (ability, fade) and their log prior weights."""
    pairs = list(product(STEPS, STEPS))
    points = [(across * parameters.sd_ability, along * parameters.sd_fade) for across, along in pairs]
    return points, [-0.5 * (across * across + along * along) for across, along in pairs]


def updated(
    points: list[tuple[float, float]],
    log_weights: list[float],
    right: bool,
    chance_floor: float,
    ln_hold: float,
    interval_days: float,
    parameters: Parameters = DEFAULT,
) -> tuple[list[float], tuple[float, float, float, float, float]]:
    """Return log weights (largest 0) and means, variances and covariance, as ``posterior.observe`` does."""
    scale, moved = 1.0 - chance_floor - parameters.slip, []
    for (ability, fade), log_weight in zip(points, log_weights, strict=True):
        elapsed = interval_days * math.exp(-ln_hold - fade)
        logit = ability + parameters.b - parameters.fade * math.log1p(elapsed)
        chance = chance_floor + scale / (1.0 + math.exp(-logit))
        moved.append(log_weight + math.log(chance if right else 1.0 - chance))
    largest = max(moved)
    moved = [log_weight - largest for log_weight in moved]
    return moved, _moments(points, [math.exp(log_weight) for log_weight in moved])


def _moments(points: list[tuple[float, float]], weights: list[float]) -> tuple[float, float, float, float, float]:
    total = sum(weights)
    ability = sum(weight * point[0] for weight, point in zip(weights, points, strict=True)) / total
    fade = sum(weight * point[1] for weight, point in zip(weights, points, strict=True)) / total
    ability2 = sum(weight * point[0] * point[0] for weight, point in zip(weights, points, strict=True)) / total
    fade2 = sum(weight * point[1] * point[1] for weight, point in zip(weights, points, strict=True)) / total
    both = sum(weight * point[0] * point[1] for weight, point in zip(weights, points, strict=True)) / total
    return ability, fade, ability2 - ability * ability, fade2 - fade * fade, both - ability * fade
