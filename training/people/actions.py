"""Everything that is entered about a person: appointments, certificates, instruction, age; stand-downs stand beside.

Each action checks, then writes one record about the person. Workshops are named as well only where other people's
clearances may stand on this person's signature as a mentor.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime

from django.db import transaction
from django.utils.translation import gettext as _

from training.core.permission.evidence import Appointment, MentorAppointment, PersonEvidence
from training.core.permission.validity import appointed_through
from training.core.trade.calendar import local_day
from training.people import checks, facts
from training.people.attempts import forget
from training.people.models import Person, RoleHeld, Workshop, WorksTowards
from training.people.queries import (
    papers_not_withdrawn,
    papers_of,
    papers_written,
    was_ever_mentor,
)
from training.people.refusal import Refusal
from training.people.roster import Entry
from training.people.writing import lock, refuse_repeat, write
from training.records.models import Record

ROSTER = "roster"
WITHDRAWABLE = (facts.Appointed, facts.MentorAppointed, facts.CertificateSeen)


@transaction.atomic
def appoint(
    *,
    person: Person,
    job_types: Iterable[str],
    workshop: Workshop,
    from_day: date,
    through_day: date,
    reason: str,
    by: Person,
    at: datetime,
    at_most_months: int = 12,
    vehicle_families: Sequence[str] = (),
    may_not: Sequence[str] = (),
) -> Record:
    """Name a person for job types at a workshop. Whoever calls has checked that the rule book has these job types.

    ``vehicle_families`` () are all; ``may_not`` says what is left out. One that would overlap another for the same job
    type is refused: which of the two counts must not be left open.
    """
    days = _days(person, workshop, from_day, through_day, by, at, at_most_months)
    fact = facts.Appointed(
        job_types=checks.named(job_types, "job_types"),
        workshop=workshop.key,
        reason=checks.worded(reason),
        by=by.key,
        vehicle_families=checks.listed(vehicle_families, "vehicle_families"),
        may_not=checks.listed(may_not, "may_not"),
        **days,
    )
    return _write_appointment(fact, person, at)


@transaction.atomic
def appoint_mentor(
    *,
    person: Person,
    tasks: Iterable[str],
    workshop: Workshop,
    from_day: date,
    through_day: date,
    reason: str,
    by: Person,
    at: datetime,
    at_most_months: int = 12,
    outside: bool = False,
) -> Record:
    """Name a person to observe practical tasks at a workshop. Whoever calls has checked that these tasks exist.

    ``outside``: they work elsewhere. One that would overlap another for the same task is refused.
    """
    days = _days(person, workshop, from_day, through_day, by, at, at_most_months)
    named, reason = checks.named(tasks, "tasks"), checks.worded(reason)
    fact = facts.MentorAppointed(tasks=named, workshop=workshop.key, reason=reason, by=by.key, outside=outside, **days)
    return _write_appointment(fact, person, at)


@transaction.atomic
def confirm(*, person: Person, record: int, by: Person, at: datetime) -> Record:
    """Put an appointment into force whose first day has come: the day alone gives nothing."""
    checks.entered_by_manager(person, by)
    lock(person)
    found = _appointment(person, record)
    today = local_day(at, Workshop.objects.get(key=found.workshop, group_id=person.group_id).zone)
    if today < found.from_day:
        raise Refusal(_("Its first day is %(day)s. Confirm it then.") % {"day": found.from_day.isoformat()})
    if found.confirmed_on is not None:
        raise Refusal(_("This appointment is confirmed already."))
    fact = facts.Confirmed(record=record, confirmed_on=today, by=by.key)
    return write(fact, person, at, signs_for_others=isinstance(found, MentorAppointment))


def check_withdrawal(*, person: Person, record: int, from_day: date, reason: str, by: Person, at: datetime) -> None:
    """Refuse a withdrawal that may not be recorded; nothing is written."""
    checks.entered_by_manager(person, by)
    checks.worded(reason)
    papers = [one for one in papers_written(person) if one.number == record and isinstance(one.fact, WITHDRAWABLE)]
    if not papers:
        raise Refusal(_("There is no such paper of %(name)s.") % {"name": person.full_name})
    fact = papers[0].fact
    first = fact.issued_on if isinstance(fact, facts.CertificateSeen) else getattr(fact, "from_day", from_day)
    if not first <= from_day <= local_day(at, person.workshop.zone):
        sentence = _("Give a day from its first day, %(day)s, to today.")
        raise Refusal(sentence % {"day": first.isoformat()}, "from_day")


@transaction.atomic
def withdraw(*, person: Person, record: int, from_day: date, reason: str, by: Person, at: datetime) -> Record:
    """Make an appointment or an outside certificate void from a day on, today or in the past.

    What others' sign-offs stood on falls with it: whoever calls has shown who is affected.
    """
    lock(person)
    check_withdrawal(person=person, record=record, from_day=from_day, reason=reason, by=by, at=at)
    fact = facts.Withdrawn(record=record, from_day=from_day, reason=checks.worded(reason), by=by.key)
    return write(fact, person, at, signs_for_others=was_ever_mentor(person))


@transaction.atomic
def verify_certificate(*, person: Person, record: int, how: str, by: Person, at: datetime) -> Record:
    """Enter that the issuer was asked today and confirmed an outside certificate. ``how`` says how it was asked."""
    checks.entered_by_manager(person, by)
    lock(person)
    if record not in {one.record for one in _papers(person).certificates}:
        raise Refusal(_("There is no such certificate of %(name)s.") % {"name": person.full_name})
    today = local_day(at, person.workshop.zone)
    fact = facts.CertificateVerified(record=record, verified_on=today, how=checks.worded(how, "how"), by=by.key)
    return write(fact, person, at, signs_for_others=was_ever_mentor(person))


@transaction.atomic
def enter_certificate(
    *,
    person: Person,
    certificate: str,
    issuer: str,
    issued_on: date,
    through_day: date | None,
    by: Person,
    at: datetime,
    tasks: Iterable[str] = (),
) -> Record:
    """Enter an outside certificate that a manager has seen. ``tasks`` are those that its scope names, if any."""
    today = _today(person, person.workshop, by, at)
    checks.certificate_days(issued_on, through_day, today=today)
    named = sorted({task.strip() for task in tasks} - {""})
    fact = facts.CertificateSeen(
        certificate=checks.worded(certificate, "certificate"),
        issuer=checks.worded(issuer, "issuer"),
        issued_on=issued_on,
        through_day=through_day,
        tasks=named,
        entered_on=today,
        by=by.key,
    )
    return write(fact, person, at, signs_for_others=bool(named))


@transaction.atomic
def instruct(
    *, person: Person, workshop: Workshop, given_on: date, about_what: str, by: Person, at: datetime
) -> Record:
    """Enter an instruction given at a workshop."""
    today = _today(person, workshop, by, at)
    checks.day_of_past(given_on, today=today, oldest_months=checks.OLDEST_INSTRUCTION_MONTHS, field="given_on")
    about_what = checks.worded(about_what, "about_what")
    fact = facts.Instructed(workshop=workshop.key, given_on=given_on, about_what=about_what, by=by.key)
    return write(fact, person, at)


@transaction.atomic
def enter_age(*, person: Person, under_18: bool, by: Person, at: datetime) -> Record:
    """Enter whether a person is under 18 today. A birthday changes nothing until it is entered again."""
    today = _today(person, person.workshop, by, at)
    return write(facts.AgeEntered(under_18=under_18, entered_on=today, by=by.key), person, at)


def read_cautions(*, person: Person, at: datetime) -> None:
    """Keep when the person first confirmed the cautions; later confirmations change nothing."""
    Person.objects.filter(pk=person.pk, cautions_read_at__isnull=True).update(cautions_read_at=at)


def set_password(*, person: Person, password: str) -> None:
    """Set the password; sessions opened with the former one end, and tries at it are forgotten."""
    person.set_password(password)
    person.save(update_fields=["password"])
    forget(person)


@transaction.atomic
def enter_roster(*, entries: Sequence[Entry], workshop: Workshop, at: datetime) -> list[Person]:
    """Add the people of a checked roster, each with roles, aims and age; nobody can sign in yet."""
    added = [_add(entry, workshop) for entry in entries]
    today = local_day(at, workshop.zone)
    for person, entry in zip(added, entries, strict=True):
        write(facts.AgeEntered(under_18=entry.under_18, entered_on=today, by=ROSTER), person, at)
    return added


def _add(entry: Entry, workshop: Workshop) -> Person:
    person = Person.objects.create_person(
        username=entry.username,
        password=None,
        group=workshop.group,
        workshop=workshop,
        given_name=entry.given_name,
        family_name=entry.family_name,
        tally=entry.tally,
        contract=entry.contract,
    )
    RoleHeld.objects.bulk_create(RoleHeld(person=person, role=role) for role in entry.roles)
    WorksTowards.objects.bulk_create(WorksTowards(person=person, job_type=key) for key in entry.works_towards)
    return person


def _today(person: Person, workshop: Workshop, by: Person, at: datetime) -> date:
    """The local day at the workshop, once it is clear that this manager may enter something for this person there."""
    checks.same_group(person, by, workshop)
    checks.entered_by_manager(person, by)
    return local_day(at, workshop.zone)


def _days(
    person: Person, workshop: Workshop, from_day: date, through_day: date, by: Person, at: datetime, at_most_months: int
) -> dict[str, date]:
    """The days of an appointment that this manager may write, once they can be meant."""
    today = _today(person, workshop, by, at)
    checks.appointment_days(from_day, through_day, today=today, at_most_months=at_most_months)
    return {"from_day": from_day, "through_day": through_day, "entered_on": today}


def _write_appointment(fact: facts.Appointed | facts.MentorAppointed, person: Person, at: datetime) -> Record:
    """Write it, unless it says what is on record already or overlaps another for the same job type or task."""
    lock(person)
    refuse_repeat(fact, person, at)
    papers = papers_not_withdrawn(person)  # a disputed one may come to stand again
    if isinstance(fact, facts.MentorAppointed):
        _refuse_insider(fact, papers, person)
        for mentoring in papers.mentor_appointments:
            _refuse_overlap(mentoring, mentoring.tasks & set(fact.tasks), fact)
        return write(fact, person, at, signs_for_others=True)
    _refuse_outsider(fact, papers, person)
    for appointment in papers.appointments:
        _refuse_overlap(appointment, appointment.job_types & set(fact.job_types), fact)
    return write(fact, person, at)


def _refuse_insider(fact: facts.MentorAppointed, papers: PersonEvidence, person: Person) -> None:
    """Whoever takes jobs here is no mentor from outside: their own sign-off here carries their signature."""
    if fact.outside and any(_is_beside(one, fact) for one in papers.appointments):
        sentence = _("%(name)s is appointed for job types here, so is no mentor from outside.")
        raise Refusal(sentence % {"name": person.full_name}, "outside")


def _refuse_outsider(fact: facts.Appointed, papers: PersonEvidence, person: Person) -> None:
    if any(one.outside and _is_beside(one, fact) for one in papers.mentor_appointments):
        sentence = _("%(name)s is a mentor from outside here. Withdraw that appointment first.")
        raise Refusal(sentence % {"name": person.full_name}, "job_types")


def _is_beside(one: Appointment | MentorAppointment, fact: facts.Appointed | facts.MentorAppointed) -> bool:
    """Whether an appointment on record holds at the same workshop on a day on which a new one would."""
    return (
        one.workshop == fact.workshop and one.from_day <= fact.through_day and fact.from_day <= appointed_through(one)
    )


def _refuse_overlap(
    one: Appointment | MentorAppointment, both: frozenset[str], fact: facts.Appointed | facts.MentorAppointed
) -> None:
    """``both`` is what an appointment on record and a new one name alike."""
    if both and _is_beside(one, fact):
        sentence = _(
            "Appointed for %(what)s already, through %(day)s, by record %(number)d. "
            "Begin after that day, or withdraw that one first."
        )
        told = {"what": ", ".join(sorted(both)), "day": appointed_through(one).isoformat(), "number": one.record}
        raise Refusal(sentence % told, "from_day")


def _appointment(person: Person, record: int) -> Appointment | MentorAppointment:
    papers = _papers(person)
    both: tuple[Appointment | MentorAppointment, ...] = (*papers.appointments, *papers.mentor_appointments)
    for found in both:
        if found.record == record:
            return found
    raise Refusal(_("There is no such appointment of %(name)s.") % {"name": person.full_name})


def _papers(person: Person) -> PersonEvidence:
    return papers_of([person.key], chain_id=person.group.chain_id)[person.key]
