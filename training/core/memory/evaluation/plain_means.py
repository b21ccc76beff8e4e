"""The ways of predicting that remember nothing of when: means, and person with question."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from training.core.memory.evaluation.effects import Floats, answers_of, fit_effects
from training.core.memory.evaluation.protocols import Held
from training.core.memory.evaluation.running import with_running_shift

WORTH_ANSWERS = 2.0
"""How many answers at the overall mean a mean starts with."""


def item_mean(held: Held) -> Floats:
    """Return the share right of each row's question among the answers learnt from, drawn to the overall share."""
    return _shares(held, held.train)[held.trials.question]


def person_running_mean(held: Held) -> Floats:
    """Return the share right of each person's own answers so far, drawn to the overall share learnt from."""
    trials, overall = held.trials, overall_share(held)
    rights, answers = np.zeros(trials.people), np.zeros(trials.people)
    chance = np.zeros(len(trials.ms))
    for rows in trials.turns():
        person = trials.person[rows]
        chance[rows] = (rights[person] + WORTH_ANSWERS * overall) / (answers[person] + WORTH_ANSWERS)
        rights[person] += trials.right[rows]
        answers[person] += trials.answered[rows]
    return chance


def person_and_item(held: Held) -> Floats:
    """Return chances from the person's running shift and the question's easiness alone (Rasch).

    Source: Rasch, G. (1960), Probabilistic models for some intelligence and attainment tests.
    """
    answers = answers_of(held.trials, held.train)
    effects = fit_effects(answers, np.zeros(len(answers.right)))
    return with_running_shift(held, effects.easiness[held.trials.question])


def overall_share(held: Held) -> float:
    """Return the share right among the answers learnt from."""
    return float(held.trials.right[held.train].mean())


def _shares(held: Held, rows: NDArray[np.bool_]) -> Floats:
    question, size = held.trials.question[rows], held.trials.questions
    rights = np.bincount(question, held.trials.right[rows], size)
    share = (rights + WORTH_ANSWERS * overall_share(held)) / (np.bincount(question, minlength=size) + WORTH_ANSWERS)
    return np.asarray(share)
