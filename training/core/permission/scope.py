"""Which vehicle families an appointment reaches: a person may be cleared for a job type and not for this vehicle."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Final

from training.core.permission.evidence import Appointment
from training.core.permission.papers import appointment_through
from training.core.permission.rule_book import AppointedFor, JobType
from training.core.permission.validity import appointed_through, in_force
from training.core.trade.reasons import Reason, because

_SCOPE: Final = "the written appointment: vehicle families and what is left out"


def counting_appointments(
    appointments: Iterable[Appointment], job_type: JobType, *, person: str, workshop: str, on: date, ends_on: date
) -> tuple[Appointment, ...]:
    """The appointments for a job type that count on the day of a job and last to the day on which it ends."""
    rule = next((r for r in job_type.requirements if isinstance(r, AppointedFor)), None)
    return tuple(
        a
        for a in appointments
        if job_type.key in a.job_types
        and a.by != person
        and in_force(a, workshop, on)
        and ends_on <= (appointment_through(a, rule) if rule else appointed_through(a))
    )


def outside_scope(appointments: Iterable[Appointment], family: str) -> tuple[Reason, ...]:
    """Why none of these appointments reaches a vehicle of this family; nothing to say where there is no appointment."""
    found = list(appointments)
    named = sorted({each for a in found for each in a.vehicle_families})
    if not found or any(_reaches(a, family) for a in found):
        return ()
    if not family.strip():
        text = "The appointment is for these vehicle families only: {families}. This vehicle's family is not said."
        return (because("family_unknown", text, _SCOPE, families=", ".join(named)),)
    text = "The appointment is for these vehicle families only: {families}. This vehicle is: {family}."
    return (because("not_for_family", text, _SCOPE, families=", ".join(named), family=family.strip()),)


def left_out(appointments: Iterable[Appointment]) -> tuple[str, ...]:
    """What the appointments leave out, in their own words, each once: to be read again before a job."""
    return tuple(dict.fromkeys(said for a in appointments for said in a.may_not))


def _reaches(appointment: Appointment, family: str) -> bool:
    families = {_same(each) for each in appointment.vehicle_families}
    return not families or _same(family) in families


def _same(family: str) -> str:
    return " ".join(family.split()).casefold()
