"""The words of a question: its topic, kind, consequence, options and answer; and what an answer can come to."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class Topic(StrEnum):
    EQUIPMENT_CHOICE = "equipment choice"
    GLOVE_CARE = "glove care"
    METERS = "meters and proving"
    ISOLATION = "isolation"
    LIFTING = "lifting"
    BATTERY = "battery handling"
    RESCUE = "rescue"
    WORK_AREA = "work area"
    PPE = "PPE"


class Kind(StrEnum):
    PICK_ONE = "pick one"
    PICK_ALL = "pick all"
    PUT_IN_ORDER = "put in order"
    WORK_OUT = "work out"


class Consequence(StrEnum):
    """What a wrong act costs."""

    LIFE = "life"
    INJURY = "injury"
    DAMAGE = "damage"


class Regime(StrEnum):
    """Whose rules a question holds for; ``ALL`` where they agree."""

    ALL = "all"
    US = "US"
    EU = "EU"
    UK = "UK"


class Commitment(StrEnum):
    """Said before the verdict: I'd act on it, or I'd stop and ask."""

    ACT = "act"
    ASK = "ask"


class Outcome(StrEnum):
    SOUND = "sound"
    CAREFUL = "careful"
    HELD_BACK = "held back"
    UNSAFE = "unsafe"


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One option. ``right`` is for pick one and pick all; ``place`` (1, 2, ...) for put in order."""

    key: str
    text: str
    reason: str
    right: bool = False
    place: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberAnswer:
    """The right number, its unit as printed, how far off still counts as right (same unit), and why."""

    value: float
    unit: str
    tolerance: float
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """A question as one person meets it: every number is settled.

    ``worked_out`` names the generator and ``seed`` its draw; both are None for a fixed question.
    ``picture`` is SVG text (or None), ``picture_text`` says the same in words.
    """

    id: str
    topic: Topic
    kind: Kind
    consequence: Consequence
    situation: str
    stem: str
    options: tuple[Option, ...] = ()
    number: NumberAnswer | None = None
    sources: tuple[str, ...] = ()
    regime: Regime = Regime.ALL
    picture: str | None = None
    picture_text: str | None = None
    review_by: date | None = None
    author: str = ""
    checker: str = ""
    worked_out: str | None = None
    seed: int | None = None


def outcome(*, right: bool, commitment: Commitment) -> Outcome:
    """Name what an answer came to; commitment never enters recall."""
    if right:
        return Outcome.SOUND if commitment is Commitment.ACT else Outcome.CAREFUL
    return Outcome.UNSAFE if commitment is Commitment.ACT else Outcome.HELD_BACK
