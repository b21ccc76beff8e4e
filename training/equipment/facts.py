"""Facts about kit: added to the register, tested, issued, noted, checked before use, taken out of service."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from training.records.facts import Fact


class KitTested(Fact, frozen=True):
    """The test of its kind (``label_parts.TESTS``): electrical test, calibration, ... About: the kit item's key."""

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
    """Something that makes an item suspect: oil, a snag, used without protectors, dropped.

    Only a passed test on a later day answers it.
    """

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


class KitAdded(Fact, frozen=True):
    """An item put on the register, with what its label says (canonical JSON text). About: the kit item's key.

    Only an item that such a record stands behind is in service.
    """

    kind: ClassVar[str] = "equipment.added"
    workshop: str
    ident: str
    kit_kind: str
    title: str
    label: str
    by: str


class KitRetired(Fact, frozen=True):
    """Taken out of service for good, with the reason; what comes back is added anew."""

    kind: ClassVar[str] = "equipment.retired"
    retired_on: date
    why: str
    by: str
