"""Log loss, rank order and calibration of predicted chances."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from training.core.memory.evaluation.effects import Floats

LEAST_CHANCE = 1e-6
BINS = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """``n`` answers; ``log_loss`` in nats an answer; ``auc`` as a share; calibration error over 20 equal-count bins.

    ``ece`` is the mean distance between predicted and seen share right, ``binned_rmse`` its root mean square.
    """

    n: int
    log_loss: float
    auc: float
    ece: float
    binned_rmse: float

    def as_dict(self) -> dict[str, float | int | None]:
        """Return n, log_loss, auc and ece, rounded to five decimals; auc is None without both right and wrong."""
        return {
            "n": self.n,
            "log_loss": round(self.log_loss, 5),
            "auc": None if math.isnan(self.auc) else round(self.auc, 5),
            "ece": round(self.ece, 5),
        }


def score(chance: Floats, right: NDArray[np.bool_]) -> Score:
    """Return the score of chances 0 to 1 against what was answered; ValueError for none, or a chance that is none."""
    if len(chance) == 0 or not np.all((chance >= 0.0) & (chance <= 1.0)):
        raise ValueError("scoring needs at least one answer, and chances between 0 and 1")
    errors = _bin_errors(chance, right)
    return Score(
        n=len(chance),
        log_loss=log_loss(chance, right),
        auc=area_under_curve(chance, right),
        ece=float(np.mean(np.abs(errors))),
        binned_rmse=float(np.sqrt(np.mean(errors**2))),
    )


def log_loss(chance: Floats, right: NDArray[np.bool_]) -> float:
    """Return the mean of -ln of the chance given to what happened; chances are kept 1e-6 off 0 and 1."""
    inside = np.clip(chance, LEAST_CHANCE, 1.0 - LEAST_CHANCE)
    return float(-np.mean(np.log(np.where(right, inside, 1.0 - inside))))


def area_under_curve(chance: Floats, right: NDArray[np.bool_]) -> float:
    """Return the share of (right, wrong) pairs in the right order, ties half; NaN without both kinds."""
    rights = int(right.sum())
    wrongs = len(right) - rights
    if rights == 0 or wrongs == 0:
        return float("nan")
    _, place, count = np.unique(chance, return_inverse=True, return_counts=True)
    mean_rank = np.cumsum(count) - (count - 1) / 2.0
    above = mean_rank[place][right].sum() - rights * (rights + 1) / 2.0
    return float(above / (rights * wrongs))


def _bin_errors(chance: Floats, right: NDArray[np.bool_]) -> Floats:
    order = np.argsort(chance, kind="stable")
    bins = np.array_split(order, min(BINS, len(order)))
    return np.array([chance[rows].mean() - right[rows].mean() for rows in bins])
