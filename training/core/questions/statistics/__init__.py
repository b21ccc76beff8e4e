"""What answers say about a question and about a set of questions (competence rules, section 11), said honestly.

Statistics point at questions to look at again. They never take a question with a life consequence out of the bank.
"""

from training.core.questions.statistics.advice import Advice, Weight, advice_on, weight_of
from training.core.questions.statistics.discrimination import (
    corrected_point_biserial,
    d_from_counts,
    d_index,
    point_biserial,
    uncorrected_point_biserial,
)
from training.core.questions.statistics.distractors import Distractor, distractor_efficiency, distractor_use
from training.core.questions.statistics.intervals import (
    Interval,
    correlation_interval,
    normal_interval,
    standard_error,
    wilson_interval,
)
from training.core.questions.statistics.items import ItemStatistics, item_statistics
from training.core.questions.statistics.reliability import (
    cronbach_alpha,
    kr20,
    kr21,
    spearman_brown,
    standard_error_of_measurement,
)
from training.core.questions.statistics.scores import BadScores, Scores, difficulty, right_or_wrong, scores_from, totals

__all__ = [
    "Advice",
    "BadScores",
    "Distractor",
    "Interval",
    "ItemStatistics",
    "Scores",
    "Weight",
    "advice_on",
    "corrected_point_biserial",
    "correlation_interval",
    "cronbach_alpha",
    "d_from_counts",
    "d_index",
    "difficulty",
    "distractor_efficiency",
    "distractor_use",
    "item_statistics",
    "kr20",
    "kr21",
    "normal_interval",
    "point_biserial",
    "right_or_wrong",
    "scores_from",
    "spearman_brown",
    "standard_error",
    "standard_error_of_measurement",
    "totals",
    "uncorrected_point_biserial",
    "weight_of",
    "wilson_interval",
]
