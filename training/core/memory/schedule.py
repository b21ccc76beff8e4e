"""The shortest honest way for a gate to its floor: on which days further right answers would bring it there."""

from __future__ import annotations

from datetime import datetime, timedelta
from itertools import accumulate
from typing import Final

from training.core.memory.gates import LEAST_DAYS, Gate, gate_after, gate_low, is_first_of_session
from training.core.memory.parameters import DEFAULT, Parameters
from training.core.memory.posterior import PersonMoments
from training.core.memory.steps import Shown

MOST_ANSWERS: Final = 10
DAILY_GAP_DAYS: Final = 1
WIDENING_GAPS_DAYS: Final = (3, 7, 14, 28, 28, 28, 28, 28, 28)
SAFETY_MARGIN: Final = 0.01
"""Recall low asked for beyond the floor, because the right answers on the way move the person's point as well."""


def answers_to_floor(
    gate: Gate | None,
    who: PersonMoments,
    floor: float,
    at: datetime,
    chance_floor: float,
    *,
    holds_for_days: float = LEAST_DAYS,
    parameters: Parameters = DEFAULT,
) -> tuple[int, ...] | None:
    """Return days from ``at``, ascending, on which right answers bring the gate to its floor; () if it is there now.

    Simulated with the real update at the person's present point, every answer right and at the same time of day. The
    first answer is today, or tomorrow if the question was seen within half a day. Tried are all plans of k answers on
    successive days and then after 3, 7, 14, 28, 28... days; the plan that ends first wins, then the one with fewer
    answers. After its last answer the recall low must meet the floor (and a small margin, if the floor allows one) for
    ``holds_for_days``. None: no plan of at most 10 answers gets there. ValueError unless 0 <= floor <= 1.
    """
    if not 0.0 <= floor <= 1.0:
        raise ValueError(f"floor {floor} must lie between 0 and 1")
    if gate_low(gate, who, at, parameters) >= floor:
        return ()
    start = gate or Gate()
    best: tuple[int, ...] | None = None
    for daily in range(1, MOST_ANSWERS + 1):
        days = _days_of_plan(daily, 0 if is_first_of_session(start.last_seen_at or start.last_at, at) else 1)
        reached = _answers_needed(start, who, floor, at, chance_floor, days, holds_for_days, parameters)
        if reached is None:
            continue
        plan = days[:reached]
        if best is None or (plan[-1], len(plan)) < (best[-1], len(best)):
            best = plan
    return best


def _days_of_plan(daily: int, first_day: int) -> tuple[int, ...]:
    gaps = (DAILY_GAP_DAYS,) * (daily - 1) + WIDENING_GAPS_DAYS
    return tuple(accumulate(gaps[: MOST_ANSWERS - 1], initial=first_day))


def _answers_needed(
    gate: Gate,
    who: PersonMoments,
    floor: float,
    at: datetime,
    chance_floor: float,
    days: tuple[int, ...],
    holds_for_days: float,
    parameters: Parameters,
) -> int | None:
    """Return after how many of the plan's answers the gate meets the floor for long enough, or None."""
    shown = Shown(right=True, chance_floor=chance_floor, off=who.ability + gate.easiness, fade=who.fade)
    wanted = min(floor + SAFETY_MARGIN, max(floor, 0.999))
    for number, day in enumerate(days, start=1):
        then = at + timedelta(days=day)
        gate = gate_after(gate, shown, then, parameters=parameters)
        if gate_low(gate, who, then + timedelta(days=holds_for_days), parameters) >= wanted:
            return number
    return None
