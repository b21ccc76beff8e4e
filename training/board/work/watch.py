"""What has fallen while a job runs, worked out anew at every look: clearances of those on it, and the kit in hand.

Nothing is written here. A stand-down since the start of work ends the work even when it is released again.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from typing import Final

from training.bank.rule_books import house_of
from training.board.facts import WorkStarted
from training.board.queries import Reading, decide_one, read_workshop, supervisors_worked_out
from training.board.work.jobs import JobRead
from training.core.permission.decision import Decision, Mode
from training.core.permission.evidence import Appointment, PersonEvidence
from training.core.permission.rule_book import JobType
from training.core.permission.scope import counting_appointments
from training.core.permission.start_of_work import SECOND_PERSON
from training.core.trade.calendar import local_day
from training.core.trade.reasons import Reason, because
from training.equipment.models import KitItem
from training.equipment.queries import KitRow, rows_of
from training.equipment.words import standing
from training.people.models import Person, Workshop
from training.records.queries import Written

_ANEW: Final = "Hookside: clearances and kit are worked out anew at every look while a job runs"


def fallen(workshop: Workshop, job: JobRead, *, at: datetime) -> tuple[Reason, ...]:
    """What of the clearances and kit that the start of work stood on holds no more; nothing for a job not running."""
    return fallen_of(workshop, [job], at=at)[job.key]


def fallen_of(workshop: Workshop, jobs: Sequence[JobRead], *, at: datetime) -> dict[str, tuple[Reason, ...]]:
    """The same for several jobs of a workshop, which is read once, and only where one of them is running."""
    reading = read_workshop(workshop, read_at=at) if any(map(_stands_on, jobs)) else None
    return {job.key: _fallen(reading, job, at) if reading else () for job in jobs}


def _stands_on(job: JobRead) -> bool:
    """Whether the job still stands on the clearances and kit of its start."""
    return job.is_running and not job.state.energised and job.start is not None and job.start.fact is not None


def _fallen(reading: Reading, job: JobRead, at: datetime) -> tuple[Reason, ...]:
    if not _stands_on(job) or job.start is None or job.start.fact is None:
        return ()
    fact = job.start.fact
    return (*_people(reading, job, job.start, fact, at), *_kit(reading.workshop, job, fact, at))


def appointments_of(reading: Reading, person: str, role: JobType, on: date, ends_on: date) -> tuple[Appointment, ...]:
    """The appointments of a person for a role that count on the day of a job and last to the day on which it ends."""
    evidence = reading.everybody.get(person)
    found = evidence.appointments if evidence else ()
    return counting_appointments(found, role, person=person, workshop=reading.workshop.key, on=on, ends_on=ends_on)


# ---------------------------------------------------------------- people
def _people(
    reading: Reading, job: JobRead, row: Written[WorkStarted], fact: WorkStarted, at: datetime
) -> Iterator[Reason]:
    """Lead, second person while needed, and supervisor: each by the role that they have on the job."""
    roles = [(fact.lead, fact.job_type, False), (fact.supervisor, fact.job_type, True)]
    roles += [(fact.second_person, SECOND_PERSON, True)] if job.state.asks_second else []
    people = {person.key: person for person in Person.objects.filter(key__in=[key for key, _role, _alone in roles])}
    for key, role, alone in roles:
        if not key:
            continue
        if not _holds(reading, people.get(key), role, fact.supervisor, alone=alone, at=at):
            yield because(
                "clearance_fell", "{person} may not take this any more: {role}.", _ANEW, person=key, role=role
            )
        elif _stood_down_since(reading.everybody.get(key), role, row.number):
            text = "{person}'s clearance fell since the start of work: a new start of work asks it anew."
            yield because("stood_down_since", text, _ANEW, person=key)


def _holds(reading: Reading, person: Person | None, role: str, supervisor: str, *, alone: bool, at: datetime) -> bool:
    decision = _decided(reading, person, role, at)
    if decision is None or decision.until is None or decision.until <= at:
        return False
    if decision.mode is Mode.SUPERVISED:
        return not alone and supervisor in decision.supervisors
    return decision.mode is Mode.ALONE


def _decided(reading: Reading, person: Person | None, role: str, at: datetime) -> Decision | None:
    if person is None or not person.is_active:
        return None
    supervisors = supervisors_worked_out(reading, besides=person, at=at)
    return decide_one(reading, person, at=at, supervisors=supervisors, job_types=[role]).get(role)


def _stood_down_since(evidence: PersonEvidence | None, role: str, record: int) -> bool:
    found = evidence.stand_downs if evidence else ()
    return any(one.record > record and (one.job_types is None or role in one.job_types) for one in found)


# ---------------------------------------------------------------- kit
def _kit(workshop: Workshop, job: JobRead, fact: WorkStarted, at: datetime) -> Iterator[Reason]:
    """Every item that was in hand: on the register, with nothing against it, and no failed check since."""
    items = list(KitItem.objects.filter(workshop=workshop, key__in=fact.kit).order_by("kind", "ident"))
    for key in sorted(set(fact.kit) - {item.key for item in items}):
        yield because("kit_gone", "A kit item of this job is not on the register any more.", _ANEW, key=key)
    today, house = local_day(at, workshop.zone), house_of(workshop)
    for row in rows_of(items, chain_id=workshop.group.chain_id):
        stands = standing(row, workshop, today, house)
        said = [*stands.reasons, *_failed_check(row)]
        if said:
            text = "{kit} is out: {why} Another one in hand, or the work ends."
            yield because("kit_out", text, _ANEW, kit=row.item.ident, why=" ".join(said))


def _failed_check(row: KitRow) -> Iterator[str]:
    newest = next((check.fact for check in reversed(row.history.checks) if check.fact is not None), None)
    if newest is not None and not newest.passed:
        yield "It failed the check before use."
