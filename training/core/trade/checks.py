"""Checks on what comes in: numbers are finite and of the right sign, words are known, dates are plain dates."""

from __future__ import annotations

import math
from collections.abc import Collection
from datetime import date, datetime

from training.core.trade.errors import NotADate, NotANumber, OutOfRange, UnknownWord


def number(value: object, name: str, unit: str) -> float:
    """``value`` as a finite float, or NotANumber."""
    is_number = isinstance(value, (int, float)) and not isinstance(value, bool)
    if not is_number or not math.isfinite(value):  # type: ignore[arg-type]
        raise NotANumber(f"{name} is {value!r}, which is no number", f"Give {name} in {unit}")
    return float(value)  # type: ignore[arg-type]


def positive(value: object, name: str, unit: str) -> float:
    """``value`` as a finite float above zero, or a typed error."""
    checked = number(value, name, unit)
    if checked <= 0:
        raise OutOfRange(f"{name} is {checked:g} {unit}", f"Give {name} above 0 {unit}")
    return checked


def not_negative(value: object, name: str, unit: str) -> float:
    """``value`` as a finite float of zero or more, or a typed error."""
    checked = number(value, name, unit)
    if checked < 0:
        raise OutOfRange(f"{name} is {checked:g} {unit}", f"Give {name} of 0 {unit} or more")
    return checked


def word(value: object, name: str, known: Collection[str]) -> str:
    """``value`` if it is one of the ``known`` words, or UnknownWord."""
    if not isinstance(value, str) or value not in known:
        raise UnknownWord(f"{name} is {value!r}, which is not known", f"Give one of: {', '.join(known)}")
    return value


def plain_date(value: object, name: str) -> date:
    """``value`` if it is a date without a time, or NotADate."""
    if not isinstance(value, date) or isinstance(value, datetime):
        raise NotADate(f"{name} is {value!r}, which is no calendar date", f"Give {name} as a date without a time")
    return value
