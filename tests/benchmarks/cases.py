"""What is timed: each piece of work with its inputs made from a seed, ready to be called again and again."""

from __future__ import annotations

import random
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from tests.benchmarks import plain_python
from training.core.memory.blocks import Floats
from training.core.memory.composer import Candidate, compose
from training.core.memory.evaluation.full_history import START, Past, activation
from training.core.memory.fold import Answered, PersonRecall, after_answer, fold
from training.core.memory.posterior import PersonMoments, observe, prior
from training.core.memory.recall import recall, recall_low

Work = Callable[[], object]
STATES = 1_000_000
PEOPLE, QUESTIONS = 20_000, 200
OFFERED = 1_000
HISTORY_STATES, HISTORY = 20_000, 30
AT = datetime(2026, 3, 2, 6, 0, tzinfo=UTC)
WHO = PersonMoments(ability=0.3, fade=0.2, var_ability=0.3, var_fade=0.2, cov=-0.05)


def arrays() -> dict[str, Work]:
    """A million states: the exponential alone, recall and its bound with numbers and with arrays for the rest."""
    chance = np.random.default_rng(1)
    ln_hold, days = chance.normal(-4, 1.5, STATES), chance.uniform(0, 90, STATES)
    off, hold_var, easiness_var = (chance.uniform(0, 1, STATES) for _ in range(3))
    target = np.empty(STATES)

    def exponentials(*others: Floats) -> Floats:
        """One new array as recall gives one; the others' go where memory is at hand, which is the stricter floor."""
        for other in others:
            np.exp(other, target)
        return np.exp(ln_hold)

    return {
        "copy": lambda: np.copyto(target, ln_hold),
        "exp": lambda: np.exp(ln_hold),
        "exp of 2": lambda: exponentials(days),
        "exp of 3": lambda: exponentials(days, off),
        "exp of 5": lambda: exponentials(days, off, hold_var, easiness_var),
        "recall": lambda: recall(ln_hold, days, off=0.3, fade=0.2),
        "recall, easiness each": lambda: recall(ln_hold, days, off=off, fade=0.2),
        "bound": lambda: recall_low(ln_hold, days, WHO, ln_hold_var=0.1, easiness_var=0.5),
        "bound, all each": lambda: recall_low(
            ln_hold, days, WHO, easiness=off, ln_hold_var=hold_var, easiness_var=easiness_var
        ),
    }


def one_answer(folder: Path) -> dict[str, Work]:
    """One answer: posterior as arrays and in plain Python, everything that an answer moves, and one row committed."""
    belief, (points, log_prior) = prior(), plain_python.grid()
    state = _person(random.Random(2), QUESTIONS)
    asked = _answered(random.Random(3), "q7", AT)
    database = sqlite3.connect(folder / "floor.sqlite3", isolation_level=None)
    database.execute("create table answer (id integer primary key, body text)")
    shown = {"right": True, "chance_floor": 0.25, "ln_hold": -5.0, "interval_days": 3.0}
    return {
        "posterior": lambda: observe(belief, **shown),
        "plain posterior": lambda: plain_python.updated(points, log_prior, *shown.values()),
        "answer": lambda: after_answer(state, asked),
        "insert": lambda: database.execute("insert into answer (body) values (?)", ("x" * 300,)),
    }


def night() -> dict[str, Work]:
    """Everybody's bounds on all their questions, a call for each person, as the nightly task makes it."""
    chance = np.random.default_rng(4)
    ln_hold, days = chance.normal(-3, 2, (PEOPLE, QUESTIONS)), chance.uniform(0, 90, (PEOPLE, QUESTIONS))
    crew = [PersonMoments(ability=ability, fade=-ability / 5) for ability in chance.normal(0, 0.8, PEOPLE).tolist()]

    def every_bound() -> float:
        rows = zip(ln_hold, days, crew, strict=True)
        return float(sum(recall_low(held, since, who, easiness_var=0.3).min() for held, since, who in rows))

    return {"night": every_bound, "night exp": lambda: np.exp(ln_hold)}


def drill() -> dict[str, Work]:
    """One drill of five minutes out of a thousand questions, half of them answered before."""
    chance = random.Random(5)
    state = _person(chance, OFFERED // 2)
    offered = [
        Candidate(
            question=f"q{number}",
            topic=f"topic {number % 9}",
            consequence=chance.choice(("life", "injury", "damage")),
            trace=state.traces.get(f"q{number}"),
            floor=0.7,
            rank=number % 4,
            seconds=chance.uniform(15, 60),
        )
        for number in range(OFFERED)
    ]
    return {"drill": lambda: compose(offered, state.belief, 5.0, AT)}


def full_history() -> dict[str, Work]:
    """The same number of states by hold and by the full-history equation with 30 answers each."""
    chance = np.random.default_rng(6)
    shape = (HISTORY_STATES, HISTORY)
    ages_s = np.sort(chance.uniform(60, 86_400 * 90, shape), axis=1)
    nothing = np.zeros(shape)
    past = Past(ages_s, np.ones(shape), nothing, nothing, chance.uniform(0.05, 0.2, HISTORY_STATES))
    ln_hold, days = chance.normal(-4, 1.5, HISTORY_STATES), chance.uniform(0, 90, HISTORY_STATES)
    return {
        "by hold": lambda: recall(ln_hold, days, off=0.3),
        "by history": lambda: 1.0 / (1.0 + np.exp(-activation(past, START))),
    }


def _answered(chance: random.Random, question: str, at: datetime) -> Answered:
    return Answered(
        question=question, at=at, right=chance.random() < 0.8, chance_floor=0.25, record=int(at.timestamp())
    )


def _person(chance: random.Random, questions: int) -> PersonRecall:
    """Return somebody who has answered each question twice in the last 80 days."""
    return fold(
        _answered(chance, f"q{number}", AT - timedelta(days=before, seconds=number))
        for number in range(questions)
        for before in (chance.randint(40, 80), chance.randint(2, 39))
    )
