"""Facts about the bank: what a checker accepted for a workshop, and the rule book in force there."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from training.records.facts import Fact


class Accepted(Fact, frozen=True):
    """A checker accepts versions of questions for a workshop; they count there from then on. About: its key."""

    kind: ClassVar[str] = "bank.accepted"
    workshop: str
    questions: list[tuple[str, int]]
    accepted_on: date
    by: str


class RuleBookInForce(Fact, frozen=True):
    """A first rule book, in force at a workshop from its record on. ``book`` is its JSON text."""

    kind: ClassVar[str] = "bank.rule_book_in_force"
    workshop: str
    version: int
    book: str
    by: str


class RuleBookProposed(Fact, frozen=True):
    """A manager proposes a rule book for a workshop from a local day on; it changes nothing yet. About: its key."""

    kind: ClassVar[str] = "bank.rule_book_proposed"
    workshop: str
    version: int
    book: str
    from_day: date
    reason: str
    by: str


class RuleBookConfirmed(Fact, frozen=True):
    """A second person confirms the rule book of record ``proposal``. About: the workshop's key.

    On its first day or later that puts it in force from this record on. Before, it only takes away from that day on,
    and has to be confirmed once more then.
    """

    kind: ClassVar[str] = "bank.rule_book_confirmed"
    workshop: str
    proposal: int
    version: int
    confirmed_on: date
    by: str


class RuleBookWithdrawn(Fact, frozen=True):
    """The rule book of record ``proposal``, which nobody has confirmed, is withdrawn. About: the workshop's key."""

    kind: ClassVar[str] = "bank.rule_book_withdrawn"
    workshop: str
    proposal: int
    version: int
    reason: str
    by: str
