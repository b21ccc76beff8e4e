"""Which question somebody was not asked lately, so that their recall runs out within the days that the demo shows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta

from training.core.memory.gates import Gate, last_minute_at_floor
from training.core.memory.posterior import PersonMoments

LIFE_FLOOR = 0.60
MOST_LEFT_OUT = 6


def left_out(
    gates: Mapping[str, Sequence[Gate]],
    idents: Iterable[str],
    who: PersonMoments,
    days: tuple[int, int],
    *,
    now: datetime,
) -> tuple[str, int]:
    """A question and how many of its last answers to leave out, so that it falls to its floor in about the middle of
    ``days`` from now. ``gates`` are each question's after each of its answers. LookupError where none would."""
    wanted = now + timedelta(days=sum(days) / 2)
    found = [(abs(end - wanted), ident, number) for ident in idents for number, end in _ends(gates[ident], who, now)]
    if not found or min(found)[0] > timedelta(days=(days[1] - days[0]) / 2):
        raise LookupError(f"no question would fall to its floor {days[0]} to {days[1]} days from now")
    _off, ident, number = min(found)
    return ident, number


def _ends(gates: Sequence[Gate], who: PersonMoments, now: datetime) -> Iterator[tuple[int, datetime]]:
    for number in range(1, min(MOST_LEFT_OUT, len(gates) - 1) + 1):
        end = last_minute_at_floor([gates[-1 - number]], who, LIFE_FLOOR, now)
        if end is not None:
            yield number, end
