"""One run of the evaluation: the recall model, its lower bound, and what it is measured against."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from training.core.memory.evaluation.baselines import BASELINES
from training.core.memory.evaluation.coverage import Coverage, coverage
from training.core.memory.evaluation.effects import Floats
from training.core.memory.evaluation.metrics import Score, score
from training.core.memory.evaluation.odds_power import fit_easiness, predict
from training.core.memory.evaluation.protocols import Held, held_out
from training.core.memory.evaluation.rows import Trials
from training.core.memory.parameters import DEFAULT, Parameters

SEED = 20_260_101
"""The forecasts of one file come out the same at every run."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scores:
    """How one way of predicting did on late answers, and on late ones with first answers."""

    late: Score
    day: Score


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """The recall model's scores and coverage under one protocol, and the scores of the baselines by name."""

    parameters: Parameters
    protocol: str
    own: Scores
    ahead: Coverage
    baselines: dict[str, Scores]

    def as_dict(self) -> dict[str, Any]:
        """Return the report as plain values; None where nothing could be measured."""
        return {
            "model": f"odds-power hold, parameter set {self.parameters.number}",
            "protocol": self.protocol,
            **_plain(self.own),
            "below_5pct": None if self.ahead.people == 0 else round(self.ahead.below, 5),
            "baselines": {name: _plain(scores) for name, scores in self.baselines.items()},
        }


def evaluate(trials: Trials, protocol: str, parameters: Parameters = DEFAULT, seed: int = SEED) -> Report:
    """Return the report on these trials; BadRows when the protocol finds nothing to learn from or to score."""
    held = held_out(trials, protocol, parameters)
    effects = fit_easiness(held)
    return Report(
        parameters=parameters,
        protocol=protocol,
        own=scores_of(held, predict(held, effects).chance),
        ahead=coverage(held, effects, seed),
        baselines={name: scores_of(held, chances(held)) for name, chances in BASELINES.items()},
    )


def scores_of(held: Held, chance: Floats) -> Scores:
    """Return late and day-scale scores of the chances of all rows."""
    right = held.trials.right
    return Scores(
        late=score(chance[held.late], right[held.late]),
        day=score(chance[held.day], right[held.day]),
    )


def _plain(scores: Scores) -> dict[str, dict[str, float | int | None]]:
    return {"late": scores.late.as_dict(), "day": scores.day.as_dict()}
