"""Ways to choose what is asked: our composer, and three plain ones at the same minutes.

Unsafe returns come first in every way (they are policy), life before injury before damage among what was never asked.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import timedelta
from itertools import cycle, islice
from typing import Final, TypeAlias

from numpy.random import Generator

from training.core.memory.composer import WEIGHTS
from training.core.memory.pace import with_one_to_spare
from training.core.memory.parameters import SESSION_DAYS
from training.core.memory.practice import compose_with_practice
from training.core.memory.simulation.desk import START, Desk

Way: TypeAlias = Callable[[Desk, float, float, Generator], list[str]]
"""From a desk, the day, the minutes and a generator to the names of the questions to ask, in order."""

OURS: Final = "our composer"
MONTHLY: Final = "fixed monthly quizzes"
DOUBLING: Final = "doubling gaps"
RANDOM: Final = "random order"
MONTH_DAYS: Final = 28


def by_composer(desk: Desk, day: float, minutes: float, rng: Generator) -> list[str]:
    """Ask what the composer chooses, and with minutes to spare what counts for nothing."""
    asked, others, at = desk.candidates(day), desk.practice(day), START + timedelta(days=day)
    chosen_for = with_one_to_spare(minutes, desk.usual_seconds)
    return list(compose_with_practice(asked, others, desk.recall.belief, chosen_for, at, parameters=desk.parameters))


def by_rotation(desk: Desk, day: float, minutes: float, rng: Generator) -> list[str]:
    """Go through all questions in the bank's order, the longest unasked first; over again while minutes are left."""
    once = sorted(_rested(desk, day), key=lambda place: desk.last_day[place])
    asked = _filled(desk, day, minutes, once)
    return list(islice(cycle(asked), _most(desk, minutes))) if asked else []


def by_doubling(desk: Desk, day: float, minutes: float, rng: Generator) -> list[str]:
    """Ask each question after 1, 2, 4, ... days while it is right, the day after while wrong; new ones in between."""
    rested = _rested(desk, day)
    over = {place: day - desk.last_day[place] - desk.gap_days[place] for place in rested}
    due = sorted((p for p in rested if desk.gap_days[p] and over[p] >= -SESSION_DAYS), key=lambda p: -over[p])
    new = sorted((p for p in rested if not desk.gap_days[p]), key=lambda p: (desk.work.rank[p], -_weight(desk, p)))
    later = sorted(set(rested) - set(due) - set(new), key=lambda place: -over[place])
    return _filled(desk, day, minutes, [*due, *new, *later])


def by_chance(desk: Desk, day: float, minutes: float, rng: Generator) -> list[str]:
    """Ask in random order."""
    rested = _rested(desk, day)
    return _filled(desk, day, minutes, [rested[place] for place in rng.permutation(len(rested)).tolist()])


WAYS: Final[dict[str, Way]] = {OURS: by_composer, MONTHLY: by_rotation, DOUBLING: by_doubling, RANDOM: by_chance}


def _rested(desk: Desk, day: float) -> list[int]:
    offered = desk.work.offered
    return [int(place) for place in offered[desk.last_day[offered] < day - SESSION_DAYS]]


def _weight(desk: Desk, place: int) -> float:
    return WEIGHTS[desk.bank[place].consequence]


def _filled(desk: Desk, day: float, minutes: float, wanted: Sequence[int]) -> list[str]:
    first = [place for place in desk.unsafe_back(day) if place in set(wanted)]
    chosen = list(dict.fromkeys([*first, *wanted]))[: _most(desk, minutes)]
    return [desk.bank[place].name for place in chosen]


def _most(desk: Desk, minutes: float) -> int:
    return int(with_one_to_spare(minutes, desk.usual_seconds) * 60.0 / desk.usual_seconds + 1e-9)
