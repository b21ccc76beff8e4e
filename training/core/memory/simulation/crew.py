"""The simulated crew: who seeks what, how fast each forgets, which days they are there, what they say they would do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from training.core.memory.honesty import break_even
from training.core.memory.simulation.truth import FITTED, Floats, Traces, sigma

DAYS_PER_WEEK: Final = 7
WORKDAYS: Final = 5
SHARE_NEW: Final = 1 / 3
"""A third of the crew is new to the trade [assumed]."""
KNEW_NEW, KNEW_OTHERS, KNEW_SPREAD = -1.5, 0.0, 1.2
"""Logits of what is known of a question before any drill [assumed]: one in five, or every other."""
ABILITY_SD, EASINESS_SD, PAIR_SD = 0.6, 0.7, 0.4
"""Together 1, which is what the published means were fitted with; how it divides is assumed."""
KNEW_AGE_DAYS: Final = 365.0
"""How old that knowledge is [assumed]; it fades as everything does."""
DECAY_SD: Final = 0.2
"""ln spread of how fast people forget [assumed]."""
FEEL: Final = 1.8
"""Distance, in its own sd, between how it feels to recall and to guess [assumed]; and the sd of knowing oneself."""
SELF_NOISE: Final = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """What differs between simulated worlds: mean of ``off`` (None: mean of the published groups)."""

    mean_off: float = sum(FITTED.group_offs) / len(FITTED.group_offs)
    slip: float = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class Member:
    """One person: truth first (logits per question), then days. ``there`` and ``drills`` have a flag for each day."""

    work: int
    off: Floats
    knew: Floats
    decay_factor: float
    seconds: float
    there: NDArray[np.bool_]
    drills: NDArray[np.bool_]

    def traces(self) -> Traces:
        """Return a new truth for this person, with what they knew before the first day."""
        truth = Traces(self.off, decay_factor=self.decay_factor)
        truth.knew(sigma(self.knew), 0.0, KNEW_AGE_DAYS)
        return truth


def crew_of(
    size: int, questions: int, weeks: int, works: Sequence[float], rng: Generator, spread: Spread
) -> list[Member]:
    """Draw a crew; ``works`` are the shares of those whose work is the first, second, ... of a list."""
    easiness = spread.mean_off + EASINESS_SD * rng.standard_normal(questions)
    dealt = np.repeat(np.arange(len(works)), np.diff(np.round(np.cumsum([0.0, *works]) * size).astype(int)))
    return [_member(int(work), easiness, weeks, own) for work, own in zip(dealt, rng.spawn(len(dealt)), strict=True)]


def _member(work: int, easiness: Floats, weeks: int, rng: Generator) -> Member:
    ability = ABILITY_SD * rng.standard_normal()
    knew = (KNEW_NEW if rng.random() < SHARE_NEW else KNEW_OTHERS) + ability
    there = _days_there(weeks, rng)
    return Member(
        work=work,
        off=easiness + ability + PAIR_SD * rng.standard_normal(len(easiness)),
        knew=knew + KNEW_SPREAD * rng.standard_normal(len(easiness)),
        decay_factor=float(np.exp(DECAY_SD * rng.standard_normal())),
        seconds=float(35.0 * np.exp(0.2 * rng.standard_normal())),
        there=there,
        drills=there & _drill_days(weeks, rng),
    )


def _days_there(weeks: int, rng: Generator) -> NDArray[np.bool_]:
    """Return workdays less holidays (blocks of one to three weeks, six weeks a year) and sick spells (two a year)."""
    there = np.tile(np.arange(DAYS_PER_WEEK) < WORKDAYS, weeks)
    left = round(weeks * 6 / 52)
    while left > 0:
        block = min(int(rng.integers(1, 4)), left)
        start = int(rng.integers(0, weeks)) * DAYS_PER_WEEK
        there[start : start + block * DAYS_PER_WEEK] = False
        left -= block
    for _ in range(int(rng.poisson(weeks * 2 / 52))):
        start = int(rng.integers(0, len(there)))
        there[start : start + int(rng.integers(1, 10))] = False
    return there


def _drill_days(weeks: int, rng: Generator) -> NDArray[np.bool_]:
    """Return four of the five shifts of each week, another one left out each week."""
    days = np.ones((weeks, DAYS_PER_WEEK), dtype=bool)
    days[np.arange(weeks), rng.integers(0, WORKDAYS, weeks)] = False
    return days.ravel()


def would_act(
    recall: float, recalled: bool, chance_floor: float, consequence: str, slip: float, rng: Generator
) -> bool:
    """Say whether they would act: from what they know of themselves and how this one felt, with some noise."""
    inside = min(max(recall, 1e-6), 1.0 - 1e-6)
    felt = rng.standard_normal() + (FEEL if recalled else -FEEL) / 2.0
    logit = np.log(inside / (1.0 - inside)) + SELF_NOISE * rng.standard_normal() + FEEL * felt
    known = 1.0 / (1.0 + np.exp(-logit))
    return bool(known * (1.0 - slip) + (1.0 - known) * chance_floor >= break_even(consequence))
