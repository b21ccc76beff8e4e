"""How far a set of questions measures one thing: KR-20, KR-21, alpha, what a total is worth, and longer sets."""

from __future__ import annotations

import math

import numpy as np

from training.core.questions.statistics.scores import BadScores, Scores


def kr20(scores: Scores) -> float | None:
    """k/(k-1) (1 - sum(pq) / sigma^2), sigma^2 of the population as pq is; scores are 1 or 0.

    None where all totals are alike. Mixing pq with a sample variance would give another, higher figure.
    """
    if not np.isin(scores, (0.0, 1.0)).all():
        raise BadScores("KR-20 is for right (1) and wrong (0). Take Cronbach's alpha for other scores.")
    return cronbach_alpha(scores)


def kr21(scores: Scores) -> float | None:
    """k/(k-1) (1 - M (k - M) / (k sigma^2)): as KR-20, as if all questions were equally hard; never above it."""
    count, variance = _count(scores), _variance(scores)
    if variance is None:
        return None
    mean = float(scores.sum(axis=1).mean())
    return count / (count - 1) * (1 - mean * (count - mean) / (count * variance))


def cronbach_alpha(scores: Scores) -> float | None:
    """k/(k-1) (1 - sum of the questions' variances / variance of the totals); None where all totals are alike."""
    count, variance = _count(scores), _variance(scores)
    if variance is None:
        return None
    return count / (count - 1) * (1 - float(scores.var(axis=0).sum()) / variance)


def standard_error_of_measurement(scores: Scores) -> float | None:
    """sigma sqrt(1 - KR-20 or alpha): by how much a total may be off, in the same points; None as for alpha."""
    reliability, variance = cronbach_alpha(scores), _variance(scores)
    if reliability is None or variance is None:
        return None
    return math.sqrt(variance * max(0.0, 1 - reliability))


def spearman_brown(reliability: float, times_as_long: float) -> float:
    """The reliability of a set ``times_as_long`` with questions of the same sort: n r / (1 + (n - 1) r)."""
    if not -1 <= reliability <= 1 or times_as_long <= 0:
        raise BadScores("Give a reliability between -1 and 1, and a length above 0.")
    below = 1 + (times_as_long - 1) * reliability
    if below <= 0:
        raise BadScores("So low a reliability says nothing about a longer set.")
    return times_as_long * reliability / below


def _count(scores: Scores) -> int:
    count = int(scores.shape[1])
    if count < 2:
        raise BadScores("Reliability needs at least two questions.")
    return count


def _variance(scores: Scores) -> float | None:
    per_person = scores.sum(axis=1)
    return None if per_person.min() == per_person.max() else float(per_person.var())
