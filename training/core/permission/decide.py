"""May this person take this job type, at this instant, as known at this record; and if not, what is missing?"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import UTC, datetime

from training.core.permission import remedies
from training.core.permission.authority import Court, house_of
from training.core.permission.decision import Decision, Ending, Gap, Ground, Mode
from training.core.permission.ends import at_instant, earliest
from training.core.permission.evidence import Evidence
from training.core.permission.findings import Case, Finding, missing, unreadable
from training.core.permission.requirements import examine
from training.core.permission.rule_book import JobType, RuleBook, YoungPerson
from training.core.permission.shape import misfits
from training.core.permission.standing import check_age, check_records, check_young, most_for_young, under_18
from training.core.trade.calendar import local_day
from training.core.trade.errors import BadInput


def decide(evidence: Evidence, rule_book: RuleBook, job_type: str, *, at: datetime, known_at: int) -> Decision:
    """The one answer (DESIGN section 3): alone, supervised or not cleared, until when, and everything that is missing.

    Pure and total: evidence that cannot be made sense of is not cleared, with a gap that says so. Only a job type that
    the rule book does not have raises KeyError. ``at`` is an instant with its offset, ``known_at`` a record number.
    """
    asked = rule_book.job_type(job_type)
    try:
        return _judged(evidence, rule_book, asked, at, known_at)
    except Exception as fault:  # whatever it is: what cannot be judged is not cleared
        why = fault.what if isinstance(fault, BadInput) else type(fault).__name__
        gaps = (unreadable("evidence", why),)
        return Decision(
            mode=Mode.NOT_CLEARED,
            job_type=job_type,
            at=at,
            known_at=known_at,
            until=None,
            ends_by=None,
            gaps=gaps,
            proofs=(),
            supervisors=(),
            rule_book_version=rule_book.version,
            parameter_set=getattr(evidence, "parameter_set", 0),
            head=getattr(evidence, "head", 0),
        )


def _judged(evidence: Evidence, rule_book: RuleBook, job_type: JobType, at: datetime, known_at: int) -> Decision:
    _refuse_misfits(evidence)
    case = case_of(evidence, rule_book, at)
    _refuse_contradictions(case)
    most = most_for_young(rule_book, job_type)
    young = check_young(case, job_type, most)
    rest = [*check_records(case, known_at), *check_age(case), *examine(case, job_type), *_nothing_asked(job_type)]
    findings = _none_ended([*rest, *young], case.at)
    mode, ends_by, supervisors = _mode(case, job_type, findings, most)
    gaps = [gap for finding in findings for gap in finding.gaps]
    if mode is Mode.NOT_CLEARED and _may_be_supervised(job_type, findings, most):
        gaps.append(_no_supervisor(job_type))
    return Decision(
        mode=mode,
        job_type=job_type.key,
        at=case.at,
        known_at=known_at,
        until=ends_by.at if ends_by else None,
        ends_by=ends_by,
        gaps=_each_once(gaps),
        proofs=tuple(sorted({record for finding in findings for record in finding.records})),
        supervisors=supervisors,
        rule_book_version=rule_book.version,
        parameter_set=evidence.parameter_set,
        head=evidence.head,
    )


def _refuse_misfits(evidence: Evidence) -> None:
    wrong = misfits(evidence, Evidence)
    if wrong:
        raise BadInput(f"{', '.join(wrong)} cannot be read", "Read the evidence again")


def _refuse_contradictions(case: Case) -> None:
    """Two states of one question: neither is proved, and which of them counts must not hang on their order."""
    states = Counter(question.question for question in case.questions)
    twice = sorted(name for name, number in states.items() if number > 1)
    if twice:
        raise BadInput(f"question {', '.join(twice)} is there in two states", "Read the evidence again")


def case_of(evidence: Evidence, rule_book: RuleBook, at: datetime) -> Case:
    """One person's evidence at an instant, as every requirement looks at it."""
    today = local_day(at, evidence.zone)
    return Case(
        evidence=evidence,
        rule_book=rule_book,
        at=at.astimezone(UTC),
        today=today,
        under_18=under_18(evidence.of.ages, today),
        court=Court(house_of(evidence, rule_book)),
        questions=tuple(sorted(set(evidence.gates), key=lambda q: (q.accepted_on, q.question))),
    )


def _mode(
    case: Case, job_type: JobType, findings: Iterable[Finding], most: YoungPerson
) -> tuple[Mode, Ending | None, tuple[str, ...]]:
    """The mode, what ends it, and who may supervise."""
    found, supervisors = list(findings), _supervisors(case, job_type)
    if not any(f.gaps for f in found):
        return Mode.ALONE, earliest(e for f in found for e in f.endings), ()
    if not supervisors or not _may_be_supervised(job_type, found, most):
        return Mode.NOT_CLEARED, None, ()
    last = max(supervisors, key=lambda e: (e.at, e.subject))
    ends_by = earliest([last, *(e for f in found if not f.practice for e in f.endings)])
    return Mode.SUPERVISED, ends_by, tuple(sorted({s.subject for s in supervisors}))


def _may_be_supervised(job_type: JobType, findings: Iterable[Finding], most: YoungPerson) -> bool:
    """Everything but the task's own sign-off and currency holds, and being under 18 where the rule book allows that."""
    gaps = [gap for f in findings if not f.practice for gap in f.gaps]
    blocking = [g for g in gaps if g.ground is not Ground.UNDER_18 or most is YoungPerson.NO]
    return job_type.supervised_allowed is True and not blocking


def _supervisors(case: Case, job_type: JobType) -> list[Ending]:
    """Who is cleared alone for the job type and may supervise, as the end of each."""
    ends = [
        at_instant(s.until, Ground.NO_SUPERVISOR, s.person)
        for s in case.evidence.supervisors
        if s.job_type == job_type.key and s.person != case.person
    ]
    return [end for end in ends if case.at < end.at]


def _nothing_asked(job_type: JobType) -> tuple[Finding, ...]:
    """A job type that asks for nothing would clear everybody for ever: it clears nobody."""
    if job_type.requirements:
        return ()
    gap = Gap(
        ground=Ground.UNKNOWN_REQUIREMENT,
        subject=job_type.key,
        sentence="The job type asks for something.",
        source="rule book",
        remedy=remedies.repair(),
    )
    return (missing(gap),)


def _none_ended(findings: list[Finding], at: datetime) -> list[Finding]:
    """``at`` is compared with ends only: what rounds down to an end not after ``at`` is over."""
    ended = {ending for f in findings for ending in f.endings if ending.at <= at}
    return [*findings, *(missing(unreadable(e.subject, f"{e.because} ended")) for e in ended)]


def _no_supervisor(job_type: JobType) -> Gap:
    return Gap(
        ground=Ground.NO_SUPERVISOR,
        subject=job_type.key,
        sentence="Somebody cleared alone for this job type can supervise.",
        source="EAWR 1989 reg 16: supervision that fits the work; a named, cleared person",
        remedy=remedies.supervisor(),
    )


def _each_once(gaps: Iterable[Gap]) -> tuple[Gap, ...]:
    """A gap that two job types share is told once, by the first that asks."""
    told: dict[object, Gap] = {}
    for gap in gaps:
        told.setdefault((gap.ground, gap.subject, gap.remedy, gap.records, gap.facts), gap)
    return tuple(told.values())
