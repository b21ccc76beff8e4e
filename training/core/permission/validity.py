"""When a paper counts on a local day, and when a stand-down is open: the same for a person and for their mentors."""

from __future__ import annotations

from datetime import date, datetime

from training.core.permission.evidence import Appointment, MentorAppointment, OutsideCertificate, StandDown
from training.core.trade.calendar import add_months


def open_at(stand_down: StandDown, at: datetime) -> bool:
    """Whether a stand-down is open. It never ages out, and a release dated before it releases nothing."""
    released = stand_down.released_at
    return stand_down.happened_at <= at and (released is None or not stand_down.happened_at <= released <= at)


def in_force(appointment: Appointment | MentorAppointment, workshop: str, day: date) -> bool:
    """Whether an appointment gives anything on a local day, its age apart."""
    return (
        appointment.workshop == workshop
        and appointment.from_day <= day <= appointment.through_day
        and appointment.entered_on <= day
        and confirmed(appointment.from_day, appointment.entered_on, appointment.confirmed_on, day)
    )


def confirmed(from_day: date, entered_on: date, confirmed_on: date | None, day: date) -> bool:
    """What starts later than it was written gains nothing until somebody confirms it on or after that day."""
    return from_day <= entered_on or (confirmed_on is not None and from_day <= confirmed_on <= day)


def certificate_in_force(certificate: OutsideCertificate, months: int, day: date) -> bool:
    """Whether an outside certificate counts on a local day and is at most ``months`` old."""
    entered = certificate.entered_on or certificate.issued_on
    in_time = certificate.issued_on <= day <= certificate_through(certificate, months)
    return in_time and confirmed(certificate.issued_on, entered, certificate.confirmed_on, day)


def certificate_through(certificate: OutsideCertificate, months: int) -> date:
    """The last day of an outside certificate: its own day, and never longer than ``months`` from issue."""
    by_age = add_months(certificate.issued_on, months)
    return by_age if certificate.through_day is None else min(by_age, certificate.through_day)
