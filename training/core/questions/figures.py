"""Reads an option that is a figure (number with unit, range, date, glove class), so that figures can be ordered."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")

# unit as printed -> (base unit, factor)
UNITS: dict[str, tuple[str, float]] = {
    "v": ("V", 1.0),
    "mv": ("V", 0.001),
    "kv": ("V", 1000.0),
    "ohm": ("ohm", 1.0),
    "kohm": ("ohm", 1e3),
    "mohm": ("ohm", 1e6),
    "milliohm": ("ohm", 1e-3),
    "kg": ("kg", 1.0),
    "g": ("kg", 0.001),
    "t": ("kg", 1000.0),
    "s": ("s", 1.0),
    "min": ("s", 60.0),
    "h": ("s", 3600.0),
    "m": ("m", 1.0),
    "cm": ("m", 0.01),
    "mm": ("m", 0.001),
    "days": ("day", 1.0),
    "months": ("month", 1.0),
}

_NUMBER = r"-?[0-9]{1,3}(?:[ \u00a0\u202f][0-9]{3})+(?:[.,][0-9]+)?|-?[0-9]+(?:[.,][0-9]+)?"
_FIGURE = re.compile(
    rf"(?P<low>{_NUMBER})(?:\s*(?:-|\u2013|to)\s*(?P<high>{_NUMBER}))?\s*(?P<unit>[^\W\d_%]+(?: [^\W\d_]+)?|%)?\.?",
)
_DATE = re.compile(r"(?:through |until |on )?([0-9]{1,2}) ([a-z]{3})[a-z]* ([0-9]{4})", re.IGNORECASE)
_CLASS = re.compile(r"class (00|[0-4])\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure from ``low`` to ``high`` (equal unless it is a range) in a base unit, '' where none is printed."""

    low: float
    high: float
    unit: str
    printed_unit: str


def figure_in(text: str) -> Figure | None:
    """The figure that this whole text is, or None when it is anything else."""
    words = text.strip()
    return _date_in(words) or _class_in(words) or _quantity_in(words)


def figures_of(texts: list[str]) -> list[Figure] | None:
    """The figure of every text, or None as soon as one of them is no figure."""
    found = [figure_in(text) for text in texts]
    known = [figure for figure in found if figure is not None]
    return known if known and len(known) == len(found) else None


def number_in(text: str) -> float:
    """The number printed as ``1 234.5`` or ``1 234,5``."""
    return float(re.sub(r"[ \u00a0\u202f]", "", text).replace(",", "."))


def _date_in(words: str) -> Figure | None:
    found = _DATE.fullmatch(words)
    if found is None or found[2].lower() not in MONTHS:
        return None
    try:
        day = date(int(found[3]), MONTHS.index(found[2].lower()) + 1, int(found[1]))
    except ValueError:
        return None
    return Figure(day.toordinal(), day.toordinal(), "date", "date")


def _class_in(words: str) -> Figure | None:
    found = _CLASS.match(words)
    if found is None:
        return None
    rank = -1.0 if found[1] == "00" else float(found[1])
    return Figure(rank, rank, "glove class", "glove class")


def _quantity_in(words: str) -> Figure | None:
    found = _FIGURE.fullmatch(words)
    if found is None:
        return None
    printed = found["unit"] or ""
    # Mohm and mohm differ by nine places; only the capital says which.
    key = "milliohm" if printed == "mohm" else printed.lower()
    unit, factor = UNITS.get(key, (printed, 1.0))
    low = number_in(found["low"]) * factor
    high = number_in(found["high"]) * factor if found["high"] else low
    return Figure(low, high, unit, printed)
