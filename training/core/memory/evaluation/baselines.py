"""The ways of predicting that the recall model is measured against, by the names used in reports."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from training.core.memory.evaluation.counted_forgetting import counted_forgetting
from training.core.memory.evaluation.effects import Floats
from training.core.memory.evaluation.full_history import full_history
from training.core.memory.evaluation.hidden_state import hidden_state
from training.core.memory.evaluation.plain_means import item_mean, person_and_item, person_running_mean
from training.core.memory.evaluation.protocols import Held
from training.core.memory.evaluation.time_windows import time_windows

BASELINES: Final[Mapping[str, Callable[[Held], Floats]]] = {
    "item mean": item_mean,
    "person running mean": person_running_mean,
    "person and item (Rasch)": person_and_item,
    "exponential forgetting with counted answers": counted_forgetting,
    "logistic regression with time windows": time_windows,
    "hidden-state model": hidden_state,
    "full-history performance equation": full_history,
}
"""Each returns the chance of a right answer for every row, from train rows and the person's earlier rows alone."""
