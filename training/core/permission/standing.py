"""What has to hold whatever the job type asks: sound records, a sane clock, a known age, no open stand-down."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from training.core.permission import remedies
from training.core.permission.decision import Gap, Ground
from training.core.permission.evidence import AgeEntry, StandDown
from training.core.permission.findings import Case, Finding, missing, unreadable
from training.core.permission.release import ended_by, fresh_evidence, people_asked
from training.core.permission.rule_book import JobType, RuleBook, YoungPerson, holds_of

CLOCK_SLACK = timedelta(seconds=2)  # reliability.md F9
HOUSE_RULE = "Hookside: missing or unreadable counts as not cleared"
_LEAST_FIRST = (YoungPerson.NO, YoungPerson.SUPERVISED, YoungPerson.ALONE)


def check_records(case: Case, known_at: int) -> tuple[Finding, ...]:
    """The chain verifies, nothing newer than asked was read, the clock is not behind, every record can be read."""
    evidence = case.evidence
    gaps = []
    if not evidence.chain_sound:
        gaps.append(_broken(Ground.CHAIN_BROKEN, "records", "The chain of records verifies."))
    if evidence.head > known_at:
        gaps.append(unreadable("records", f"read up to {evidence.head}, asked as known at {known_at}"))
    if _clock_behind(case):
        gaps.append(_broken(Ground.CLOCK, "clock", "The clock is not behind the newest record."))
    if evidence.of.unreadable:
        gaps.append(unreadable("records", "cannot be read", tuple(sorted(evidence.of.unreadable))))
    return tuple(missing(gap) for gap in gaps)


def check_age(case: Case) -> tuple[Finding, ...]:
    """Whether under 18 or not is on record."""
    if case.under_18 is not None:
        return ()
    gap = Gap(
        ground=Ground.AGE_UNKNOWN,
        subject="age",
        sentence="It is on record whether the person is under 18.",
        source=HOUSE_RULE,
        remedy=remedies.entry(case.today),
    )
    return (missing(gap),)


def check_stand_downs(case: Case, job_type: JobType) -> tuple[Finding, ...]:
    """No stand-down is open that touches this job type. None ever ages out."""
    touching = {s for s in case.evidence.of.stand_downs if s.job_types is None or job_type.key in s.job_types}
    return tuple(_stood_down(case, job_type, one) for one in sorted(touching, key=lambda s: (s.record, repr(s))))


def _stood_down(case: Case, job_type: JobType, stand_down: StandDown) -> Finding:
    """The gap of an open stand-down; of one that was ended the releases, on which the clearance stands."""
    person, stands = case.evidence.of, case.court.stands
    ended = ended_by(stand_down, person, case.at, stands, case.zone)
    if ended or case.at < stand_down.happened_at:
        return Finding(records=tuple(release.record for release in ended))
    fresh = fresh_evidence(stand_down, person, case.at, stands, case.zone)
    gap = Gap(
        ground=Ground.STOOD_DOWN,
        subject=job_type.key,
        sentence="No stand-down is open.",
        source="Hookside: a stand-down ends only by a recorded release",
        remedy=remedies.release(case.today),
        records=(stand_down.record,),
        facts=(("people", people_asked(stand_down)), ("fresh_evidence", bool(fresh))),
    )
    return missing(gap)


def check_young(case: Case, job_type: JobType, most: YoungPerson) -> tuple[Finding, ...]:
    """An under-18 gets no more than the young-person column; only a new entry of age lifts that, never a birthday."""
    if case.under_18 is not True or most is YoungPerson.ALONE:
        return ()
    gap = Gap(
        ground=Ground.UNDER_18,
        subject=job_type.key,
        sentence="Under 18: the rule book allows no more for this job type.",
        source="rule book, young-person column",
        remedy=remedies.entry(None),
        facts=(("most", most.value),),
    )
    return (missing(gap),)


def under_18(ages: Iterable[AgeEntry], today: date) -> bool | None:
    """What the newest entry of age says up to today; None where there is none."""
    known = [entry for entry in ages if entry.entered_on <= today]
    newest = max(known, key=lambda entry: (entry.entered_on, entry.record), default=None)
    return None if newest is None else newest.under_18


def most_for_young(rule_book: RuleBook, job_type: JobType) -> YoungPerson:
    """The least of the young-person columns of a job type and of all that have to be held for it."""
    columns = [job_type.young_person, *(held.young_person for held in holds_of(rule_book, job_type))]
    return min(columns, key=_LEAST_FIRST.index)


def _clock_behind(case: Case) -> bool:
    newest = case.evidence.newest_recorded_at
    clock = case.at if case.evidence.read_at is None else case.evidence.read_at
    return newest is not None and clock < newest - CLOCK_SLACK


def _broken(ground: Ground, subject: str, sentence: str) -> Gap:
    return Gap(ground=ground, subject=subject, sentence=sentence, source=HOUSE_RULE, remedy=remedies.repair())
