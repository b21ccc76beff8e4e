"""How far a question parts those who know the rest from those who do not."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from training.core.questions.statistics.scores import BadScores, Scores

GROUP_SHARE = 0.27  # Kelley 1939: the upper and lower 27 in 100


def point_biserial(right: Sequence[float], measure: Sequence[float]) -> float | None:
    """(M1 - M0) / sigma * sqrt(p q), sigma of the population; right is 1 or 0.

    None where everybody is right, nobody is, or all measures are alike: then there is no correlation to speak of.
    """
    if len(right) != len(measure) or not right:
        raise BadScores("Give one measure for every answer, and at least one.")
    marks, values = np.asarray(right, dtype=np.float64), np.asarray(measure, dtype=np.float64)
    share = float(marks.mean())
    if share in (0.0, 1.0) or values.min() == values.max():
        return None
    apart = float(values[marks == 1].mean() - values[marks == 0].mean())
    return apart / float(values.std()) * math.sqrt(share * (1 - share))


def uncorrected_point_biserial(scores: Scores, question: int) -> float | None:
    """One question against the total that contains it. It flatters: the question correlates with itself."""
    return point_biserial(scores[:, question].tolist(), scores.sum(axis=1).tolist())


def corrected_point_biserial(scores: Scores, question: int) -> float | None:
    """One question against the total of the others."""
    rest = scores.sum(axis=1) - scores[:, question]
    return point_biserial(scores[:, question].tolist(), rest.tolist())


def d_from_counts(upper_right: float, lower_right: float, group: float) -> float:
    """D = (U - L) / n: right answers in an upper and a lower group of the same size."""
    if group <= 0 or min(upper_right, lower_right) < 0 or max(upper_right, lower_right) > group:
        raise BadScores("Give a group of at least one, and no more right answers than people in it.")
    return (upper_right - lower_right) / group


def d_index(scores: Scores, question: int, share: float = GROUP_SHARE) -> float:
    """D between the upper and lower ``share`` of people by total (group size rounded half up, at least one).

    Tie rule: people tied at the edge of a group share its remaining places equally, so that the order in which
    people stand in the table changes nothing.
    """
    if not 0 < share <= 0.5:
        raise BadScores("Give a share above 0 and at most one half, so that the groups do not overlap.")
    by_total, marks = scores.sum(axis=1), scores[:, question]
    group = max(1, math.floor(share * len(marks) + 0.5))
    upper = float((_places(-by_total, group) * marks).sum())
    lower = float((_places(by_total, group) * marks).sum())
    return d_from_counts(min(upper, group), min(lower, group), group)


def _places(rank: Scores, group: int) -> Scores:
    """How much of each person is in the group of the lowest ranks: 1, 0, or an equal part at a tied edge."""
    edge = np.sort(rank)[group - 1]
    inside, tied = rank < edge, rank == edge
    left = group - int(inside.sum())
    return np.where(inside, 1.0, np.where(tied, left / int(tied.sum()), 0.0))
