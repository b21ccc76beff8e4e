"""Requirements that are papers: outside certificate, appointment, instruction."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from training.core.permission import remedies
from training.core.permission.decision import Gap, Ground
from training.core.permission.ends import at_close_of
from training.core.permission.evidence import Appointment, OutsideCertificate
from training.core.permission.findings import Case, Finding, missing
from training.core.permission.rule_book import AppointedFor, CertificateOf, InstructedWithin
from training.core.permission.validity import (
    appointed_through,
    certificate_in_force,
    certificate_through,
    in_force,
    verified_through,
)
from training.core.trade.calendar import add_months

Lasting = tuple[date, int]
"""The last valid day of a paper, and its record."""


def check_certificate(case: Case, rule: CertificateOf) -> Finding:
    """An outside certificate of this kind that counts today."""
    lasting = [
        (_last_day(c, rule, case.today), c.record)
        for c in case.evidence.of.certificates
        if c.kind == rule.kind and certificate_in_force(c, rule.valid_months, case.today, rule.verify_months)
    ]
    if not lasting:
        to_check = any(
            c.kind == rule.kind and certificate_in_force(c, rule.valid_months, case.today)
            for c in case.evidence.of.certificates
        )
        gap = Gap(
            ground=Ground.CERTIFICATE,
            subject=rule.kind,
            sentence=rule.sentence,
            source=rule.source,
            remedy=remedies.entry(case.today) if to_check else remedies.certificate(),
            facts=(("valid_months", rule.valid_months), ("to_be_checked_with_issuer", to_check)),
        )
        return missing(gap)
    return _holds(case, lasting, Ground.CERTIFICATE, rule.kind)


def _last_day(certificate: OutsideCertificate, rule: CertificateOf, today: date) -> date:
    through = certificate_through(certificate, rule.valid_months)
    if rule.verify_months is None:
        return through
    return min(through, verified_through(certificate, rule.verify_months, today))


def appointments(case: Case, job_type: str, rule: AppointedFor) -> list[Appointment]:
    """Appointments for this job type that count today; nobody appoints themselves."""
    return [
        a
        for a in case.evidence.of.appointments
        if job_type in a.job_types
        and a.by != case.person
        and in_force(a, case.evidence.workshop, case.today)
        and case.today <= appointment_through(a, rule)
    ]


def appointment_through(appointment: Appointment, rule: AppointedFor) -> date:
    """The last day of an appointment: its own, and never longer than the rule's months from its first day."""
    return min(appointed_through(appointment), add_months(appointment.from_day, rule.valid_months))


def check_appointed(case: Case, job_type: str, rule: AppointedFor) -> Finding:
    """A manager's appointment for this job type that counts today."""
    lasting = [(appointment_through(a, rule), a.record) for a in appointments(case, job_type, rule)]
    if not lasting:
        gap = Gap(
            ground=Ground.APPOINTMENT,
            subject=job_type,
            sentence=rule.sentence,
            source=rule.source,
            remedy=remedies.signature(case.today),
            facts=(("valid_months", rule.valid_months),),
        )
        return missing(gap)
    return _holds(case, lasting, Ground.APPOINTMENT, job_type)


def check_instructed(case: Case, rule: InstructedWithin) -> Finding:
    """Instruction at this workshop within the months; whose age is not on record counts as under 18."""
    months = rule.months if case.under_18 is False else min(rule.months, rule.months_under_18)
    given = [
        (add_months(i.given_on, months), i.record)
        for i in case.evidence.of.instructions
        if i.workshop == case.evidence.workshop and i.given_on <= case.today
    ]
    lasting = [(through, record) for through, record in given if case.today <= through]
    if not lasting:
        gap = Gap(
            ground=Ground.INSTRUCTION,
            subject="instruction",
            sentence=rule.sentence,
            source=rule.source,
            remedy=remedies.instruction(case.today),
            facts=(("months", months),),
        )
        return missing(gap)
    return _holds(case, lasting, Ground.INSTRUCTION, "instruction")


def _holds(case: Case, lasting: Iterable[Lasting], ground: Ground, subject: str) -> Finding:
    """The paper that lasts longest proves it; of equals the earliest record."""
    through, record = max(lasting, key=lambda paper: (paper[0], -paper[1]))
    return Finding(endings=(at_close_of(through, case.zone, ground, subject),), records=(record,))
