"""May this job start, with these people, this kit and these papers? Empty means yes; else everything that is missing.

Pure and total: what is not known, not of this moment or cannot be made sense of counts as missing. It is about people,
kit and papers; it never says anything of the vehicle.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from enum import StrEnum
from typing import Final

from training.core.permission.decision import Decision, Mode
from training.core.permission.evidence import Appointment
from training.core.permission.rule_book import JobType
from training.core.permission.scope import outside_scope
from training.core.trade.errors import BadInput
from training.core.trade.fitness import Job, Kit, PreUseCheck, fitness, pre_use_reasons
from training.core.trade.isolation import VoltageClass, voltage_class
from training.core.trade.meters import Current
from training.core.trade.reasons import Reason, because, refused

SECOND_PERSON: Final = "second person"
LONGEST: Final = timedelta(hours=10)
UNCHECKED_KINDS: Final = frozenset(
    {"lock"}
)  # nothing to test before use; everything else is looked at or tried each day
PERSONAL_KINDS: Final = frozenset({"gloves", "visor", "lock"})  # one each: never shared between lead and second person

_CURRENTS: Final[tuple[Current, Current]] = ("DC", "AC")
_PRACTICE: Final = "common practice of the trade, no source"
_LOCKS: Final = "lockout principles; 29 CFR 1910.147(e)(3) as benchmark"
_CLEARANCE: Final = "Hookside: start of work asks the clearance at this moment, to beyond the planned end"
_SUPERVISION: Final = "EAWR 1989 reg 16; supervising is all that a supervisor does"
_SECOND: Final = "DGUV Regel 103-011; common practice of the trade"
_LIVE_WORK: Final = "EAWR 1989 reg 14; 29 CFR 1910.333(a)(1); DGUV Regel 103-011: a written order for each job"
_VOLTAGE: Final = "ISO 6469-3 voltage classes; kit is chosen by the highest working voltage, never by the battery label"


class Group(StrEnum):
    """Where on the answer something missing stands."""

    PEOPLE = "people"
    KIT = "kit"
    PAPERS = "papers"


class Hands(StrEnum):
    """Who holds a kit item on this job."""

    LEAD = "lead"
    SECOND_PERSON = "second person"


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    """One thing that keeps the job from starting. ``subject`` is a person's key, a kit item's name or kind, or ""."""

    group: Group
    subject: str
    reason: Reason


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """Somebody named on the form, the answer worked out at this moment, and the appointments it may stand on."""

    person: str
    decision: Decision
    appointments: tuple[Appointment, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class InHand:
    """A kit item taken to the job. ``check`` is the pre-use check that comes nearest to what is asked."""

    kit: Kit
    hands: Hands
    check: PreUseCheck | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherJob:
    """A job that is not over, with somebody on it; ``person`` "" where its records cannot be read: anybody may be."""

    record: int
    person: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """What is said on the form; None, False and "" alike count as not said. ``planned_end`` is an instant."""

    vehicle: str = ""
    family: str = ""
    stands_by: bool = False
    procedure_opened_today: bool = False
    procedure_edition: str = ""
    ordered_by: str = ""
    why_not_dead: str = ""
    cordon_up: bool = False
    planned_end: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """Everything that a start of work is judged by, at an instant and its local day ``on``.

    ``job`` is what is known of the vehicle. ``second_kinds`` are the kit kinds that the second person has to hold.
    ``other_jobs`` are those that run besides this one; ``untold`` lost their lock in their absence and do not know yet.
    """

    at: datetime
    on: date
    lead: Named | None = None
    second: Named | None = None
    supervisor: Named | None = None
    kit: tuple[InHand, ...] = ()
    second_kinds: tuple[str, ...] = ()
    job: Job = field(default_factory=Job)
    answers: Answers = field(default_factory=Answers)
    other_jobs: tuple[OtherJob, ...] = ()
    untold: frozenset[str] = frozenset()


def may_start(job_type: JobType, start: Start) -> tuple[Missing, ...]:
    """Everything that is missing for this job to start now, people first; empty means that it may."""
    try:
        found = [*_people(job_type, start), *_kit(job_type, start), *_papers(job_type, start)]
    except Exception as fault:  # whatever it is: what cannot be judged does not start
        text = "Something that was entered cannot be made sense of ({fault})."
        return (_paper("unreadable", text, _PRACTICE, fault=type(fault).__name__),)
    return tuple(dict.fromkeys(found))


# ---------------------------------------------------------------- people
def _people(job_type: JobType, start: Start) -> Iterator[Missing]:
    yield from _lead(job_type, start)
    if job_type.at_start.second_person:
        yield from _second(start)
    yield from _busy(job_type, start)


def _lead(job_type: JobType, start: Start) -> Iterator[Missing]:
    lead = start.lead
    if lead is None:
        yield _person("", "no_lead", "Nobody is named to lead the job.", _PRACTICE)
        return
    yield from _cleared(lead, job_type.key, start)
    if lead.decision.mode is Mode.SUPERVISED:
        yield from _supervisor(job_type, lead, start)


def _supervisor(job_type: JobType, lead: Named, start: Start) -> Iterator[Missing]:
    supervisor = start.supervisor
    if supervisor is None:
        text = "May take this job only under supervision: name a supervisor who stays in the bay."
        yield _person(lead.person, "no_supervisor", text, _SUPERVISION)
        return
    if supervisor.person == lead.person or supervisor.person not in lead.decision.supervisors:
        yield _person(supervisor.person, "not_a_supervisor", "May not supervise this job.", _SUPERVISION)
    second = start.second if job_type.at_start.second_person else None
    if second is not None and supervisor.person == second.person:
        text = "Cannot supervise and be second person: each of them has nothing else to do."
        yield _person(supervisor.person, "supervises_and_stands_by", text, _SUPERVISION)
    yield from _cleared(supervisor, job_type.key, start, alone=True)


def _second(start: Start) -> Iterator[Missing]:
    second = start.second
    if second is None:
        yield _person("", "no_second_person", "This job asks for a second person, and nobody is named.", _SECOND)
        return
    if start.lead is not None and second.person == start.lead.person:
        yield _person(second.person, "leads_and_stands_by", "Cannot lead and be second person.", _SECOND)
    yield from _cleared(second, SECOND_PERSON, start, alone=True)
    if start.answers.stands_by is not True:
        text = "It is not said that the second person is in sight, knows the switch-off and has nothing else to do."
        yield _person(second.person, "does_not_stand_by", text, _SECOND)


def _cleared(named: Named, role: str, start: Start, *, alone: bool = False) -> Iterator[Missing]:
    """Cleared for the role, worked out for this moment, to beyond the planned end; every gap where not."""
    decision, person = named.decision, named.person
    if decision.job_type != role or decision.at != start.at:
        text = "The answer for this person is not about this job at this moment. Send the form again."
        yield _person(person, "answer_of_another_moment", text, _CLEARANCE)
    if decision.mode not in ((Mode.ALONE,) if alone else (Mode.ALONE, Mode.SUPERVISED)):
        yield _person(person, "may_not_take", "May not take this yet: {role}.", _CLEARANCE, role=role)
        for gap in decision.gaps:
            yield _person(person, "gap", "{gap}", gap.source, gap=gap.sentence)
        return
    end = start.answers.planned_end
    if decision.until is None or decision.until <= start.at or (end is not None and decision.until < end):
        text = "May take this, but not to the planned end: {role}."
        yield _person(person, "ends_before", text, _CLEARANCE, role=role)
    for reason in outside_scope(named.appointments, start.answers.family):
        yield Missing(group=Group.PEOPLE, subject=person, reason=reason)


def _busy(job_type: JobType, start: Start) -> Iterator[Missing]:
    second = start.second if job_type.at_start.second_person else None
    here = {named.person for named in (start.lead, second, start.supervisor) if named is not None}
    for other in start.other_jobs:
        if other.person == "":
            text = "A job on record cannot be read (record {record}): anybody may be on it. A manager looks into it."
            yield _person("", "other_job_unreadable", text, _PRACTICE, record=other.record)
        elif other.person in here:
            text = "Is on another job that is not over (record {record}). It is closed or handed over first."
            yield _person(other.person, "on_another_job", text, _PRACTICE, record=other.record)
    for person in sorted(start.untold & here):
        text = "Their lock was taken off while they were away, and nobody has told them yet."
        yield _person(person, "not_told", text, _LOCKS)


# ---------------------------------------------------------------- kit
def _kit(job_type: JobType, start: Start) -> Iterator[Missing]:
    for in_hand in start.kit:
        yield from (_thing(in_hand.kit.name, reason) for reason in _unfit(in_hand, start))
    names = [in_hand.kit.name for in_hand in start.kit]
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield _thing(name, because("in_two_hands", "It cannot be in two people's hands.", _PRACTICE))
    yield from _kinds_missing(job_type, start)


def _unfit(in_hand: InHand, start: Start) -> Iterator[Reason]:
    kit, check = in_hand.kit, in_hand.check
    yield from fitness(kit, start.job, start.on).reasons
    if kit.kind not in UNCHECKED_KINDS:
        of_this = check if check is not None and check.name == kit.name else None
        yield from pre_use_reasons(of_this, _wearer(in_hand.hands, start), start.on)


def _wearer(hands: Hands, start: Start) -> str:
    named = start.second if hands is Hands.SECOND_PERSON else start.lead
    return named.person if named is not None else ""


def _kinds_missing(job_type: JobType, start: Start) -> Iterator[Missing]:
    """Every kind that is asked for, in the right hands; what is not personal may be held by the second person."""
    by_lead = {i.kit.kind for i in start.kit if i.hands is Hands.LEAD}
    by_second = {i.kit.kind for i in start.kit if i.hands is Hands.SECOND_PERSON}
    stands_by = bool(job_type.at_start.second_person)
    shared = by_second - PERSONAL_KINDS if stands_by else frozenset[str]()
    for kind in job_type.at_start.kit_kinds:
        if kind not in by_lead | shared:
            yield _thing(kind, because("kind_missing", "Not in hand: {kind}.", "the rule book", kind=kind))
    for kind in start.second_kinds if stands_by else ():
        if kind not in by_second:
            text = "Not in the second person's hands: {kind}."
            yield _thing(kind, because("second_kind_missing", text, _SECOND, kind=kind))


# ---------------------------------------------------------------- papers
def _papers(job_type: JobType, start: Start) -> Iterator[Missing]:
    asked, said = job_type.at_start, start.answers
    if not said.vehicle.strip():
        yield _paper("no_vehicle", "The vehicle is not named: give its plate, or the end of its VIN.", _PRACTICE)
    yield from (Missing(group=Group.PAPERS, subject="", reason=reason) for reason in voltage_reasons(start.job))
    if asked.maker_procedure and (said.procedure_opened_today is not True or not said.procedure_edition.strip()):
        text = (
            "The maker's procedure for this vehicle is not at hand (opened today, its edition). No procedure, no job."
        )
        yield _paper("no_procedure", text, _PRACTICE)
    if asked.live_work_order and not (said.ordered_by.strip() and said.why_not_dead.strip()):
        text = "No live-work order for this job: who ordered it, and why it cannot be done dead."
        yield _paper("no_live_work_order", text, _LIVE_WORK)
    if asked.cordon and said.cordon_up is not True:
        yield _paper("no_cordon", "The cordon is not up, or the bay is not signed.", "EN 50110-1; " + _PRACTICE)
    yield from _planned_end(said.planned_end, start.at)


def voltage_reasons(job: Job) -> Iterator[Reason]:
    """Why the highest working voltages cannot be gone by: not known, none, or not to be meant in V."""
    if job.highest_dc_v is None or job.highest_ac_v is None:
        text = "The highest working voltage anywhere in the HV system, DC or AC, is not known. Unknown counts as no."
        yield because("voltage_unknown", text, _VOLTAGE)
        return
    try:
        odd = [(volts, kind) for volts, kind in zip(job.voltages_v, _CURRENTS, strict=True) if _not_meant(volts, kind)]
    except BadInput as problem:
        yield refused(problem, _VOLTAGE)
        return
    if max(job.voltages_v) == 0:
        text = "Both voltages are 0: that is no HV vehicle. Enter the highest ones."
        yield because("voltage_zero", text, _VOLTAGE)
    for volts, kind in odd:
        text = (
            "{volts} V {kind} cannot be meant: give it in V, not in kV or mV; class B ends at 1500 V DC and 1000 V AC."
        )
        yield because("voltage_unit", text, _VOLTAGE, volts=volts, kind=kind)


def _not_meant(volts: float, kind: Current) -> bool:
    return 0 < volts < 1 or voltage_class(volts, kind) is VoltageClass.BEYOND_B


def _planned_end(end: datetime | None, at: datetime) -> Iterator[Missing]:
    if end is None:
        yield _paper("no_planned_end", "It is not said when the job is planned to end.", _PRACTICE)
    elif end <= at:
        yield _paper("end_is_past", "The planned end is already past.", _PRACTICE)
    elif end - at > LONGEST:
        text = "No job spans more than {hours} hours: start anew for the rest."
        yield _paper("too_long", text, _PRACTICE, hours=int(LONGEST / timedelta(hours=1)))


def _person(person: str, code: str, text: str, source: str, **values: object) -> Missing:
    return Missing(group=Group.PEOPLE, subject=person, reason=because(code, text, source, **values))


def _thing(subject: str, reason: Reason) -> Missing:
    return Missing(group=Group.KIT, subject=subject, reason=reason)


def _paper(code: str, text: str, source: str, **values: object) -> Missing:
    return Missing(group=Group.PAPERS, subject="", reason=because(code, text, source, **values))
