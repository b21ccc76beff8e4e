"""The fact that a copy of somebody's records was given out."""

from __future__ import annotations

from typing import ClassVar

from training.records.facts import Fact


class CopyGiven(Fact, frozen=True):
    """A copy of everything on record about a person was given out on their request. About: the person's key."""

    kind: ClassVar[str] = "board.copy_given"
    why: str
    by: str
