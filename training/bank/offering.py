"""What the forms about people offer at a workshop: job types and certificates of its rule book, practical tasks."""

from __future__ import annotations

from collections.abc import Sequence

from training.bank.queries import newest_tasks
from training.bank.rule_books import rule_book_of
from training.core.permission.rule_book import AppointedFor, CertificateOf, JobType
from training.people.models import Workshop
from training.people.offers import CERTIFICATES, FIRST_MENTORS, JOB_TYPES, TASKS, Offer, provide

LONGEST_MONTHS = 12


def offer_all() -> None:
    """Tell the forms whom to ask."""
    provide(JOB_TYPES, job_types)
    provide(CERTIFICATES, certificates)
    provide(TASKS, tasks)
    provide(FIRST_MENTORS, first_mentors)


def job_types(workshop: Workshop) -> Sequence[Offer]:
    """The job types of the rule book in force; none without one."""
    book = rule_book_of(workshop)
    return [_job_type(job_type) for job_type in book.job_types] if book else ()


def certificates(workshop: Workshop) -> Sequence[Offer]:
    """The outside certificates that some job type of the rule book asks for, to be checked as often as any does."""
    book = rule_book_of(workshop)
    rules = [asked for job_type in book.job_types for asked in job_type.requirements] if book else []
    asked = [rule for rule in rules if isinstance(rule, CertificateOf)]
    return [
        _certificate(kind, [rule for rule in asked if rule.kind == kind]) for kind in sorted({r.kind for r in asked})
    ]


def tasks(workshop: Workshop) -> Sequence[Offer]:
    """The practical tasks of the group."""
    return [Offer(key=ident, title=row.title) for ident, row in newest_tasks(workshop.group_id).items()]


def first_mentors(workshop: Workshop) -> Sequence[Offer]:
    """How long after its opening the rule book lets certificates carry this workshop's mentors."""
    book = rule_book_of(workshop)
    return [Offer(key=FIRST_MENTORS, title=FIRST_MENTORS, at_most_months=book.bootstrap_months)] if book else ()


def _certificate(kind: str, asked: Sequence[CertificateOf]) -> Offer:
    months = [rule.verify_months for rule in asked if rule.verify_months is not None]
    return Offer(key=kind, title=kind, verify_months=min(months, default=None))


def _job_type(job_type: JobType) -> Offer:
    months = [asked.valid_months for asked in job_type.requirements if isinstance(asked, AppointedFor)]
    return Offer(key=job_type.key, title=job_type.title, at_most_months=min(months, default=LONGEST_MONTHS))
