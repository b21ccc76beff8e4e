"""A search for the least of a function of a few numbers, without slopes.

Source: Nelder, J. A., Mead, R. (1965), A simplex method for function minimization, The Computer Journal 7.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from training.core.memory.evaluation.effects import Floats


def least(loss: Callable[[Floats], float], start: Floats, spread: Floats, tries: int) -> Floats:
    """Return the best point found from ``start`` (first steps of ``spread``) within ``tries`` calls of ``loss``."""
    points = np.vstack([start, start + np.diag(spread)])
    losses = np.array([loss(point) for point in points])
    used = len(points)
    while used < tries:
        order = np.argsort(losses)
        points, losses = points[order], losses[order]
        middle = points[:-1].mean(axis=0)
        point, value, calls = _moved(loss, points[-1], middle, losses)
        used += calls
        if value < losses[-1]:
            points[-1], losses[-1] = point, value
            continue
        points[1:] = 0.5 * (points[1:] + points[0])
        losses[1:] = [loss(point) for point in points[1:]]
        used += len(points) - 1
    return np.array(points[np.argmin(losses)])


def _moved(loss: Callable[[Floats], float], worst: Floats, middle: Floats, losses: Floats) -> tuple[Floats, float, int]:
    """Return the worst point mirrored in the middle of the others; further where that is best, nearer where not."""
    mirrored = 2.0 * middle - worst
    value = loss(mirrored)
    if losses[0] <= value < losses[-2]:
        return mirrored, value, 1
    other = (
        3.0 * middle - 2.0 * worst if value < losses[0] else 0.5 * (middle + _better(mirrored, value, worst, losses))
    )
    further = loss(other)
    return (other, further, 2) if further < value else (mirrored, value, 2)


def _better(mirrored: Floats, value: float, worst: Floats, losses: Floats) -> Floats:
    """Return the better of the mirrored and the worst point."""
    return mirrored if value < losses[-1] else worst
