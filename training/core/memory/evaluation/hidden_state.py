"""The hidden-state model: each question is known or not, is learnt or forgotten at each showing, and slips or guesses.

Source: Corbett, A. T., Anderson, J. R. (1995), Knowledge tracing: modeling the acquisition of procedural knowledge,
User Modeling and User-Adapted Interaction 4, with forgetting between showings allowed. Fitted per question by
expectation and maximisation. Own small version.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from training.core.memory.evaluation.effects import Floats
from training.core.memory.evaluation.protocols import Held
from training.core.memory.evaluation.showings import places_of

ROUNDS = 40
WORTH = 4.0
"""How many expected events at the starting values each question's chances start with."""


@dataclass(frozen=True, slots=True, eq=False)
class Chances:
    """Per question: known at first, learnt, forgotten, guessed right, slipped; each of shape (questions,)."""

    known: Floats
    learn: Floats
    forget: Floats
    guess: Floats
    slip: Floats

    def of(self, question: NDArray[np.int64]) -> Chances:
        """Return the chances for each of these questions."""
        every = (self.known, self.learn, self.forget, self.guess, self.slip)
        return Chances(*(one[question] for one in every))


@dataclass(frozen=True, slots=True, eq=False)
class Runs:
    """The rows of each person and question in order, (pairs, longest), padded with -1."""

    rows: NDArray[np.int64]
    question: NDArray[np.int64]


def hidden_state(held: Held) -> Floats:
    """Return each row's chance of a right answer, filtered through the pair's earlier answers."""
    chances = _fit(held)
    every = runs_of(held, np.ones(len(held.early), dtype=bool))
    own = chances.of(every.question)
    known, _ = _forward(held, every, own)
    there = every.rows >= 0
    right = known * (1.0 - own.slip)[:, None] + (1.0 - known) * own.guess[:, None]
    chance = np.zeros(len(held.early))
    chance[every.rows[there]] = right[there]
    return chance


def runs_of(held: Held, wanted: NDArray[np.bool_]) -> Runs:
    """Return the runs of the wanted rows; a pair's wanted rows must come before its others."""
    trials, place = held.trials, places_of(held.showings.before)
    pair = trials.person * trials.questions + trials.question
    pairs, run = np.unique(pair[wanted], return_inverse=True)
    rows = np.full((len(pairs), int(place[wanted].max()) + 1), -1)
    rows[run, place[wanted]] = np.flatnonzero(wanted)
    return Runs(rows, pairs % trials.questions)


def _fit(held: Held) -> Chances:
    learnt = runs_of(held, held.early)
    start = Chances(*(np.full(held.trials.questions, chance) for chance in (0.3, 0.3, 0.05, 0.1, 0.1)))
    chances = start
    for _ in range(ROUNDS):
        chances = _round(held, learnt, chances, start)
    return chances


def _seen(held: Held, runs: Runs, own: Chances, column: int) -> tuple[Floats, Floats]:
    """Return the likelihood of what a column shows, if known and if not; 1 where nothing was answered."""
    rows = runs.rows[:, column]
    answered = (rows >= 0) & held.trials.answered[rows]
    right = held.trials.right[rows]
    if_known = np.where(right, 1.0 - own.slip, own.slip)
    if_not = np.where(right, own.guess, 1.0 - own.guess)
    return np.where(answered, if_known, 1.0), np.where(answered, if_not, 1.0)


def _forward(held: Held, runs: Runs, own: Chances) -> tuple[Floats, Floats]:
    """Return the chance of being known before and after each column's answer, (pairs, longest)."""
    before, after = np.empty(runs.rows.shape), np.empty(runs.rows.shape)
    known = own.known
    for column in range(runs.rows.shape[1]):
        if_known, if_not = _seen(held, runs, own, column)
        before[:, column] = known
        after[:, column] = known * if_known / (known * if_known + (1.0 - known) * if_not)
        known = after[:, column] * (1.0 - own.forget) + (1.0 - after[:, column]) * own.learn
    return before, after


def _round(held: Held, runs: Runs, chances: Chances, start: Chances) -> Chances:
    """Return better chances: expected events under the present ones, drawn to the starting values."""
    own = chances.of(runs.question)
    _, after = _forward(held, runs, own)
    smooth, learnt, forgotten = _backward(runs, own, after)
    there = runs.rows >= 0
    moves = there[:, 1:]
    answered, right = there & held.trials.answered[runs.rows], held.trials.right[runs.rows]

    def share(events: Floats, among: Floats, prior: Floats) -> Floats:
        size = held.trials.questions
        top = np.bincount(runs.question, events.sum(axis=1), size) + WORTH * prior
        return np.asarray(top / (np.bincount(runs.question, among.sum(axis=1), size) + WORTH))

    return Chances(
        known=share(smooth[:, :1], np.ones((len(smooth), 1)), start.known),
        learn=share(learnt * moves, (1.0 - smooth[:, :-1]) * moves, start.learn),
        forget=share(forgotten * moves, smooth[:, :-1] * moves, start.forget),
        guess=share((1.0 - smooth) * (answered & right), (1.0 - smooth) * answered, start.guess),
        slip=share(smooth * (answered & ~right), smooth * answered, start.slip),
    )


def _backward(runs: Runs, own: Chances, after: Floats) -> tuple[Floats, Floats, Floats]:
    """Return the chance of being known at each column given the whole run, and of learning and forgetting after it."""
    smooth = after.copy()
    learnt, forgotten = np.zeros_like(after[:, 1:]), np.zeros_like(after[:, 1:])
    for column in range(after.shape[1] - 2, -1, -1):
        now = after[:, column]
        next_known = now * (1.0 - own.forget) + (1.0 - now) * own.learn
        to_known = smooth[:, column + 1] / next_known
        to_not = (1.0 - smooth[:, column + 1]) / (1.0 - next_known)
        there = runs.rows[:, column + 1] >= 0
        learnt[:, column] = (1.0 - now) * own.learn * to_known
        forgotten[:, column] = now * own.forget * to_not
        known = now * (1.0 - own.forget) * to_known + forgotten[:, column]
        smooth[:, column] = np.where(there, known, now)
    return smooth, learnt, forgotten
