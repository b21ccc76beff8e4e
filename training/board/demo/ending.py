"""Which question somebody met only lately, so that their recall runs out within the days that the demo shows."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import datetime, timedelta

from training.core.memory.fold import Answered, PersonRecall, fold
from training.core.memory.gates import last_minute_at_floor

LIFE_FLOOR = 0.60
MOST_KEPT = 10


def met_lately(
    answers: Sequence[Answered], life: Sequence[str], fit: Collection[str], days: tuple[int, int], *, now: datetime
) -> tuple[str, int]:
    """A question and how many of its last answers to keep, so that the first of ``life`` falls to its floor within
    ``days`` from now. The first in ``life`` that will do is taken; LookupError where none of those that fit does.
    """
    soon, late = (now + timedelta(days=count) for count in days)
    for ident in (one for one in life if one in fit):
        given = [one for one in answers if one.question == ident]
        for number in range(1, min(MOST_KEPT, len(given) - 1) + 1):
            gone = {one.record for one in given[:-number]}
            end = _first_end(fold([one for one in answers if one.record not in gone]), life, now)
            if end is not None and soon <= end <= late:
                return ident, number
    raise LookupError("no question would fall to its floor within those days if it had been met only lately")


def _first_end(recall: PersonRecall, life: Sequence[str], now: datetime) -> datetime | None:
    ends = []
    for ident in life:
        end = last_minute_at_floor([recall.traces[ident].gate], recall.gate_moments, LIFE_FLOOR, now)
        if end is None:
            return None
        ends.append(end)
    return min(ends, default=None)
