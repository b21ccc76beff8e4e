"""Ends: every proof stops holding at one exclusive UTC instant, rounded down to the minute, against the person."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta

from training.core.permission.decision import Ending, Ground
from training.core.trade.calendar import close_of_day


def whole_minute(instant: datetime) -> datetime:
    """The instant in UTC, rounded down to the whole minute; a time without its offset is a ValueError."""
    if instant.utcoffset() is None:
        raise ValueError(f"{instant!r} has no offset from UTC")
    return instant.astimezone(UTC).replace(second=0, microsecond=0)


def at_instant(instant: datetime, because: Ground, subject: str) -> Ending:
    """An end within a day ("until 14 Mar 16:20")."""
    return Ending(at=whole_minute(instant), because=because, subject=subject)


def at_close_of(day: date, zone: str, because: Ground, subject: str) -> Ending:
    """An end at the close of a local day ("through 14 Mar")."""
    return Ending(at=whole_minute(close_of_day(day, zone)), because=because, subject=subject, by_day=day)


def at_start_of(day: date, zone: str, because: Ground, subject: str) -> Ending:
    """An end at the start of a local day, said as through the day before."""
    return at_close_of(day - timedelta(days=1), zone, because, subject)


def earliest(endings: Iterable[Ending]) -> Ending | None:
    """The ending that comes first, the same one whatever the order given; None where there is none."""
    return min(endings, key=lambda e: (e.at, e.because, e.subject), default=None)
