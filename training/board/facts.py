"""Facts of the workshop as a whole: a rule book put in force, a start of work with its answer."""

from __future__ import annotations

from datetime import datetime
from typing import ClassVar

from training.records.facts import Fact


class RuleBookInForce(Fact, frozen=True):
    """A rule book in force at a workshop from its record on. ``book`` is the book as canonical JSON text."""

    kind: ClassVar[str] = "board.rule_book_in_force"
    workshop: str
    version: int
    book: str
    by: str


class WorkStarted(Fact, frozen=True):
    """A start of work that was answered yes: job, people, kit, and the decisions it stood on (JSON text)."""

    kind: ClassVar[str] = "board.work_started"
    workshop: str
    job_type: str
    vehicle: str
    lead: str
    second_person: str
    kit: list[str]
    planned_end: datetime
    decision: str
    by: str
