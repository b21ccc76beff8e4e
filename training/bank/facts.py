"""Facts about the bank: which version of a question a checker accepted for a workshop."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from training.records.facts import Fact


class Accepted(Fact, frozen=True):
    """A checker accepts versions of questions for a workshop; from then on they count there. About: the workshop's key."""

    kind: ClassVar[str] = "bank.accepted"
    workshop: str
    questions: list[tuple[str, int]]
    accepted_on: date
    by: str
