"""Facts about people: papers, appointments, stand-downs. Keys are random; names stand in the people tables."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from training.records.facts import Fact


class Appointed(Fact, frozen=True):
    """A manager names a person for job types at a workshop, in writing.

    ``vehicle_families`` [] are all; ``may_not`` says in short sentences what is left out.
    """

    kind: ClassVar[str] = "people.appointed"
    job_types: list[str]
    workshop: str
    from_day: date
    through_day: date
    entered_on: date
    reason: str
    by: str
    vehicle_families: list[str] = []
    may_not: list[str] = []


class MentorAppointed(Fact, frozen=True):
    """A manager names a person to observe these practical tasks at a workshop; an ``outside`` one works elsewhere."""

    kind: ClassVar[str] = "people.mentor_appointed"
    tasks: list[str]
    workshop: str
    from_day: date
    through_day: date
    entered_on: date
    reason: str
    by: str
    outside: bool = False


class SecondSigned(Fact, frozen=True):
    """The second person's signature under the appointment as mentor that ``record`` names."""

    kind: ClassVar[str] = "people.second_signed"
    record: int
    signed_on: date
    by: str


class Confirmed(Fact, frozen=True):
    """Puts an appointment into force that was written for a later day: ``record`` names it."""

    kind: ClassVar[str] = "people.confirmed"
    record: int
    confirmed_on: date
    by: str


class Withdrawn(Fact, frozen=True):
    """An appointment or an outside certificate, which ``record`` names, is void from a local day on."""

    kind: ClassVar[str] = "people.withdrawn"
    record: int
    from_day: date
    reason: str
    by: str


class CertificateVerified(Fact, frozen=True):
    """The issuer of the outside certificate that ``record`` names was asked on a day, and confirmed it."""

    kind: ClassVar[str] = "people.certificate_verified"
    record: int
    verified_on: date
    how: str
    by: str


class StoodDown(Fact, frozen=True):
    """Clearance withdrawn at once. ``job_types`` None: everything. A medical one shows nobody its reason.

    After an ``incident`` (shock, arc, near miss) two people have to release; ``job_given_by`` ("": nobody) may not.
    ``cause`` is one of ``causes.Cause``; "" in records from before there was a list.
    """

    kind: ClassVar[str] = "people.stood_down"
    job_types: list[str] | None
    reason: str
    medical: bool
    by: str
    incident: bool = False
    job_given_by: str = ""
    cause: str = ""


class Released(Fact, frozen=True):
    """One person's word that the stand-down which ``record`` names may end, on the records of fresh ``evidence``."""

    kind: ClassVar[str] = "people.released"
    record: int
    reason: str
    by: str
    evidence: list[int] = []


class CertificateSeen(Fact, frozen=True):
    """An outside certificate, seen by whoever enters it: first aid and CPR, HV course, medical fitness."""

    kind: ClassVar[str] = "people.certificate_seen"
    certificate: str
    issuer: str
    issued_on: date
    through_day: date | None
    tasks: list[str]
    entered_on: date
    by: str


class Instructed(Fact, frozen=True):
    """Instruction given at a workshop on a day."""

    kind: ClassVar[str] = "people.instructed"
    workshop: str
    given_on: date
    about_what: str
    by: str


class AgeEntered(Fact, frozen=True):
    """Whether the person is under 18, as somebody entered it on that day. Turning 18 needs a new entry."""

    kind: ClassVar[str] = "people.age_entered"
    under_18: bool
    entered_on: date
    by: str


class RoleChanged(Fact, frozen=True):
    """A role (manager, author, checker, auditor) was given to the person, ``held``, or taken from them."""

    kind: ClassVar[str] = "people.role_changed"
    role: str
    held: bool
    by: str


class LeavingDay(Fact, frozen=True):
    """The last day of the person with the firm; the newest such record counts. ``last_day`` None: they stay."""

    kind: ClassVar[str] = "people.leaving_day"
    last_day: date | None
    entered_on: date
    by: str


class Countersigned(Fact, frozen=True):
    """The person agrees with the record about them that ``record`` names; it proves nothing more."""

    kind: ClassVar[str] = "people.countersigned"
    record: int
    by: str


class Disputed(Fact, frozen=True):
    """The person says what is wrong with a record about them, which ``written_by`` wrote."""

    kind: ClassVar[str] = "people.disputed"
    record: int
    what: str
    written_by: str
    by: str


class DisputeSettled(Fact, frozen=True):
    """A manager with no part in it settles the dispute that ``record`` names: the disputed record stands, or not."""

    kind: ClassVar[str] = "people.dispute_settled"
    record: int
    stands: bool
    reason: str
    by: str


class WorkshopOpened(Fact, frozen=True):
    """A workshop opens, signed by its first manager and by a second person. About: the workshop's key."""

    kind: ClassVar[str] = "people.workshop_opened"
    name: str
    zone: str
    regime: str
    opened_on: date
    by: str
    second: str


class SmallShopProposed(Fact, frozen=True):
    """A manager proposes the exception of a workshop with too few mentors. ``tasks`` None: all. About: the workshop."""

    kind: ClassVar[str] = "people.small_shop_proposed"
    tasks: list[str] | None
    from_day: date
    through_day: date
    entered_on: date
    reason: str
    by: str


class SmallShopSigned(Fact, frozen=True):
    """The second person signs the exception that ``record`` names. About: the workshop, as all that follows it."""

    kind: ClassVar[str] = "people.small_shop_signed"
    record: int
    signed_on: date
    by: str


class SmallShopConfirmed(Fact, frozen=True):
    """Puts an exception into force that was signed for a later day: ``record`` names it."""

    kind: ClassVar[str] = "people.small_shop_confirmed"
    record: int
    confirmed_on: date
    by: str


class SmallShopWithdrawn(Fact, frozen=True):
    """The exception that ``record`` names is void from a local day on."""

    kind: ClassVar[str] = "people.small_shop_withdrawn"
    record: int
    from_day: date
    reason: str
    by: str
