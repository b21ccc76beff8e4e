"""Facts about kit: a test with its result, and the wearer's pre-use check of the day."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from training.records.facts import Fact


class KitTested(Fact, frozen=True):
    """A laboratory test, thorough examination or calibration. About: the kit item's key."""

    kind: ClassVar[str] = "equipment.tested"
    tested_on: date
    passed: bool
    test: str
    by: str


class KitIssued(Fact, frozen=True):
    """First issue for service: from this day on the retest clock runs from issue and test."""

    kind: ClassVar[str] = "equipment.issued"
    issued_on: date
    by: str


class KitNoted(Fact, frozen=True):
    """Something that makes an item suspect: oil, a snag, used without protectors, dropped. Only a passed test answers it."""

    kind: ClassVar[str] = "equipment.noted"
    what: str
    noted_on: date
    by: str


class KitChecked(Fact, frozen=True):
    """The pre-use check of one day, by the person who will use the item."""

    kind: ClassVar[str] = "equipment.checked"
    checked_on: date
    passed: bool
    by: str
