"""Requirements that are seen with one's own eyes: the sign-off of a practical task, and when it was last done."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from training.core.permission import remedies
from training.core.permission.counting import Seen, asked_by
from training.core.permission.decision import Gap, Ground
from training.core.permission.ends import at_close_of
from training.core.permission.evidence import Appointment, Observation
from training.core.permission.findings import Case, Finding, missing
from training.core.permission.further import mentors, sign_off_gap
from training.core.permission.papers import appointment_through, appointments
from training.core.permission.rule_book import AppointedFor, JobType, SignOffOf
from training.core.permission.ways import Way
from training.core.trade.calendar import last_day_in_window, local_day


def check_practice(case: Case, job_type: JobType) -> tuple[Finding, ...]:
    """All sign-offs of a job type, and that whoever appointed did not give a deciding observation.

    Each appointment that counts is tried with the observations of whoever wrote it left out; the one that leaves
    least missing, and of these the one that lasts longest, is taken. So no further appointment or observation can do
    harm. Where no appointment is asked for or none counts, nobody's observations are left out.
    """
    rules = [r for r in job_type.requirements if isinstance(r, SignOffOf)]
    if not rules:
        return ()
    lately = tuple(check_done_lately(case, r) for r in rules if r.done_within_days is not None)
    tried = [_under(case, job_type, rules, appointed, a) for appointed, a in _appointments(case, job_type)]
    signed = min(tried, key=_merit) if tried else tuple(check_sign_off(case, r, "") for r in rules)
    return (*signed, *lately)


def _appointments(case: Case, job_type: JobType) -> list[tuple[AppointedFor, Appointment]]:
    asked = [r for r in job_type.requirements if isinstance(r, AppointedFor)]
    return [(rule, a) for rule in asked for a in appointments(case, job_type.key, rule)]


def _under(
    case: Case, job_type: JobType, rules: Sequence[SignOffOf], appointed: AppointedFor, appointment: Appointment
) -> tuple[Finding, ...]:
    """The sign-offs as they stand under one appointment, which has to last as long as they do."""
    through = appointment_through(appointment, appointed)
    ending = at_close_of(through, case.zone, Ground.APPOINTMENT, job_type.key)
    return (
        Finding(endings=(ending,), records=(appointment.record,), practice=True),
        *(check_sign_off(case, rule, appointment.by) for rule in rules),
    )


def _merit(findings: tuple[Finding, ...]) -> tuple[int, float, tuple[int, ...]]:
    """Fewest gaps, then the latest end, then the lowest records: the same choice whatever the order of arrival."""
    ends = [e.at.timestamp() for f in findings for e in f.endings]
    return sum(len(f.gaps) for f in findings), -min(ends, default=0.0), tuple(r for f in findings for r in f.records)


def check_sign_off(case: Case, rule: SignOffOf, appointer: str) -> Finding:
    """Enough passed observations by one way or another, those of ``appointer`` left out ("" leaves out nobody).

    It lasts as long as the way that lasts longest of those that are met.
    """
    everything = _attempts(case, rule)
    kept = [a for a in everything if a.observer != appointer]
    ways = case.court.ways(case.person, rule.task, asked_by(rule), case.today)
    if met := [way for way in ways if way.is_met(kept, case.today)]:
        return _signed_off(case, rule, met, kept)
    if any(way.is_met(everything, case.today) for way in ways):
        return missing(_decided_by_appointer(case, rule, appointer), practice=True)
    return missing(sign_off_gap(case, rule, ways, kept, appointer), practice=True)


def _signed_off(case: Case, rule: SignOffOf, met: Sequence[Way], kept: Sequence[Seen]) -> Finding:
    """What the ways that are met, the ordinary one first, come to; a small shop proves only what nothing else does."""
    through = max(day for way in met if (day := way.through(kept)) is not None)
    records = {a.record for a in kept if case.today <= a.through}
    shop = met[0].small_shop
    return Finding(
        endings=(at_close_of(through, case.zone, Ground.SIGN_OFF, rule.task),),
        records=tuple(sorted(records | ({shop.record} if shop else set()))),
        practice=True,
    )


def check_done_lately(case: Case, rule: SignOffOf) -> Finding:
    """Last done within the days: a passed observation that stands, or a job that somebody else confirmed."""
    window = rule.done_within_days or 0
    done = [(local_day(o.happened_at, case.zone), o.record) for o in _done(case, rule.task)]
    lasting = [(last_day_in_window(day, window), record) for day, record in done]
    through, record = max(lasting, key=lambda pair: (pair[0], -pair[1]), default=(date.min, 0))
    if case.today <= through:
        ending = at_close_of(through, case.zone, Ground.NOT_DONE_LATELY, rule.task)
        return Finding(endings=(ending,), records=(record,), practice=True)
    gap = Gap(
        ground=Ground.NOT_DONE_LATELY,
        subject=rule.task,
        sentence=rule.sentence,
        source=rule.source,
        remedy=remedies.observations(case.today, (0,), mentors(case, rule.task, ())),
        facts=(("within_days", window),),
    )
    return missing(gap, practice=True)


def _attempts(case: Case, rule: SignOffOf) -> list[Seen]:
    passed = case.court.made_alone(
        case.evidence.of, rule.task, at=case.at, before=False, beside_first=rule.beside_first
    )
    return [case.court.seen(o, rule.valid_months) for o in passed]


def _done(case: Case, task: str) -> list[Observation]:
    confirmed = [
        o
        for o in case.evidence.of.observations
        if o.task == task
        and o.done_only
        and o.passed is True
        and o.happened_at <= case.at
        and o.observer != case.person
        and o.workshop == case.evidence.workshop
    ]
    return [*confirmed, *case.court.made_alone(case.evidence.of, task, at=case.at, before=False, beside_first=0)]


def _decided_by_appointer(case: Case, rule: SignOffOf, appointer: str) -> Gap:
    """The observations are enough only with those of whoever appointed: another signature is the shortest way."""
    return Gap(
        ground=Ground.SIGN_OFF,
        subject=rule.task,
        sentence=rule.sentence,
        source=rule.source,
        remedy=remedies.signature(case.today),
        facts=(("appointed_by_observer", appointer),),
    )
