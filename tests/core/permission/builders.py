"""A small workshop for tests of permission: mentors with outside certificates, one technician, short rule books."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import count
from typing import Any

from training.core.memory.gates import Gate
from training.core.memory.posterior import PersonMoments
from training.core.permission.decide import decide
from training.core.permission.decision import Decision, Gap, Ground, Mode
from training.core.permission.evidence import (
    AgeEntry,
    Appointment,
    Evidence,
    Instruction,
    MentorAppointment,
    Observation,
    OutsideCertificate,
    PersonEvidence,
    QuestionGate,
    Release,
    SmallShop,
    StandDown,
    Supervisor,
    UnsafeAnswer,
)
from training.core.permission.rule_book import (
    AppointedFor,
    AtStart,
    CertificateOf,
    HoldsJobType,
    InstructedWithin,
    JobType,
    RecallOf,
    Requirement,
    RuleBook,
    SignOffOf,
    YoungPerson,
)
from training.core.questions.kinds import Consequence, Topic

AT = datetime(2026, 3, 2, 10, 15, tzinfo=UTC)
TODAY = date(2026, 3, 2)
OPENED = date(2025, 6, 1)
SHOP = "shop"
ZONE = "Europe/Berlin"
TASKS = frozenset({"T1", "T2", "T3"})
WORDS = {"sentence": "A sentence.", "source": "common practice, no source"}

_numbers = count(1)


def number() -> int:
    """A fresh record number."""
    return next(_numbers)


def days_ago(days: float, at: datetime = AT) -> datetime:
    return at - timedelta(days=days)


# ------------------------------------------------------------------------------------------------------- rule books


def sign_off(
    task: str = "T1",
    n: int = 1,
    k: int = 1,
    d: int = 1,
    *,
    months: int = 12,
    within: int | None = None,
    beside: int = 0,
) -> SignOffOf:
    return SignOffOf(
        task=task,
        observations=n,
        mentors=k,
        days=d,
        valid_months=months,
        done_within_days=within,
        beside_first=beside,
        **WORDS,
    )


def certificate_of(kind: str = "first aid and CPR", months: int = 24, verify: int | None = None) -> CertificateOf:
    return CertificateOf(kind=kind, valid_months=months, verify_months=verify, **WORDS)


def appointed(months: int = 12) -> AppointedFor:
    return AppointedFor(valid_months=months, **WORDS)


def instructed(months: int = 12, under_18: int = 6) -> InstructedWithin:
    return InstructedWithin(months=months, months_under_18=under_18, **WORDS)


def holds(key: str) -> HoldsJobType:
    return HoldsJobType(job_type=key, **WORDS)


def recall_of(
    *topics: Topic, life: float = 0.6, mean: float | None = 0.4, most: int | None = None, a_topic: int | None = None
) -> RecallOf:
    return RecallOf(
        topics=topics or (Topic.RESCUE,),
        life_floor=life,
        topic_mean_floor=mean,
        most_life_questions=most,
        most_a_topic=a_topic,
        **WORDS,
    )


def job_type(
    *requirements: Requirement,
    key: str = "J",
    young: YoungPerson = YoungPerson.ALONE,
    supervised: bool = True,
) -> JobType:
    return JobType(
        key=key,
        title=f"Job type {key}",
        says="Something.",
        requirements=requirements,
        young_person=young,
        supervised_allowed=supervised,
        at_start=AtStart(),
    )


def book(*job_types: JobType, **fields: Any) -> RuleBook:
    return RuleBook(version=7, regime="EU", title="Test", note="", job_types=job_types, **fields)


def asks(*requirements: Requirement, **fields: Any) -> RuleBook:
    """A rule book with the one job type "J"."""
    return book(job_type(*requirements, **fields))


# --------------------------------------------------------------------------------------------------------- evidence


def observed(
    at: datetime | None = None, *, by: str = "mia", task: str = "T1", passed: bool = True, **fields: Any
) -> Observation:
    fields.setdefault("record", number())
    fields.setdefault("workshop", SHOP)
    return Observation(happened_at=at or days_ago(10), task=task, task_version=1, observer=by, passed=passed, **fields)


def appointment(*keys: str, by: str = "boss", **fields: Any) -> Appointment:
    from_day = fields.pop("from_day", date(2026, 1, 12))
    fields.setdefault("through_day", date(2027, 1, 11))
    fields.setdefault("entered_on", from_day)
    fields.setdefault("record", number())
    fields.setdefault("workshop", SHOP)
    return Appointment(job_types=frozenset(keys or ("J",)), from_day=from_day, by=by, **fields)


def named_mentor(tasks: frozenset[str] = TASKS, *, by: str = "boss", **fields: Any) -> MentorAppointment:
    """Named as mentor since the opening, by the boss and signed by the chief as well."""
    from_day = fields.pop("from_day", date(2025, 6, 1))
    fields.setdefault("second_by", "chief")
    fields.setdefault("second_on", fields.get("entered_on", from_day))
    fields.setdefault("through_day", date(2030, 1, 1))
    fields.setdefault("entered_on", from_day)
    fields.setdefault("record", number())
    fields.setdefault("workshop", SHOP)
    return MentorAppointment(tasks=tasks, from_day=from_day, by=by, **fields)


def small_shop(tasks: frozenset[str] | None = None, *, by: str = "boss", **fields: Any) -> SmallShop:
    """The exception of a workshop with too few mentors, in force since the year began and signed by boss and chief."""
    from_day = fields.pop("from_day", date(2026, 1, 1))
    fields.setdefault("through_day", date(2030, 1, 1))
    fields.setdefault("entered_on", from_day)
    fields.setdefault("second_by", "chief")
    fields.setdefault("record", number())
    fields.setdefault("workshop", SHOP)
    return SmallShop(tasks=tasks, from_day=from_day, by=by, **fields)


def certificate(
    kind: str = "first aid and CPR", issued_on: date = date(2025, 5, 1), **fields: Any
) -> OutsideCertificate:
    fields.setdefault("record", number())
    fields.setdefault("through_day", None)
    return OutsideCertificate(kind=kind, issued_on=issued_on, **fields)


def instruction(given_on: date = date(2026, 1, 10), **fields: Any) -> Instruction:
    fields.setdefault("record", number())
    fields.setdefault("workshop", SHOP)
    return Instruction(given_on=given_on, **fields)


def stood_down(at: datetime | None = None, *keys: str, **fields: Any) -> StandDown:
    fields.setdefault("record", number())
    return StandDown(happened_at=at or days_ago(1), job_types=frozenset(keys) if keys else None, **fields)


def release(at: datetime, *evidence: int, by: str = "boss", **fields: Any) -> Release:
    fields.setdefault("record", number())
    return Release(happened_at=at, by=by, evidence=evidence, **fields)


def age(under_18: bool = False, entered_on: date = date(2025, 6, 1)) -> AgeEntry:
    return AgeEntry(record=number(), entered_on=entered_on, under_18=under_18)


ADULT = AgeEntry(record=0, entered_on=date(2025, 6, 1), under_18=False)


def person(key: str = "tom", **fields: Any) -> PersonEvidence:
    fields.setdefault("ages", (ADULT,))
    return PersonEvidence(person=key, **fields)


def mentor(key: str, tasks: frozenset[str] = TASKS, **fields: Any) -> PersonEvidence:
    """Named mentor for the tasks and holding an outside certificate that names them."""
    fields.setdefault("mentor_appointments", (named_mentor(tasks),))
    fields.setdefault("certificates", (certificate("HV course", tasks=tasks),))
    return PersonEvidence(person=key, ages=(ADULT,), **fields)


MENTORS = {key: mentor(key) for key in ("mia", "max", "moe")}


def question(
    name: str = "q1",
    *,
    ln_hold: float | None = -3.0,
    last_at: datetime | None = None,
    topic: Topic = Topic.RESCUE,
    consequence: Consequence = Consequence.LIFE,
    accepted_on: date = date(2025, 7, 1),
    **fields: Any,
) -> QuestionGate:
    """A question answered right three days ago (recall low .902 with nothing else known of the person), or never."""
    gate = None if ln_hold is None else Gate(ln_hold=ln_hold, last_at=last_at or days_ago(3))
    fields.setdefault("answered", gate is not None)
    return QuestionGate(
        question=name, topic=topic, consequence=consequence, accepted_on=accepted_on, gate=gate, **fields
    )


def unsafe(question_id: str = "q1", at: datetime | None = None, **fields: Any) -> UnsafeAnswer:
    fields.setdefault("record", number())
    fields.setdefault("topic", Topic.RESCUE)
    fields.setdefault("consequence", Consequence.LIFE)
    return UnsafeAnswer(question=question_id, happened_at=at or days_ago(2), **fields)


def supervisor(key: str = "sue", until: datetime | None = None, job: str = "J") -> Supervisor:
    return Supervisor(person=key, job_type=job, until=until or AT + timedelta(days=90))


def evidence(
    of: PersonEvidence | None = None, *, colleagues: Mapping[str, PersonEvidence] | None = None, **fields: Any
) -> Evidence:
    """Sound evidence of one adult, with three mentors who may observe T1 to T3."""
    fields.setdefault("moments", PersonMoments())
    fields.setdefault("head", 1000)
    fields.setdefault("newest_recorded_at", days_ago(400))
    fields.setdefault("chain_sound", True)
    return Evidence(
        of=of or person(),
        workshop=SHOP,
        zone=ZONE,
        workshop_opened_on=fields.pop("workshop_opened_on", OPENED),
        colleagues=MENTORS if colleagues is None else colleagues,
        **fields,
    )


def with_person(given: Evidence, **changes: Any) -> Evidence:
    return replace(given, of=replace(given.of, **changes))


# ---------------------------------------------------------------------------------------------------------- answers


def answer(given: Evidence, rules: RuleBook, *, at: datetime = AT, key: str = "J") -> Decision:
    return decide(given, rules, key, at=at, known_at=1000)


def grounds(decision: Decision) -> list[Ground]:
    return [gap.ground for gap in decision.gaps]


RANK = {Mode.NOT_CLEARED: 0, Mode.SUPERVISED: 1, Mode.ALONE: 2}


def no_better(less: Decision, more: Decision) -> bool:
    """Whether ``less`` clears no more than ``more``: no higher mode, and in the same mode no later end."""
    if RANK[less.mode] != RANK[more.mode]:
        return RANK[less.mode] < RANK[more.mode]
    return less.until is None or (more.until is not None and less.until <= more.until)


# ----------------------------------------------------------------------------------------------------------- recall

WITH_MEAN = asks(recall_of(life=0.6, mean=0.4))
LIFE_ONLY = asks(recall_of(life=0.6, mean=None, most=24))
WHO = PersonMoments()


def damage(name: str, **fields: Any) -> QuestionGate:
    return question(name, consequence=Consequence.DAMAGE, **fields)


def judged(*questions: QuestionGate, rules: RuleBook = WITH_MEAN, at: datetime = AT, **fields: Any) -> Decision:
    return answer(evidence(gates=questions, **fields), rules, at=at)


def gap_of(decision: Decision, ground: Ground) -> Gap:
    (gap,) = [gap for gap in decision.gaps if gap.ground is ground]
    return gap
