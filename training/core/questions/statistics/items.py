"""The figures of one question together, with their intervals and what may be done with them."""

from __future__ import annotations

from dataclasses import dataclass

from training.core.questions.kinds import Consequence
from training.core.questions.statistics.advice import Advice, Weight, advice_on, weight_of
from training.core.questions.statistics.discrimination import (
    corrected_point_biserial,
    d_index,
    uncorrected_point_biserial,
)
from training.core.questions.statistics.intervals import Interval, correlation_interval, wilson_interval
from training.core.questions.statistics.scores import Scores


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemStatistics:
    """One question over a table of scores. A correlation that does not exist is None, never 0."""

    answers: int
    share_right: float
    share_interval: Interval
    discrimination: float | None
    discrimination_interval: Interval | None
    uncorrected: float | None
    d: float
    weight: Weight
    advice: Advice


def item_statistics(scores: Scores, question: int, consequence: Consequence) -> ItemStatistics:
    """The figures of one column of right (1) and wrong (0)."""
    answers, right = len(scores), int(scores[:, question].sum())
    discrimination = corrected_point_biserial(scores, question)
    return ItemStatistics(
        answers=answers,
        share_right=right / answers,
        share_interval=wilson_interval(right, answers),
        discrimination=discrimination,
        discrimination_interval=correlation_interval(discrimination, answers),
        uncorrected=uncorrected_point_biserial(scores, question),
        d=d_index(scores, question),
        weight=weight_of(answers),
        advice=advice_on(answers, right / answers, discrimination, consequence),
    )
