"""What a crew's months come to: shares of days, minutes, false answers of the gates, days lost to unsafe answers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import Any

import numpy as np
from numpy.typing import NDArray

from training.core.memory.simulation.months import Months

WEEK_DAYS = 7
SETTLED_DAY = 16 * WEEK_DAYS
"""From week 16 on; before it, a crew is on its way."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """Shares (0 to 1) of days at work from week 16 on, over all people; NaN where there were no such days.

    ``held``: all job types of the work held, by forgetting alone. ``true``: every life question that counts is truly
    at or above its floor. ``false_cleared``: held and not true; ``false_not_cleared``: true and not held. ``below``: of
    the life questions on held days, those truly below .7; ``any_below``: held days with at least one. ``blocked``: an
    unsafe answer open; ``held_and_open``: held and not blocked. ``minutes`` and ``answers``: a week at work.
    ``stood_days``: median that an unsafe answer to a life question stood open. ``honest``: of the recall lows above 0,
    those that truth met.
    """

    held: float
    true: float
    false_cleared: float
    false_not_cleared: float
    below: float
    any_below: float
    blocked: float
    held_and_open: float
    minutes: float
    answers: float
    stood_days: float
    honest: float


def tally_of(crew: Sequence[Months], *, from_day: int = SETTLED_DAY) -> Tally:
    """Add up a crew's days from ``from_day`` on; ValueError for nobody."""
    if not crew:
        raise ValueError("a tally needs at least one person")
    days = [_days_of(one, from_day) for one in crew]
    held, true, blocked, below, life, bounds, honest = (np.concatenate(part) for part in zip(*days, strict=True))
    stood = [day for one in crew for day in one.stood_days]
    weeks = sum(np.count_nonzero(one.there) for one in crew) / 5.0
    return Tally(
        held=_mean(held),
        true=_mean(true),
        false_cleared=_mean(held & ~true),
        false_not_cleared=_mean(true & ~held),
        below=_share(below[held].sum(), life[held].sum()),
        any_below=_mean(below[held] > 0),
        blocked=_mean(blocked),
        held_and_open=_mean(held & ~blocked),
        minutes=_share(sum(float(one.minutes.sum()) for one in crew), weeks),
        answers=_share(sum(int(one.answers.sum()) for one in crew), weeks),
        stood_days=median(stood) if stood else float("nan"),
        honest=_share(honest.sum(), bounds.sum()),
    )


def held_by_week(crew: Sequence[Months]) -> list[float]:
    """Return, week by week, the share of days at work on which all job types of the work are held."""
    held, there = (np.array([getattr(one, part) for one in crew]) for part in ("held_all", "there"))
    weeks = held.shape[1] // WEEK_DAYS
    by_week = [part[:, : weeks * WEEK_DAYS].reshape(len(crew), weeks, WEEK_DAYS) for part in (held & there, there)]
    counts = [part.sum(axis=(0, 2)) for part in by_week]
    return [_share(float(a), float(b)) for a, b in zip(*counts, strict=True)]


def _days_of(one: Months, from_day: int) -> tuple[NDArray[Any], ...]:
    at = one.there & (np.arange(len(one.there)) >= from_day)
    life = np.full(np.count_nonzero(at), one.life)
    true = one.kept[at] == one.life
    return one.held_all[at], true, one.blocked[at], one.below[at], life, one.bounds[at], one.honest[at]


def _mean(flags: NDArray[Any]) -> float:
    return float(np.mean(flags)) if len(flags) else float("nan")


def _share(part: float, whole: float) -> float:
    return float(part) / float(whole) if whole else float("nan")
