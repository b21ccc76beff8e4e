"""The answer: a mode, an exact end, every gap with its shortest remedy, and the records that prove it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum


class Mode(StrEnum):
    ALONE = "alone"
    SUPERVISED = "supervised"
    NOT_CLEARED = "not cleared"


class Ground(StrEnum):
    """Why something is missing; the shell turns each into a sentence."""

    RECALL_LIFE_QUESTIONS = "recall of life-consequence questions"
    RECALL_TOPIC = "recall of a topic"
    NO_QUESTIONS = "no accepted questions"
    UNSAFE_ANSWER = "open unsafe answer"
    SIGN_OFF = "sign-off"
    NOT_DONE_LATELY = "not done lately"
    CERTIFICATE = "outside certificate"
    APPOINTMENT = "appointment"
    INSTRUCTION = "instruction"
    JOB_TYPE = "another job type"
    STOOD_DOWN = "stood down"
    UNDER_18 = "under 18"
    AGE_UNKNOWN = "age not entered"
    RECORD_UNREADABLE = "record unreadable"
    CHAIN_BROKEN = "records do not verify"
    CLOCK = "clock behind the records"
    UNKNOWN_REQUIREMENT = "unknown requirement"
    RULE_BOOK = "a coming rule book"
    NO_SUPERVISOR = "nobody to supervise"


class RemedyKind(StrEnum):
    DRILL = "drill"
    TALK_THROUGH = "talk-through"
    OBSERVATION = "observation"
    CERTIFICATE = "certificate"
    SIGNATURE = "signature"
    INSTRUCTION = "instruction"
    RELEASE = "release"
    ENTRY = "entry"
    REPAIR = "repair"
    SUPERVISOR = "supervisor"


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """The shortest way to close one gap: what, about how many minutes, and the first local day it can be closed.

    ``minutes_by_day`` lists (days from now, minutes), so that "4 min today, 4 min Thursday" can be said. ``who`` are
    person keys: those who can do it, best first.
    """

    kind: RemedyKind
    minutes: int
    earliest_on: date | None
    minutes_by_day: tuple[tuple[int, int], ...] = ()
    questions: tuple[str, ...] = ()
    who: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """One unmet requirement. ``subject`` is the topic, task, certificate kind or job type; ``facts`` are to be shown.

    ``through`` names the job type that has to be held and asks for it ("" where this job type itself asks).
    Facts are strings, whole numbers or truth values, never floats: the bytes of a stored decision stay the same.
    """

    ground: Ground
    subject: str
    sentence: str
    source: str
    remedy: Remedy
    records: tuple[int, ...] = ()
    facts: tuple[tuple[str, str | int | bool], ...] = ()
    through: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ending:
    """When one proof stops holding: an exclusive UTC instant; ``by_day`` is set when that closes this local day."""

    at: datetime
    because: Ground
    subject: str
    by_day: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """The answer for one person, job type and instant. ``supervisors`` are person keys.

    ``until`` (exclusive, UTC) and ``ends_by`` are None unless cleared. Supervised: ``gaps`` are what alone still lacks.
    """

    mode: Mode
    job_type: str
    at: datetime
    known_at: int
    until: datetime | None
    ends_by: Ending | None
    gaps: tuple[Gap, ...]
    proofs: tuple[int, ...]
    supervisors: tuple[str, ...]
    rule_book_version: int
    parameter_set: int
    head: int
