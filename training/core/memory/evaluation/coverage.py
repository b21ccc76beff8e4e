"""Whether the lower bound is honest: forecasts, made before a gap, of how many of the next answers will be right."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from training.core.memory.evaluation.effects import Effects, Floats, sigma
from training.core.memory.evaluation.odds_power import Predicted, hold_after, memory_term, predict
from training.core.memory.evaluation.protocols import Held
from training.core.memory.evaluation.rows import MS_PER_DAY
from training.core.memory.parameters import SESSION_DAYS
from training.core.memory.posterior import grid_points

ANSWERS_AHEAD = 18
DRAWS = 4000
LOW_SHARE = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Coverage:
    """Of ``people`` with a gap: the share whose number right fell under the forecast's 5 % bound, or over its 95 %.

    ``bias`` is the mean forecast less the number right, in answers of ``ANSWERS_AHEAD``.
    """

    people: int
    below: float
    above: float
    bias: float


@dataclass(frozen=True, slots=True, eq=False)
class _Ahead:
    """One person's answers after the gap (rows), and the log weights and holds known before it."""

    rows: NDArray[np.int64]
    log_weights: Floats
    ln_hold: Floats


def coverage(held: Held, effects: Effects, seed: int) -> Coverage:
    """Return how often held-out people with a gap of over half a day fall outside their forecast.

    For each: the number right in the first 18 answers after their longest gap, forecast at its start by ``DRAWS``
    draws from the person's grid, easiness and pair; holds move as drawn answers would move them. NaN for nobody.
    """
    aheads = rows_ahead(held)
    starts = np.array([rows[0] for rows in aheads], dtype=np.int64)
    predicted = predict(held, effects, keep=starts)
    chance = np.random.default_rng(seed)
    low, high, bias = [], [], []
    for rows in aheads:
        drawn = _draw(held, effects, _known(predicted, rows), chance)
        seen = int(held.trials.right[rows].sum())
        low.append(seen < np.quantile(drawn, LOW_SHARE, method="inverted_cdf"))
        high.append(seen > np.quantile(drawn, 1.0 - LOW_SHARE, method="inverted_cdf"))
        bias.append(drawn.mean() - seen)
    if not aheads:
        return Coverage(people=0, below=float("nan"), above=float("nan"), bias=float("nan"))
    return Coverage(
        people=len(aheads), below=float(np.mean(low)), above=float(np.mean(high)), bias=float(np.mean(bias))
    )


def rows_ahead(held: Held) -> list[NDArray[np.int64]]:
    """Return, per held-out person with a gap of over half a day, the first 18 answers after the longest one.

    Left out are people with fewer answers after it, or with any of these not among the scored ones.
    """
    trials = held.trials
    found = []
    for rows in trials.by_person():
        gaps = np.diff(trials.ms[rows])
        if len(gaps) == 0 or gaps.max() <= SESSION_DAYS * MS_PER_DAY:
            continue
        after = rows[int(gaps.argmax()) + 1 :]
        ahead = after[trials.answered[after]][:ANSWERS_AHEAD]
        if len(ahead) == ANSWERS_AHEAD and held.scored[ahead].all():
            found.append(ahead)
    return found


def _known(predicted: Predicted, rows: NDArray[np.int64]) -> _Ahead:
    return _Ahead(rows, predicted.log_weights[int(rows[0])], predicted.ln_hold[rows])


def _draw(held: Held, effects: Effects, ahead: _Ahead, chance: np.random.Generator) -> NDArray[np.int64]:
    """Return ``DRAWS`` numbers right out of the answers ahead."""
    parameters, showings = held.parameters, held.showings
    abilities, fades, _ = grid_points(parameters)
    weights = np.exp(ahead.log_weights - ahead.log_weights.max())
    points = chance.choice(len(weights), size=DRAWS, p=weights / weights.sum())
    off = _offs(held, effects, ahead, chance)
    holds: dict[int, Floats] = {}
    right = np.zeros(DRAWS, dtype=np.int64)
    for place, row in enumerate(ahead.rows.tolist()):
        question = int(held.trials.question[row])
        hold = holds.get(question, np.full(DRAWS, ahead.ln_hold[place]))
        days = np.full(DRAWS, showings.interval_days[row])
        recalled = sigma(abilities[points] + off[question] + memory_term(hold, days, fades[points], parameters))
        drawn = chance.random(DRAWS) < recalled
        holds[question] = hold_after(hold, recalled, drawn, np.ones(DRAWS, dtype=bool), parameters)
        right += drawn
    return right


def _offs(held: Held, effects: Effects, ahead: _Ahead, chance: np.random.Generator) -> dict[int, Floats]:
    """Return, per question ahead, drawn easiness with the person's own spread on it."""
    offs = {}
    for question in np.unique(held.trials.question[ahead.rows]).tolist():
        spread = np.sqrt(effects.easiness_var[question] + held.parameters.sd_pair**2)
        offs[question] = effects.easiness[question] + spread * chance.standard_normal(DRAWS)
    return offs
