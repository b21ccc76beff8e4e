"""Insulated hand tools: what the standard covers, the marks to look for, and where ordinary tools will do."""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

from training.core.trade import limits
from training.core.trade.checks import not_negative, word

MARKS: Final = ("double triangle", "1000 V", "standard number", "maker", "reference", "year")


def missing_marks(seen: Collection[str]) -> tuple[str, ...]:
    """The marks of IEC 60900 that a tool does not bear; with any missing it is not an insulated tool."""
    marks = {word(mark, "the mark", MARKS) for mark in seen}
    return tuple(mark for mark in MARKS if mark not in marks)


def within_scope(highest_dc_v: float, highest_ac_v: float) -> bool:
    """Whether IEC 60900 tools reach this job: up to 1500 V DC and 1000 V AC, inclusive."""
    dc_v = not_negative(highest_dc_v, "the highest DC voltage", "V")
    ac_v = not_negative(highest_ac_v, "the highest AC voltage", "V")
    return dc_v <= limits.TOOL_DC_V.value and ac_v <= limits.TOOL_AC_V.value
