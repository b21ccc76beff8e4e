"""P13: every no has a reason, and doing exactly what a gap says closes it, on the day that it says."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

from hypothesis import given

from tests.core.permission.builders import (
    AT,
    MENTORS,
    TODAY,
    age,
    answer,
    appointed,
    appointment,
    asks,
    certificate,
    certificate_of,
    evidence,
    grounds,
    instructed,
    instruction,
    observed,
    person,
    release,
    sign_off,
    stood_down,
    supervisor,
)
from tests.core.permission.strategies import cases
from training.core.permission.authority import Court, house_of
from training.core.permission.decision import Decision, Gap, Ground, Mode, RemedyKind
from training.core.permission.evidence import Evidence, Observation, Supervision
from training.core.permission.rule_book import YoungPerson


def with_more(given_evidence: Evidence, **more: Any) -> Evidence:
    of = given_evidence.of
    return replace(given_evidence, of=replace(of, **{name: (*getattr(of, name), *new) for name, new in more.items()}))


def observations(gap: Gap) -> list[Observation]:
    """As many as it says, on the days it says, by its mentors in its order and then in turn; those with the mentor
    beside come first.
    """
    days = [day for day, minutes in gap.remedy.minutes_by_day for _ in range(minutes // 30)]
    beside = int(dict(gap.facts).get("beside_first", 0))
    return [
        observed(
            AT + timedelta(days=day, minutes=n + 1),
            by=gap.remedy.who[(n - beside) % len(gap.remedy.who)],
            task=gap.subject,
            supervision=Supervision.BESIDE if n < beside else Supervision.ALONE,
        )
        for n, day in enumerate(days)
    ]


def done(given_evidence: Evidence, gap: Gap) -> Evidence:
    """The evidence after doing exactly what the gap says."""
    match gap.remedy.kind:
        case RemedyKind.OBSERVATION:
            return with_more(given_evidence, observations=observations(gap))
        case RemedyKind.SIGNATURE:
            return with_more(given_evidence, appointments=[appointment("J", "A", by="new boss", from_day=TODAY)])
        case RemedyKind.CERTIFICATE:
            return with_more(given_evidence, certificates=[certificate(gap.subject, TODAY)])
        case RemedyKind.INSTRUCTION:
            return with_more(given_evidence, instructions=[instruction(TODAY)])
        case RemedyKind.ENTRY:
            return entered(given_evidence, gap)
        case RemedyKind.SUPERVISOR:
            return replace(given_evidence, supervisors=(supervisor(),))
        case RemedyKind.RELEASE:
            return released(given_evidence, gap)
    raise AssertionError(f"no way known to do {gap.remedy.kind}")


def entered(given_evidence: Evidence, gap: Gap) -> Evidence:
    """The age; or that the issuers of the certificates of this kind were asked today, and confirmed them."""
    if gap.ground is not Ground.CERTIFICATE:
        return with_more(given_evidence, ages=[replace(age(False, TODAY), record=10**9)])
    papers = tuple(
        replace(one, verified_on=(*one.verified_on, TODAY)) if one.kind == gap.subject else one
        for one in given_evidence.of.certificates
    )
    return replace(given_evidence, of=replace(given_evidence.of, certificates=papers))


def released(given_evidence: Evidence, gap: Gap) -> Evidence:
    """Watched once more by somebody who may, then released by as many as it takes, none of whom gave the job."""
    court = Court(house_of(given_evidence, asks(sign_off())))
    by = next((m for m in MENTORS if not court.refusals(m, "tom", "T1", AT)), "nobody")
    seen = observed(AT + timedelta(minutes=10), by=by)
    ends = tuple(release(AT + timedelta(minutes=20), seen.record, by=one) for one in ("ada", "bob"))
    downs = [
        replace(s, releases=(*s.releases, *ends)) if s.record in gap.records else s
        for s in given_evidence.of.stand_downs
    ]
    of = replace(given_evidence.of, stand_downs=tuple(downs))
    return with_more(replace(given_evidence, of=of), observations=[seen])


def is_promised(given_evidence: Evidence, gap: Gap) -> bool:
    """Whether a day is promised: none is where nobody may observe, which a release needs as well."""
    if gap.remedy.kind is RemedyKind.RELEASE:
        court = Court(house_of(given_evidence, asks(sign_off())))
        return any(not court.refusals(m, "tom", "T1", AT) for m in MENTORS)
    return gap.remedy.kind is not RemedyKind.OBSERVATION or gap.remedy.earliest_on is not None


def alike(gap: Gap, decision: Decision) -> int:
    """How many gaps are of the same ground, subject and records: two job types may ask for one task in two ways."""
    return sum((g.ground, g.subject, g.records) == (gap.ground, gap.subject, gap.records) for g in decision.gaps)


def when(gap: Gap) -> datetime:
    """Later on the day on which the remedy can be finished."""
    days = max((day for day, _ in gap.remedy.minutes_by_day), default=0)
    return AT + timedelta(days=days, hours=1)


@given(cases(recall=False))
def test_every_no_has_a_reason_and_doing_what_a_gap_says_closes_it(case: Any) -> None:
    given_evidence, rules = case
    decision = answer(given_evidence, rules)
    assert (decision.mode is Mode.ALONE) == (not decision.gaps)
    for gap in decision.gaps:
        if not is_promised(given_evidence, gap):
            continue
        after = answer(done(given_evidence, gap), rules, at=when(gap))
        assert alike(gap, after) < alike(gap, decision)


@given(cases(recall=False))
def test_doing_all_that_the_gaps_say_clears_alone(case: Any) -> None:
    given_evidence, rules = case
    decision = answer(given_evidence, rules)
    if not all(is_promised(given_evidence, gap) for gap in decision.gaps):
        return
    after, last = given_evidence, AT
    for gap in decision.gaps:
        after, last = done(after, gap), max(last, when(gap))
    told = {(gap.ground, gap.subject) for gap in decision.gaps}
    left = [gap for gap in answer(after, rules, at=last).gaps if (gap.ground, gap.subject) not in told]
    lapsed = {(gap.ground, gap.subject) for gap in answer(given_evidence, rules, at=last).gaps} - told
    assert {(gap.ground, gap.subject) for gap in left} <= lapsed


MISSING_ALL = asks(
    certificate_of(),
    sign_off("T1", 3, 2, 2, within=90),
    sign_off("T2"),
    appointed(),
    instructed(),
    young=YoungPerson.NO,
)


def test_from_nothing_at_all_to_cleared_by_doing_what_is_said() -> None:
    given_evidence = evidence(person(ages=(age(True),), stand_downs=(stood_down(),)))
    decision = answer(given_evidence, MISSING_ALL)
    assert set(grounds(decision)) == {
        Ground.STOOD_DOWN,
        Ground.CERTIFICATE,
        Ground.APPOINTMENT,
        Ground.INSTRUCTION,
        Ground.SIGN_OFF,
        Ground.NOT_DONE_LATELY,
        Ground.UNDER_18,
    }
    after, last = given_evidence, AT
    for gap in decision.gaps:
        after, last = done(after, gap), max(last, when(gap))
    assert answer(after, MISSING_ALL, at=last).mode is Mode.ALONE
    assert last == datetime(2026, 3, 3, 11, 15, tzinfo=UTC)


@given(cases())
def test_every_gap_is_said_in_words_with_a_source_and_minutes_that_add_up(case: Any) -> None:
    for gap in answer(*case).gaps:
        assert gap.subject
        assert gap.sentence
        assert gap.source
        assert gap.remedy.minutes >= 0
        assert (
            gap.remedy.minutes == sum(minutes for _, minutes in gap.remedy.minutes_by_day)
            or not gap.remedy.minutes_by_day
        )
