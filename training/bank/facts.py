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
    """A rule book in force at a workshop from its record on. ``book`` is the book as JSON text. About: its key."""

    kind: ClassVar[str] = "bank.rule_book_in_force"
    workshop: str
    version: int
    book: str
    by: str
