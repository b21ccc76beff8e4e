"""When a paper counts on a local day: the same for a person and for their mentors."""

from __future__ import annotations

from datetime import date, timedelta

from training.core.permission.evidence import Appointment, MentorAppointment, OutsideCertificate, SmallShop
from training.core.trade.calendar import add_months


def in_force(appointment: Appointment | MentorAppointment | SmallShop, workshop: str, day: date) -> bool:
    """Whether an appointment, or a small shop's exception, gives anything on a local day, its age apart."""
    return (
        appointment.workshop == workshop
        and appointment.from_day <= day <= appointed_through(appointment)
        and appointment.entered_on <= day
        and confirmed(appointment.from_day, appointment.entered_on, appointment.confirmed_on, day)
    )


def appointed_through(appointment: Appointment | MentorAppointment | SmallShop) -> date:
    """The last day of an appointment or exception: its own, or the day before it was withdrawn."""
    return _unless_withdrawn(appointment.through_day, appointment.withdrawn_from)


def twice_signed(appointment: MentorAppointment, mentor: str, day: date) -> bool:
    """Whether somebody who is neither the mentor nor who appointed them has signed it as well, by a local day."""
    by_another = appointment.second_by not in ("", appointment.by, mentor)
    return by_another and appointment.second_on is not None and appointment.second_on <= day


def confirmed(from_day: date, entered_on: date, confirmed_on: date | None, day: date) -> bool:
    """What starts later than it was written gains nothing until somebody confirms it on or after that day."""
    return from_day <= entered_on or (confirmed_on is not None and from_day <= confirmed_on <= day)


def certificate_in_force(
    certificate: OutsideCertificate, months: int, day: date, verify_months: int | None = None
) -> bool:
    """Whether an outside certificate counts on a local day, is at most ``months`` old and was checked with its issuer
    within ``verify_months`` (None: not asked).
    """
    entered = certificate.entered_on or certificate.issued_on
    in_time = certificate.issued_on <= day <= certificate_through(certificate, months)
    checked = verify_months is None or day <= verified_through(certificate, verify_months, day)
    return in_time and checked and confirmed(certificate.issued_on, entered, certificate.confirmed_on, day)


def certificate_through(certificate: OutsideCertificate, months: int) -> date:
    """The last day of an outside certificate: its own day, and never longer than ``months`` from issue."""
    by_age = add_months(certificate.issued_on, months)
    last = by_age if certificate.through_day is None else min(by_age, certificate.through_day)
    return _unless_withdrawn(last, certificate.withdrawn_from)


def verified_through(certificate: OutsideCertificate, verify_months: int, day: date) -> date:
    """The last day on which it need not be checked with its issuer again, by the checks up to ``day``.

    Whoever entered it saw it: that is the first check.
    """
    entered = certificate.entered_on or certificate.issued_on
    checks = [entered, *(on for on in certificate.verified_on if on <= day)]
    return add_months(max(checks), verify_months)


def _unless_withdrawn(through: date, withdrawn_from: date | None) -> date:
    return through if withdrawn_from is None else min(through, withdrawn_from - timedelta(days=1))
