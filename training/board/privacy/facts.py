"""The facts that a copy of somebody's records was given out, and that two managers decided what of them goes."""

from __future__ import annotations

from typing import ClassVar

from training.records.facts import Fact


class CopyGiven(Fact, frozen=True):
    """A copy of everything on record about a person was given out on their request. About: the person's key."""

    kind: ClassVar[str] = "board.copy_given"
    why: str
    by: str


class ErasureProposed(Fact, frozen=True):
    """A manager proposes to erase what the records of these ``numbers`` say. About: the key of who has left."""

    kind: ClassVar[str] = "board.erasure_proposed"
    numbers: list[int]
    why: str
    by: str


class ErasureConfirmed(Fact, frozen=True):
    """A second manager confirms the proposal that ``record`` names; only then may anything be erased."""

    kind: ClassVar[str] = "board.erasure_confirmed"
    record: int
    by: str
