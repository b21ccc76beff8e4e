"""Facts about drilling: an answer as it was given, a talk-through, and parameter sets of the recall model."""

from __future__ import annotations

from typing import ClassVar

from training.records.facts import Fact

PARAMETERS = "parameters"  # what the facts about the group's parameter sets are about


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


class ParametersProposed(Fact, frozen=True):
    """A refit of the recall model to the group's own answers, as a numbered parameter set. About: ``PARAMETERS``.

    Whole numbers only: ``*_milli`` in thousandths, losses in millionths of a nat an answer. ``easiness`` holds
    question, easiness and its standard deviation; ``base`` is the set that it was fitted from and scored against.
    """

    kind: ClassVar[str] = "drill.parameters_proposed"
    number: int
    base: int
    b_milli: int
    fade_milli: int
    easiness: list[tuple[str, int, int]]
    answers: int
    held_out: int
    loss_before_micro: int
    loss_after_micro: int


class ParametersConfirmed(Fact, frozen=True):
    """A manager puts a proposed parameter set in force, from this record on; ``proposal`` is its record number."""

    kind: ClassVar[str] = "drill.parameters_confirmed"
    number: int
    proposal: int
    by: str
