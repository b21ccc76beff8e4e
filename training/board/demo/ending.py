"""Which question somebody was not asked lately, so that their recall runs out within the days that the demo shows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta

from training.core.memory.gates import Gate, last_minute_at_floor
from training.core.memory.posterior import PersonMoments

LIFE_FLOOR = 0.60
MOST_LEFT_OUT = 10


def left_out(
    gates: Mapping[str, Sequence[Gate]],
    idents: Sequence[str],
    who: PersonMoments,
    days: tuple[int, int],
    *,
    now: datetime,
) -> tuple[str, int]:
    """A question and how many of its last answers to leave out, so that it falls to its floor within ``days`` from now.

    ``gates`` are each question's after each of its answers; of those that fit the first in ``idents`` is taken, and
    where none fits the one that comes nearest. LookupError where nobody would notice.
    """
    soon, late = (now + timedelta(days=count) for count in days)
    found = [
        (max(soon - end, end - late, timedelta(0)), place, number, ident)
        for place, ident in enumerate(idents)
        for number, end in _ends(gates[ident], who, now)
    ]
    if not found:
        raise LookupError("no question would fall to its floor later than now if its last answers were left out")
    _off, _place, number, ident = min(found)
    return ident, number


def _ends(gates: Sequence[Gate], who: PersonMoments, now: datetime) -> Iterator[tuple[int, datetime]]:
    for number in range(1, min(MOST_LEFT_OUT, len(gates) - 1) + 1):
        end = last_minute_at_floor([gates[-1 - number]], who, LIFE_FLOOR, now)
        if end is not None:
            yield number, end
