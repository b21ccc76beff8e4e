"""Facts about drilling: an answer as it was given, and a talk-through."""

from __future__ import annotations

from typing import ClassVar

from training.records.facts import Fact


class Answered(Fact, frozen=True):
    """One answer. ``response`` holds option keys in order, or the number as typed; ``seed`` redraws the question.

    ``chance_floor_ppm`` is the chance of a right guess in millionths; ``milliseconds`` from shown to committed.
    """

    kind: ClassVar[str] = "drill.answered"
    turn: str
    workshop: str
    question: str
    version: int
    topic: str
    consequence: str
    seed: int
    response: list[str]
    right: bool
    commitment: str
    outcome: str
    too_fast: bool
    milliseconds: int
    chance_floor_ppm: int


class TalkedThrough(Fact, frozen=True):
    """A mentor talked an unsafe answer through with the person; ``answer`` is the record number of that answer."""

    kind: ClassVar[str] = "drill.talked_through"
    answer: int
    question: str
    note: str
    by: str
