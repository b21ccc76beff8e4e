"""Validity arithmetic: until which day a thing is good, and at which instant that day closes at the workshop.

Two families (DESIGN section 3). Rubber gloves, sleeves and blankets are exclusive: out of date ON the limit day
(OSHA letter 2020-08-19). Everything else is valid THROUGH the same-numbered day, clamped to the end of a shorter
month and never rolled over a weekend (Reg. (EEC, Euratom) 1182/71 Art 3). Ends are always counted from the event
itself, never from an end already computed.
"""

from __future__ import annotations

from calendar import monthrange
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from training.core.trade.checks import plain_date
from training.core.trade.errors import NotADate, NotANumber, OutOfRange, UnknownZone

Zone = str | ZoneInfo

_MONTHS_IN_YEAR = 12


def add_months(day: date, months: int) -> date:
    """The same-numbered day ``months`` later; where the month has no such day, its last day (never the next month)."""
    plain_date(day, "the day")
    years, month0 = divmod(day.month - 1 + _count(months, "months"), _MONTHS_IN_YEAR)
    year = day.year + years
    if not date.min.year <= year <= date.max.year:
        raise OutOfRange(f"{day} plus {months} months is outside the calendar", "Give fewer months")
    return date(year, month0 + 1, min(day.day, monthrange(year, month0 + 1)[1]))


def through_day(start: date, months: int) -> date:
    """The last valid day of something good for ``months`` from ``start`` (that day still counts)."""
    return add_months(start, _at_least_one(months, "months"))


def rubber_limit(start: date, months: int) -> date:
    """The first day on which rubber gloves, sleeves or blankets are out of date: allowed while day < limit."""
    return add_months(start, _at_least_one(months, "months"))


def last_day_in_window(done: date, days: int) -> date:
    """The last day that still has ``done`` within the past ``days`` days (day number ``days`` still counts)."""
    plain_date(done, "the day it was done")
    try:
        return done + timedelta(days=_at_least_one(days, "days"))
    except OverflowError:
        raise OutOfRange(f"{done} plus {days} days is outside the calendar", "Give fewer days") from None


def close_of_day(day: date, zone: Zone) -> datetime:
    """The instant (UTC, exclusive) at which ``day`` is over in ``zone``: the start of its next local day."""
    plain_date(day, "the day")
    if day == date.max:
        raise OutOfRange(f"{day} has no next day", "Give an earlier day")
    return _first_instant_of(day + timedelta(days=1), _zone(zone))


def local_day(instant: datetime, zone: Zone) -> date:
    """The calendar day at which ``instant`` (with its offset) falls in ``zone``."""
    if not isinstance(instant, datetime) or instant.utcoffset() is None:
        raise NotADate(f"{instant!r} is no instant", "Give a date and time with its offset from UTC")
    return instant.astimezone(_zone(zone)).date()


def _first_instant_of(day: date, zone: ZoneInfo) -> datetime:
    midnights = (datetime.combine(day, time(fold=fold), zone).astimezone(UTC) for fold in (0, 1))
    early, late = sorted(midnights)
    if early.astimezone(zone).date() >= day:
        return early  # an ordinary midnight, or the first of two
    while late - early > timedelta(seconds=1):  # no midnight: the clocks jump over it; look for the jump
        middle = early + (late - early) // 2
        early, late = (early, middle) if middle.astimezone(zone).date() >= day else (middle, late)
    return late.replace(microsecond=0)


def _zone(zone: Zone) -> ZoneInfo:
    if isinstance(zone, ZoneInfo):
        return zone
    try:
        return ZoneInfo(zone)
    except (KeyError, ValueError, OSError, TypeError):
        raise UnknownZone(
            f"{zone!r} is no time zone", "Give a name of the tz database, such as Europe/Berlin"
        ) from None


def _count(value: int, name: str) -> int:
    if not isinstance(value, int) or isinstance(value, bool):
        raise NotANumber(f"{name} is {value!r}, which is no whole number", f"Give {name} as a whole number")
    return value


def _at_least_one(value: int, name: str) -> int:
    if _count(value, name) < 1:
        raise OutOfRange(f"{name} is {value}", f"Give 1 or more {name}")
    return value
