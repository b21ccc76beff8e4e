"""A table of scores, one row a person and one column a question, and what each column comes to."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Scores = npt.NDArray[np.float64]


class BadScores(ValueError):
    """Scores from which nothing can be computed; the message says what is wrong with them."""


def scores_from(rows: Sequence[Sequence[float]]) -> Scores:
    """The table with these rows. BadScores when it is empty, ragged, or holds something other than finite numbers."""
    if not rows or not rows[0]:
        raise BadScores("There are no scores. Give at least one person and one question.")
    if len({len(row) for row in rows}) != 1:
        raise BadScores("Some people have more scores than others. Give everybody a score on the same questions.")
    table = np.asarray(rows, dtype=np.float64)
    if not np.isfinite(table).all():
        raise BadScores("Some scores are no numbers. Leave out people who did not answer every question.")
    return table


def right_or_wrong(rows: Sequence[Sequence[float]]) -> Scores:
    """As ``scores_from``, and refuses anything but 1 (right) and 0 (wrong)."""
    table = scores_from(rows)
    if not np.isin(table, (0.0, 1.0)).all():
        raise BadScores("Some scores are neither 1 (right) nor 0 (wrong).")
    return table


def difficulty(scores: Scores) -> tuple[float, ...]:
    """The share of people who were right, question by question (p; a high one is an easy question)."""
    return tuple(float(share) for share in scores.mean(axis=0))


def totals(scores: Scores) -> tuple[float, ...]:
    """Each person's total."""
    return tuple(float(total) for total in scores.sum(axis=1))
