"""All that one job type asks, judged; what has to be held for it is judged with it, so that no gap stays hidden."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from training.core.permission import remedies
from training.core.permission.decision import Gap, Ground
from training.core.permission.findings import Case, Finding, missing, unreadable
from training.core.permission.papers import check_appointed, check_certificate, check_instructed
from training.core.permission.recall import check_recall
from training.core.permission.rule_book import (
    AppointedFor,
    CertificateOf,
    HoldsJobType,
    InstructedWithin,
    JobType,
    RecallOf,
    Requirement,
    SignOffOf,
)
from training.core.permission.signoffs import check_practice
from training.core.permission.standing import check_stand_downs

Findings = tuple[Finding, ...]


def examine(case: Case, job_type: JobType, held_for: tuple[str, ...] = ()) -> Findings:
    """Every finding on a job type. ``held_for`` are the job types for which it has to be held, so that none goes round.

    Whatever fails while one requirement is judged is a gap of that requirement; the others are judged all the same.
    """
    key = ("job type", job_type.key)
    if key not in case.remembered:
        path = (*held_for, job_type.key)
        judges = [partial(check_stand_downs, case, job_type)]
        judges += [partial(_check, case, job_type, requirement, path) for requirement in job_type.requirements]
        judges.append(partial(check_practice, case, job_type))
        case.remembered[key] = tuple(finding for judge in judges for finding in _safely(job_type.key, judge))
    return case.remembered[key]


def _check(case: Case, job_type: JobType, requirement: Requirement, path: tuple[str, ...]) -> Findings:
    """The findings on one requirement; sign-offs are judged all together, in ``check_practice``."""
    match requirement:
        case RecallOf():
            return check_recall(case, requirement)
        case SignOffOf():
            return ()
        case CertificateOf():
            return (check_certificate(case, requirement),)
        case AppointedFor():
            return (check_appointed(case, job_type.key, requirement),)
        case InstructedWithin():
            return (check_instructed(case, requirement),)
        case HoldsJobType():
            return _check_held(case, requirement, path)
    return (missing(_unknown(requirement)),)


def _check_held(case: Case, requirement: HoldsJobType, path: tuple[str, ...]) -> Findings:
    """A job type that has to be held: all that it asks, by its name; its own sign-offs are no mere practice here."""
    if requirement.job_type in path:
        return (missing(_no_such_job_type(requirement)),)
    try:
        held = case.rule_book.job_type(requirement.job_type)
    except KeyError:
        return (missing(_no_such_job_type(requirement)),)
    return tuple(_through(finding, held.key) for finding in examine(case, held, path))


def _through(finding: Finding, held: str) -> Finding:
    gaps = tuple(gap if gap.through else replace(gap, through=held) for gap in finding.gaps)
    return replace(finding, gaps=gaps, practice=False)


def _safely(subject: str, judge: Callable[[], Findings]) -> Findings:
    try:
        return judge()
    except Exception as fault:  # whatever it is: what cannot be judged is not proved
        return (missing(unreadable(subject, type(fault).__name__)),)


def _no_such_job_type(requirement: HoldsJobType) -> Gap:
    return Gap(
        ground=Ground.JOB_TYPE,
        subject=requirement.job_type,
        sentence=requirement.sentence,
        source=requirement.source,
        remedy=remedies.repair(),
    )


def _unknown(requirement: object) -> Gap:
    return Gap(
        ground=Ground.UNKNOWN_REQUIREMENT,
        subject=type(requirement).__name__,
        sentence="The rule book asks for something that this program does not know.",
        source="rule book",
        remedy=remedies.repair(),
    )
