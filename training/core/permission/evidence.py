"""What is proved of one person at one workshop, as values. Silence proves nothing; every proof names its record."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum

from training.core.memory.gates import Gate
from training.core.memory.parameters import DEFAULT, Parameters
from training.core.memory.posterior import PersonMoments
from training.core.questions.kinds import Consequence, Topic


class Supervision(StrEnum):
    """How close the mentor stood. Only an attempt made alone, watched from where it can be stopped, is a proof."""

    WATCHED = "watched"  # the mentor did it, the person watched
    BESIDE = "mentor beside"
    ALONE = "alone"


@dataclass(frozen=True, slots=True, kw_only=True)
class Observation:
    """A signed observation of one attempt.

    ``done_only`` marks a job closed with the task named; ``observer`` is then whoever confirmed it, ``passed`` is True.
    Any record with ``passed`` False is a failed attempt: passes before it count no more.
    """

    record: int
    happened_at: datetime
    task: str
    task_version: int
    observer: str
    passed: bool
    workshop: str
    done_only: bool = False
    supervision: Supervision = Supervision.ALONE


@dataclass(frozen=True, slots=True, kw_only=True)
class Appointment:
    """A manager's written naming for job types, from and through local days; ``entered_on`` is the day it was written.

    One that starts later than it was written gains nothing unless ``confirmed_on`` is on or after ``from_day``. From
    ``withdrawn_from`` on it is void. ``vehicle_families`` () are all; ``may_not`` says in words what is left out.
    """

    record: int
    job_types: frozenset[str]
    workshop: str
    from_day: date
    through_day: date
    entered_on: date
    by: str
    confirmed_on: date | None = None
    withdrawn_from: date | None = None
    vehicle_families: tuple[str, ...] = ()
    may_not: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class MentorAppointment:
    """A manager's written naming as mentor for practical tasks; days as in ``Appointment``.

    An ``outside`` mentor works elsewhere: an outside certificate carries their authority instead of a sign-off here.
    Where a certificate carries it, a second person has to have signed the appointment: ``second_by`` on ``second_on``.
    """

    record: int
    tasks: frozenset[str]
    workshop: str
    from_day: date
    through_day: date
    entered_on: date
    by: str
    confirmed_on: date | None = None
    withdrawn_from: date | None = None
    outside: bool = False
    second_by: str = ""
    second_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OutsideCertificate:
    """Issued elsewhere; ``tasks`` are those that its scope names. ``entered_on`` None: not before it was issued.

    One issued later than it was entered gains nothing unless ``confirmed_on`` is on or after ``issued_on``.
    ``verified_on`` are the days on which its issuer was asked and confirmed it; from ``withdrawn_from`` on it is void.
    """

    record: int
    kind: str
    issued_on: date
    through_day: date | None
    tasks: frozenset[str] = frozenset()
    entered_on: date | None = None
    confirmed_on: date | None = None
    verified_on: tuple[date, ...] = ()
    withdrawn_from: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Instruction:
    """Instruction given at a workshop on a local day."""

    record: int
    given_on: date
    workshop: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Release:
    """One person's word that a stand-down may end, and the records of fresh evidence that it stands on."""

    record: int
    happened_at: datetime
    by: str
    evidence: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StandDown:
    """``job_types`` None: everything. It ends only by recorded releases: two people's after an ``incident``.

    ``job_given_by`` is whoever gave the job on which it happened ("": nobody); they do not release.
    """

    record: int
    happened_at: datetime
    job_types: frozenset[str] | None
    incident: bool = False
    medical: bool = False
    job_given_by: str = ""
    releases: tuple[Release, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class AgeEntry:
    """Under 18 or not, as entered on a local day; the newest entry stands. A birthday alone changes nothing."""

    record: int
    entered_on: date
    under_18: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class UnsafeAnswer:
    """An unsafe answer; ``closed_at`` is the later of the talk-through and the right answer (see ``unsafe.py``)."""

    record: int
    question: str
    topic: Topic
    consequence: Consequence
    happened_at: datetime
    talked_through: bool = False
    right_since: bool = False
    closed_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionGate:
    """One accepted question of the workshop's regime, and this person's gate on it (None: never answered).

    ``seconds`` is what it takes this person, ``chance_floor`` the chance of a right guess; both only estimate remedies.
    """

    question: str
    topic: Topic
    consequence: Consequence
    accepted_on: date
    gate: Gate | None
    answered: bool
    seconds: float = 35.0
    chance_floor: float = 1 / 3


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonEvidence:
    """All that is on record of one person. ``unreadable`` names records that could not be read: any one blocks."""

    person: str
    observations: tuple[Observation, ...] = ()
    appointments: tuple[Appointment, ...] = ()
    mentor_appointments: tuple[MentorAppointment, ...] = ()
    certificates: tuple[OutsideCertificate, ...] = ()
    instructions: tuple[Instruction, ...] = ()
    stand_downs: tuple[StandDown, ...] = ()
    ages: tuple[AgeEntry, ...] = ()
    unreadable: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SmallShop:
    """The exception of a workshop with too few mentors, for practical tasks (None: all); days as in ``Appointment``.

    Two people sign it: ``by`` and ``second_by``.
    """

    record: int
    tasks: frozenset[str] | None
    workshop: str
    from_day: date
    through_day: date
    entered_on: date
    by: str
    second_by: str
    confirmed_on: date | None = None
    withdrawn_from: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Supervisor:
    """Someone who is cleared alone for a job type, until then, and may supervise."""

    person: str
    job_type: str
    until: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """Everything ``decide`` looks at: one person at one workshop, as known at record ``head``.

    ``head`` is the newest record number read and ``newest_recorded_at`` its instant; ``read_at`` is the server's clock
    when it was read (None: taken to be the instant asked about, so a question about the past has to give it).
    ``parameters`` are those of the numbered ``parameter_set`` with which gates and moments were folded.
    ``colleagues`` holds everybody who signed anything, and the mentors who may be named in a remedy.
    """

    of: PersonEvidence
    workshop: str
    zone: str
    workshop_opened_on: date | None
    gates: tuple[QuestionGate, ...] = ()
    unsafe: tuple[UnsafeAnswer, ...] = ()
    moments: PersonMoments | None = None
    parameter_set: int = 1
    parameters: Parameters = DEFAULT
    colleagues: Mapping[str, PersonEvidence] = field(default_factory=dict)
    supervisors: tuple[Supervisor, ...] = ()
    small_shops: tuple[SmallShop, ...] = ()
    head: int = 0
    newest_recorded_at: datetime | None = None
    read_at: datetime | None = None
    chain_sound: bool = False
