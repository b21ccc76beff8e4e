"""Who is learnt from and who is scored: held-out people, or the later part of time."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from training.core.memory.evaluation.rows import BadRows, Trials
from training.core.memory.evaluation.showings import Showings, showings_of
from training.core.memory.parameters import DEFAULT, Parameters

STUDENT: Final = "student"
FORWARD: Final = "forward"
PROTOCOLS: Final = (STUDENT, FORWARD)
FORWARD_SHARE: Final = 0.70


@dataclass(frozen=True, slots=True, eq=False)
class Held:
    """Trials, of which the ``early`` ones may be learnt from and the answers among the others are scored.

    ``parameters`` has no slip: answers here are typed in, so the chance floor is 0 as well (memory model, section 2).
    """

    trials: Trials
    showings: Showings
    early: NDArray[np.bool_]
    parameters: Parameters

    @property
    def train(self) -> NDArray[np.bool_]:
        """Answers to learn from."""
        return self.trials.answered & self.early

    @property
    def scored(self) -> NDArray[np.bool_]:
        """Answers to score."""
        return self.trials.answered & ~self.early

    @property
    def late(self) -> NDArray[np.bool_]:
        """Scored answers to a question last shown more than half a day ago."""
        return self.scored & self.showings.late

    @property
    def day(self) -> NDArray[np.bool_]:
        """Scored answers that are late or the first to their question."""
        return self.scored & self.showings.day_scale


def held_out(trials: Trials, protocol: str, parameters: Parameters = DEFAULT) -> Held:
    """Return who is learnt from and scored under ``student`` (the split column) or ``forward`` (before and after 70 %).

    Forward learns from answers before the 70 % quantile of the instants of all answers and scores those after it. Under
    both, a person's own earlier answers are known when a later one is predicted. BadRows when a side is empty.
    """
    plain = replace(parameters, slip=0.0)
    early = ~trials.test if protocol == STUDENT else _before_cut(trials)
    held = Held(trials, showings_of(trials, plain), early, plain)
    for side, rows, remedy in (("to learn from", held.train, "train"), ("to score", held.late, "test")):
        if not rows.any():
            raise BadRows(f"no answers {side} under '{protocol}'; the file needs more {remedy} rows, days apart")
    return held


def _before_cut(trials: Trials) -> NDArray[np.bool_]:
    if not trials.answered.any():
        return trials.answered
    return trials.days < np.quantile(trials.days[trials.answered], FORWARD_SHARE)
