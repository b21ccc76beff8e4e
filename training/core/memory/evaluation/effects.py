"""Person shifts, easiness and feature weights by ridge Newton over arrays: the fit that most ways here share."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from training.core.memory.evaluation.rows import Trials
from training.core.memory.parameters import DEFAULT

Floats = NDArray[np.float64]
SWEEPS = 8
SD_FEATURE = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class Answers:
    """The answers to fit: who, which question, right (1.0) or wrong (0.0), and features of shape (answers, k)."""

    person: NDArray[np.int64]
    question: NDArray[np.int64]
    right: Floats
    features: Floats
    people: int
    questions: int


@dataclass(frozen=True, slots=True, eq=False)
class Effects:
    """Logits: a shift per person, an easiness per question with its variance, and a weight per feature."""

    shift: Floats
    easiness: Floats
    weights: Floats
    easiness_var: Floats

    def logits(self, answers: Answers) -> Floats:
        """Return the logit of each answer without its memory term."""
        own = self.shift[answers.person] + self.easiness[answers.question]
        return own + answers.features @ self.weights


def answers_of(trials: Trials, rows: NDArray[np.bool_], features: Floats | None = None) -> Answers:
    """Return the answers of these rows; ``features`` has a line for every row of the trials (None: no features)."""
    return Answers(
        person=trials.person[rows],
        question=trials.question[rows],
        right=trials.right[rows].astype(np.float64),
        features=np.empty((int(rows.sum()), 0)) if features is None else features[rows],
        people=trials.people,
        questions=trials.questions,
    )


def no_effects(answers: Answers) -> Effects:
    """Return effects of 0, where every fit starts."""
    width = answers.features.shape[1]
    questions = np.zeros(answers.questions)
    return Effects(np.zeros(answers.people), questions, np.zeros(width), questions + DEFAULT.sd_easiness**2)


def fit_effects(answers: Answers, offset: Floats, sd_easiness: float = DEFAULT.sd_easiness) -> Effects:
    """Return the effects after ``SWEEPS`` Newton steps from 0, with a fixed ``offset`` logit per answer."""
    effects = no_effects(answers)
    for _ in range(SWEEPS):
        effects = newton_step(effects, answers, offset, sd_easiness)
    return effects


def newton_step(effects: Effects, answers: Answers, offset: Floats, sd_easiness: float) -> Effects:
    """Return the effects after one Newton step on the ridge log likelihood (normal priors around 0)."""
    chance = sigma(effects.logits(answers) + offset)
    values = np.concatenate([effects.shift, effects.easiness, effects.weights])
    ridge = _ridge(answers, sd_easiness)
    slope = _sums(answers, answers.right - chance) - ridge * values
    curvature = _curvature(answers, chance * (1.0 - chance)) + np.diag(ridge)
    inverse = np.linalg.inv(curvature)
    moved = values + inverse @ slope
    shift, easiness, weights = np.split(moved, [answers.people, answers.people + answers.questions])
    spread = np.diag(inverse)[answers.people : answers.people + answers.questions]
    return Effects(shift, easiness, weights, spread.copy())


def sigma(logits: Floats) -> Floats:
    """Return 1 / (1 + exp(-logits)), quiet at the ends."""
    return np.asarray(1.0 / (1.0 + np.exp(-np.clip(logits, -500.0, 500.0))))


def _ridge(answers: Answers, sd_easiness: float) -> Floats:
    parts = (
        (answers.people, DEFAULT.sd_ability),
        (answers.questions, sd_easiness),
        (answers.features.shape[1], SD_FEATURE),
    )
    return np.concatenate([np.full(size, sd**-2.0) for size, sd in parts])


def _sums(answers: Answers, weight: Floats) -> Floats:
    """Return the sum of ``weight`` over each person, each question and each feature."""
    by_person = np.bincount(answers.person, weight, answers.people)
    by_question = np.bincount(answers.question, weight, answers.questions)
    return np.concatenate([by_person, by_question, answers.features.T @ weight])


def _curvature(answers: Answers, weight: Floats) -> Floats:
    people, questions = answers.people, answers.questions
    own = people + questions
    matrix = np.diag(_sums(answers, weight))
    pair = answers.person * questions + answers.question
    crossed = np.bincount(pair, weight, people * questions).reshape(people, questions)
    matrix[:people, people:own], matrix[people:own, :people] = crossed, crossed.T
    for place, feature in enumerate(answers.features.T, start=own):
        matrix[:, place] = _sums(answers, weight * feature)
        matrix[place, :] = matrix[:, place]
    return matrix
