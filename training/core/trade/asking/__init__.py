"""Asks the trade core by name: plain values in, a verdict with its reasons, figures, units and sources out."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Final

from training.core.trade.asking.answer import CAUTION, Kind
from training.core.trade.asking.electrical import BONDING, DISCHARGE, INSULATION, TOOLS, TWO_VOLTAGE
from training.core.trade.asking.fields import AskedWrongly
from training.core.trade.asking.isolating import ISOLATION
from training.core.trade.asking.lifted import PADS, TABLE
from training.core.trade.asking.measuring import METERS
from training.core.trade.asking.rubber import GLOVE_DATES, GLOVES, INSPECTION
from training.core.trade.asking.surroundings import PPE, QUARANTINE, VALIDITY, WORK_AREA
from training.core.trade.errors import UnknownWord

_ALL: Final = (
    *(GLOVES, GLOVE_DATES, INSPECTION, METERS, ISOLATION, INSULATION, TWO_VOLTAGE, BONDING, DISCHARGE),
    *(TOOLS, PADS, TABLE, QUARANTINE, PPE, WORK_AREA, VALIDITY),
)
KINDS: Final[Mapping[str, Kind]] = MappingProxyType({kind.name: kind for kind in _ALL})

__all__ = ["CAUTION", "KINDS", "AskedWrongly", "Kind", "ask", "schema"]


def ask(kind: str, given: object) -> dict[str, Any]:
    """The answer of a kind to plain values. A BadInput for what is missing, unknown, unreadable or beyond computing."""
    return _kind(kind).answered(given)


def schema(kind: str) -> dict[str, Any]:
    """What a kind takes and gives, with types and units, and an example."""
    return _kind(kind).schema()


def _kind(name: str) -> Kind:
    if name not in KINDS:
        raise UnknownWord(f"{name!r} is no kind of question", f"Give one of: {', '.join(KINDS)}")
    return KINDS[name]
