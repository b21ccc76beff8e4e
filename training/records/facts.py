"""What a fact is: the body of one record, typed, frozen, readable years later."""

from __future__ import annotations

from datetime import date
from typing import Any, ClassVar

import msgspec


class Fact(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One fact, as an app defines it. ``kind`` names it in the record's envelope and is never reused for another shape.

    Fields hold strings, whole numbers, truth values, dates, lists and other facts; no floats, so that the bytes are the
    same on every machine. Subclasses repeat ``frozen=True``, for the type checker.
    """

    kind: ClassVar[str] = ""


class Reconciled(Fact, frozen=True):
    """Somebody looked into a restored database and lets it answer again.

    It ended at ``restored`` when they did; the newest number kept outside was ``kept``. ``why`` says how what was lost
    was entered again.
    """

    kind: ClassVar[str] = "records.reconciled"
    restored: int
    kept: int
    why: str
    by: str


class BodiesErased(Fact, frozen=True):
    """What the records of these ``numbers`` said is no longer kept; ``counts`` says how many there were of what."""

    kind: ClassVar[str] = "records.bodies_erased"
    numbers: list[int]
    counts: list[tuple[str, int]]
    why: str
    erased_on: date
    by: str


def as_builtins(fact: Fact) -> dict[str, Any]:
    """The fact as plain JSON values: dates become ISO text."""
    plain: dict[str, Any] = msgspec.to_builtins(fact)
    return plain
