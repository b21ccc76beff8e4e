"""The recall model of this package over all trials at once: holds, easiness, person posteriors, predictive means.

Source: the memory model, sections 5 and 9 (held-out protocol). Rows are worked turn by turn, everybody at once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from training.core.memory.evaluation.effects import SWEEPS, Effects, Floats, answers_of, newton_step, no_effects, sigma
from training.core.memory.evaluation.protocols import Held
from training.core.memory.parameters import Parameters
from training.core.memory.posterior import grid_points


@dataclass(frozen=True, slots=True, eq=False)
class Predicted:
    """Per row: the chance of a right answer, and ln hold just before it (NaN: never shown).

    ``log_weights`` of shape (rows, grid points) are kept only for the rows asked for (``keep``), from before them.
    """

    chance: Floats
    ln_hold: Floats
    log_weights: dict[int, Floats]


@dataclass(frozen=True, slots=True, kw_only=True)
class SlowHold:
    """A second hold, in days, that is added to the first: it starts at ``ln_start``, and right answers more than half a
    day after the last lengthen it by ``gain`` x doubt (tried in ``ideas``; not part of the recall model).
    """

    ln_start: float
    gain: float


def memory_term(ln_hold: Floats, interval_days: Floats, fade: Floats | float, parameters: Parameters) -> Floats:
    """Return b - f ln(1 + tau / (S e^phi)), or 0 where the question was never shown (NaN)."""
    elapsed = interval_days * np.exp(-(ln_hold + fade))
    return np.asarray(np.nan_to_num(parameters.b - parameters.fade * np.log1p(elapsed), nan=0.0))


def hold_after(
    ln_hold: Floats, recalled: Floats, right: NDArray[np.bool_], answered: NDArray[np.bool_], parameters: Parameters
) -> Floats:
    """Return ln hold after each showing; reading alone only starts a hold. Chance floor and slip are 0 here."""
    doubt = 1.0 - recalled
    first = np.where(right, parameters.first_right, parameters.first_wrong)
    by_right = parameters.right_base + parameters.right_gain * doubt
    by_wrong = parameters.wrong_base + parameters.wrong_gain * doubt
    later = ln_hold + np.where(right, by_right, by_wrong)
    never = np.isnan(ln_hold)
    moved = np.where(never, first, later)
    return np.where(answered, moved, np.where(never, parameters.first_read, ln_hold))


def fit_easiness(held: Held) -> Effects:
    """Return easiness from the day-scale answers to learn from: ridge Newton, person shifts alongside, from 0."""
    rows = held.train & held.showings.day_scale
    trials = held.trials
    answers = answers_of(trials, rows)
    effects = no_effects(answers)
    for _ in range(SWEEPS):
        off = effects.shift[trials.person] + effects.easiness[trials.question]
        term = _memory_terms(held, off)[rows]
        effects = newton_step(effects, answers, term, held.parameters.sd_easiness)
    return effects


def _memory_terms(held: Held, off: Floats) -> Floats:
    """Return every row's memory term when ability plus easiness is ``off`` per row and fade is 0."""
    trials, parameters = held.trials, held.parameters
    holds = np.full((trials.people, trials.questions), np.nan)
    terms = np.zeros(len(off))
    for rows in trials.turns():
        place = trials.person[rows], trials.question[rows]
        terms[rows] = memory_term(holds[place], held.showings.interval_days[rows], 0.0, parameters)
        recalled = sigma(off[rows] + terms[rows])
        holds[place] = hold_after(holds[place], recalled, trials.right[rows], trials.answered[rows], parameters)
    return terms


def predict(
    held: Held, effects: Effects, keep: NDArray[np.int64] | None = None, slow: SlowHold | None = None
) -> Predicted:
    """Return predictive means of all rows, each from the person's earlier answers; easiness is given.

    The 15 x 15 posterior counts day-scale answers only, the holds move with every showing, at the posterior mean.
    """
    people = _People(held, effects) if slow is None else _TwoHolds(held, effects, slow)
    kept = set() if keep is None else set(keep.tolist())
    chance, ln_hold, weights = np.zeros(len(held.scored)), np.zeros(len(held.scored)), {}
    for rows in held.trials.turns():
        weights.update({row: people.weights_of(row) for row in rows.tolist() if row in kept})
        chance[rows], ln_hold[rows] = people.turn(rows)
    return Predicted(chance, ln_hold, weights)


