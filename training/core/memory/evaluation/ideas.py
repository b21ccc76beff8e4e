"""Other fixed-size states tried beside the recall model, by four-fold cross-validation over the people learnt from.

Each idea keeps at most 32 bytes a person and question; what it needs of the past is a number that one more showing can
update. People held out for the final score are never looked at here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from training.core.memory.evaluation.effects import Floats, sigma
from training.core.memory.evaluation.full_history import LEAST, MOST, SECONDS_PER_DAY, full_history, with_best_shape
from training.core.memory.evaluation.metrics import Score, log_loss, score
from training.core.memory.evaluation.odds_power import Predicted, SlowHold, fit_easiness, predict
from training.core.memory.evaluation.protocols import Held
from training.core.memory.evaluation.rows import Trials
from training.core.memory.evaluation.showings import history_of, showings_of
from training.core.memory.parameters import DEFAULT, Parameters

FOLDS: Final = 4
NEWTON_STEPS: Final = 12
RIDGE: Final = 1e-3
SLOW: Final = tuple(SlowHold(ln_start=start, gain=gain) for start in (-7.0, -5.5, -4.0) for gain in (1.0, 2.5, 5.0))
SD_DECAY: Final = (0.05, 0.1, 0.2, 0.4)


@dataclass(frozen=True, slots=True, eq=False)
class Fold:
    """Trials of one fold's people and the others', and what the recall model says of every row."""

    held: Held
    own: Predicted

    @property
    def learnt(self) -> NDArray[np.bool_]:
        """Late answers of the people learnt from: what an idea may be fitted to."""
        return self.held.train & self.held.showings.late

    @property
    def logits(self) -> Floats:
        """The recall model's chances as logits."""
        return logit(self.own.chance)


Idea = Callable[[Fold], Floats]


def tried(trials: Trials, seed: int, parameters: Parameters = DEFAULT) -> dict[str, Score]:
    """Return each idea's score on the late answers of all four folds together, by name; the model's own comes first."""
    right: list[NDArray[np.bool_]] = []
    chances: dict[str, list[Floats]] = {name: [] for name in IDEAS}
    for fold in folds_of(trials, seed, parameters):
        late = fold.held.late
        right.append(fold.held.trials.right[late])
        for name, idea in IDEAS.items():
            chances[name].append(idea(fold)[late])
    return {name: score(np.concatenate(parts), np.concatenate(right)) for name, parts in chances.items()}


def folds_of(trials: Trials, seed: int, parameters: Parameters = DEFAULT) -> Iterator[Fold]:
    """Give the folds over the people who are not held out: each in turn is scored, the others are learnt from."""
    known = only(trials, ~trials.test)
    plain = replace(parameters, slip=0.0)
    of_person = np.random.default_rng(seed).permutation(known.people) % FOLDS
    for number in range(FOLDS):
        held = Held(known, showings_of(known, plain), of_person[known.person] != number, plain)
        yield Fold(held, predict(held, fit_easiness(held)))


def only(trials: Trials, rows: NDArray[np.bool_]) -> Trials:
    """Return the trials of these rows, which are whole people, numbered from 0 again."""
    _, person = np.unique(trials.person[rows], return_inverse=True)
    return Trials(
        person=person.astype(np.int64),
        question=trials.question[rows],
        turn=trials.turn[rows],
        ms=trials.ms[rows],
        answered=trials.answered[rows],
        right=trials.right[rows],
        test=trials.test[rows],
        latency_s=trials.latency_s[rows],
        people=int(person.max()) + 1,
        questions=trials.questions,
    )


def with_slow_hold(fold: Fold) -> Floats:
    """A second hold that only answers more than half a day apart move, added to the first in days."""
    effects = fit_easiness(fold.held)
    found = [predict(fold.held, effects, slow=slow).chance for slow in SLOW]
    return min(found, key=lambda chance: log_loss(chance[fold.learnt], fold.held.trials.right[fold.learnt]))


def with_decay_by_question(fold: Fold) -> Floats:
    """A decay of each question's own beside the common one, shrunk; its spread is chosen on every second person."""
    faded = _faded(fold)
    even = fold.held.trials.person % 2 == 0
    right = fold.held.trials.right

    def logits(rows: NDArray[np.bool_], sd: float) -> Floats:
        own = _decays(fold, faded, rows, sd)
        return fold.logits - own[fold.held.trials.question] * faded

    def loss(sd: float) -> float:
        rows = fold.learnt & ~even
        return log_loss(sigma(logits(fold.learnt & even, sd)[rows]), right[rows])

    return sigma(logits(fold.learnt, min(SD_DECAY, key=loss)))


def with_two_moment_trace(fold: Fold) -> Floats:
    """The model's logit and that of a power-law trace from counts and two moments of the times, weighted."""
    rows = np.stack([np.ones(len(fold.learnt)), fold.logits, logit(two_moment_trace(fold))], axis=1)
    return sigma(rows @ _regression(rows[fold.learnt], fold.held.trials.right[fold.learnt].astype(np.float64)))


