"""How far a figure from few people may be off: intervals for a share and for a correlation."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

from training.core.questions.statistics.scores import BadScores

CONFIDENCE = 0.95


@dataclass(frozen=True, slots=True)
class Interval:
    """From low to high."""

    low: float
    high: float


def standard_error(share: float, answers: int) -> float:
    """sqrt(p q / n)."""
    _check(share, answers)
    return math.sqrt(share * (1 - share) / answers)


def normal_interval(share: float, answers: int, confidence: float = CONFIDENCE) -> Interval:
    """p -+ z sqrt(p q / n), cut at 0 and 1: too narrow for few answers or a share near the ends; show Wilson's."""
    half = _z(confidence) * standard_error(share, answers)
    return Interval(max(0.0, share - half), min(1.0, share + half))


def wilson_interval(right: int, answers: int, confidence: float = CONFIDENCE) -> Interval:
    """Wilson's interval for a share (Wilson 1927): keeps within 0 and 1, and says something of 0 or n right too."""
    if not 0 <= right <= answers:
        raise BadScores("Give no more right answers than answers.")
    share = right / answers if answers else 0.0
    _check(share, answers)
    z_sq = _z(confidence) ** 2
    middle = (share + z_sq / (2 * answers)) / (1 + z_sq / answers)
    half = math.sqrt(share * (1 - share) * z_sq / answers + z_sq**2 / (4 * answers**2)) / (1 + z_sq / answers)
    # At the ends the bound is exact; only rounding would miss it.
    return Interval(0.0 if right == 0 else middle - half, 1.0 if right == answers else middle + half)


def correlation_interval(correlation: float | None, people: int, confidence: float = CONFIDENCE) -> Interval | None:
    """Fisher's interval for a correlation; None where there is no correlation, or fewer than four people."""
    if correlation is None or people < 4:
        return None
    if not -1 <= correlation <= 1:
        raise BadScores("A correlation lies between -1 and 1.")
    if abs(correlation) == 1:
        return Interval(correlation, correlation)
    middle, half = math.atanh(correlation), _z(confidence) / math.sqrt(people - 3)
    return Interval(math.tanh(middle - half), math.tanh(middle + half))


def _z(confidence: float) -> float:
    if not 0 < confidence < 1:
        raise BadScores("Give a confidence between 0 and 1.")
    return NormalDist().inv_cdf(0.5 + confidence / 2)


def _check(share: float, answers: int) -> None:
    if answers < 1 or not 0 <= share <= 1:
        raise BadScores("Give at least one answer, and a share between 0 and 1.")