class _People:
    """Everybody's holds and grid while their answers are read in turn."""

    def __init__(self, held: Held, effects: Effects) -> None:
        self.held, self.effects, self.parameters = held, effects, held.parameters
        self.ability, self.fade, log_prior = grid_points(held.parameters)
        self.log_weights = np.tile(log_prior, (held.trials.people, 1))
        self.holds = np.full((held.trials.people, held.trials.questions), np.nan)

    def weights_of(self, row: int) -> Floats:
        """Return a copy of the log weights of the person of a row."""
        return np.array(self.log_weights[self.held.trials.person[row]])

    def turn(self, rows: NDArray[np.int64]) -> tuple[Floats, Floats]:
        """Return chance and ln hold before the answers of these rows, then learn from them."""
        trials, interval_days = self.held.trials, self.held.showings.interval_days[rows]
        person, question = trials.person[rows], trials.question[rows]
        easiness, ln_hold = self.effects.easiness[question], self._held(person, question)
        weights = _weights(self.log_weights[person])
        logits = self._grid_logits(easiness, ln_hold, interval_days)
        chance = self._predictive_mean(logits, weights, question)
        at_mean = weights @ self.ability + easiness
        at_mean += memory_term(ln_hold, interval_days, weights @ self.fade, self.parameters)
        self._move(rows, sigma(at_mean))
        self._learn(rows, logits)
        return chance, ln_hold

    def _held(self, person: NDArray[np.int64], question: NDArray[np.int64]) -> Floats:
        return np.asarray(self.holds[person, question])

    def _move(self, rows: NDArray[np.int64], recalled: Floats) -> None:
        trials = self.held.trials
        place = trials.person[rows], trials.question[rows]
        self.holds[place] = hold_after(
            self.holds[place], recalled, trials.right[rows], trials.answered[rows], self.parameters
        )

    def _grid_logits(self, easiness: Floats, ln_hold: Floats, interval_days: Floats) -> Floats:
        term = memory_term(ln_hold[:, None], interval_days[:, None], self.fade, self.parameters)
        return self.ability + easiness[:, None] + term

    def _predictive_mean(self, logits: Floats, weights: Floats, question: NDArray[np.int64]) -> Floats:
        """Return sigma(m / sqrt(1 + pi v / 8)), v with pair and easiness (memory model, section 5, band)."""
        mean = np.sum(weights * logits, axis=1)
        variance = np.sum(weights * (logits - mean[:, None]) ** 2, axis=1)
        variance += self.parameters.sd_pair**2 + self.effects.easiness_var[question]
        return sigma(mean / np.sqrt(1.0 + np.pi * variance / 8.0))

    def _learn(self, rows: NDArray[np.int64], logits: Floats) -> None:
        counts = (self.held.trials.answered & self.held.showings.day_scale)[rows]
        sign = np.where(self.held.trials.right[rows], -1.0, 1.0)[counts, None]
        person = self.held.trials.person[rows][counts]
        self.log_weights[person] -= np.logaddexp(0.0, sign * logits[counts])


class _TwoHolds(_People):
    """Everybody with a slow hold beside the first."""

    def __init__(self, held: Held, effects: Effects, slow: SlowHold) -> None:
        super().__init__(held, effects)
        self.slow = slow
        self.slow_holds = np.full(self.holds.shape, slow.ln_start)

    def _held(self, person: NDArray[np.int64], question: NDArray[np.int64]) -> Floats:
        first = self.holds[person, question]
        both = np.logaddexp(np.nan_to_num(first), self.slow_holds[person, question])
        return np.where(np.isnan(first), np.nan, both)

    def _move(self, rows: NDArray[np.int64], recalled: Floats) -> None:
        super()._move(rows, recalled)
        trials, late = self.held.trials, self.held.showings.late
        moved = (trials.right & trials.answered & late)[rows]
        self.slow_holds[trials.person[rows], trials.question[rows]] += np.where(
            moved, self.slow.gain * (1.0 - recalled), 0.0
        )


def _weights(log_weights: Floats) -> Floats:
    weights = np.exp(log_weights - log_weights.max(axis=1, keepdims=True))
    return np.asarray(weights / weights.sum(axis=1, keepdims=True))