def two_moment_trace(fold: Fold) -> Floats:
    """The performance equation from counts of showings, two moments of their times and their mean spacing alone."""
    moments = _moments(fold.held)

    def features_of(shape: Floats) -> Floats:
        return np.stack([moments.trace(shape), (moments.number > 0.0).astype(np.float64)], axis=1)

    return with_best_shape(fold.held, features_of)


def weighed_anew(fold: Fold) -> Floats:
    """The model's logit with a weight and a shift of its own: how much of a gain is mere calibration."""
    learnt = fold.learnt
    rows = np.stack([np.ones(len(learnt)), fold.logits], axis=1)
    return sigma(rows @ _regression(rows[learnt], fold.held.trials.right[learnt].astype(np.float64)))


IDEAS: Final[dict[str, Idea]] = {
    "recall as here": lambda fold: fold.own.chance,
    "the same, weighed anew": weighed_anew,
    "with a second, slow hold": with_slow_hold,
    "with a decay by question": with_decay_by_question,
    "a two-moment power-law trace alone": two_moment_trace,
    "averaged with a two-moment power-law trace": with_two_moment_trace,
    "full-history performance equation": lambda fold: full_history(fold.held),
}
"""The last keeps every showing; it is the mark to reach, not an idea."""


@dataclass(frozen=True, slots=True, eq=False)
class Moments:
    """Per row, of the earlier showings: how many, how many of them wrong and read, seconds since the last, mean and
    spread of their ages, mean spacing. Each showing updates all of them without the others being kept.
    """

    number: Floats
    wrong: Floats
    read: Floats
    last_s: Floats
    mean_s: Floats
    spread_s: Floats
    spacing: Floats

    def trace(self, shape: Floats) -> Floats:
        """Return N^c T^-d; ages are taken to be the last one and two more, a spread to either side of the mean."""
        recent, power, decay, by_spacing, wrong, read = np.clip(shape, LEAST, MOST)
        near_s = np.maximum(self.mean_s - self.spread_s, self.last_s)
        ages_s = np.stack([self.last_s, near_s, self.mean_s + self.spread_s])
        weights = ages_s**-recent
        age_s = np.sum(weights * ages_s, axis=0) / np.sum(weights, axis=0)
        count = self.number - (1.0 - wrong) * self.wrong - (1.0 - read) * self.read
        grown = np.maximum(count, 1e-3) ** power * age_s ** -(decay + by_spacing * self.spacing)
        return np.where(self.number > 0.0, grown, 0.0)


def _moments(held: Held) -> Moments:
    clock, trials = held.showings.clock, held.trials
    history = history_of(held.showings.before)
    there = history >= 0
    age_s = np.where(there, np.maximum((clock[:, None] - clock[history]) * SECONDS_PER_DAY, 1.0), 0.0)
    number = there.sum(axis=1).astype(np.float64)
    count = np.maximum(number, 1.0)
    mean_s = np.maximum(age_s.sum(axis=1) / count, 1.0)
    spread_s = np.sqrt(np.maximum((age_s**2).sum(axis=1) / count - mean_s**2, 0.0))
    lags_s = np.where(there[:, 1:], age_s[:, 1:] - age_s[:, :-1], 0.0)
    spacing = np.sum(there[:, 1:] / np.log(np.maximum(lags_s, 0.0) + np.e), axis=1) / np.maximum(number - 1.0, 1.0)
    wrong = (there & trials.answered[history] & ~trials.right[history]).sum(axis=1).astype(np.float64)
    read = (there & ~trials.answered[history]).sum(axis=1).astype(np.float64)
    return Moments(number, wrong, read, np.maximum(age_s[:, 0], 1.0), mean_s, spread_s, spacing)


def _faded(fold: Fold) -> Floats:
    """Return ln(1 + days / hold) per row, 0 where the question was never shown."""
    return np.nan_to_num(np.log1p(fold.held.showings.interval_days * np.exp(-fold.own.ln_hold)))


def _decays(fold: Fold, faded: Floats, rows: NDArray[np.bool_], sd: float) -> Floats:
    """Return each question's own decay: Newton on its late answers, around 0 with this spread."""
    question, feature = fold.held.trials.question[rows], -faded[rows]
    right, offset = fold.held.trials.right[rows], fold.logits[rows]
    own = np.zeros(fold.held.trials.questions)
    for _ in range(NEWTON_STEPS):
        chance = sigma(offset + own[question] * feature)
        slope = np.bincount(question, (right - chance) * feature, len(own)) - own / sd**2
        own += slope / (np.bincount(question, chance * (1.0 - chance) * feature**2, len(own)) + sd**-2)
    return own


def _regression(rows: Floats, right: Floats) -> Floats:
    """Return the weights of a logistic regression with next to no ridge."""
    weights = np.zeros(rows.shape[1])
    for _ in range(NEWTON_STEPS):
        chance = sigma(rows @ weights)
        curvature = (rows * (chance * (1.0 - chance))[:, None]).T @ rows + RIDGE * np.eye(len(weights))
        weights = weights + np.linalg.solve(curvature, rows.T @ (right - chance) - RIDGE * weights)
    return weights


def logit(chance: Floats) -> Floats:
    """Return ln(p / (1 - p)), kept finite."""
    sure = np.clip(chance, 1e-9, 1.0 - 1e-9)
    return np.asarray(np.log(sure / (1.0 - sure)))
