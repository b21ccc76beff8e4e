"""Answers at their edges: what cannot be judged, what is told of it, and how long each remedy is said to take."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from tests.core.permission.builders import (
    AT,
    TODAY,
    age,
    answer,
    asks,
    book,
    certificate,
    certificate_of,
    evidence,
    gap_of,
    grounds,
    holds,
    job_type,
    observed,
    person,
    release,
    sign_off,
    stood_down,
    supervisor,
)
from training.core.permission import remedies
from training.core.permission.decide import decide
from training.core.permission.decision import Decision, Ending, Ground, Mode, Remedy, RemedyKind
from training.core.permission.ends import at_instant, earliest
from training.core.permission.rule_book import YoungPerson
from training.core.permission.standing import most_for_young, under_18

RULES = asks(certificate_of())
READY = evidence(person(certificates=(certificate(),)), parameter_set=3)


def why(decision: Decision) -> object:
    return dict(gap_of(decision, Ground.RECORD_UNREADABLE).facts)["why"]


# ------------------------------------------------------------------------------------------ what cannot be judged


def refusal(why: str, **changes: Any) -> Decision:
    """The answer to what cannot be judged at all."""
    fields: dict[str, Any] = {"parameter_set": 3, "head": 1000, "known_at": 1000, **changes}
    gap = decide(replace(READY, of="nobody"), RULES, "J", at=AT, known_at=1000).gaps[0]  # type: ignore[arg-type]
    return Decision(
        mode=Mode.NOT_CLEARED,
        job_type="J",
        at=AT,
        until=None,
        ends_by=None,
        gaps=(replace(gap, facts=(("why", why),)),),
        proofs=(),
        supervisors=(),
        rule_book_version=7,
        **fields,
    )


def test_what_is_no_evidence_is_told_as_that_with_nothing_known_of_it() -> None:
    answered = decide(None, RULES, "J", at=AT, known_at=1000)  # type: ignore[arg-type]
    assert answered == refusal("Evidence cannot be read", parameter_set=0, head=0)


def test_evidence_of_another_shape_is_told_by_the_field_that_cannot_be_read() -> None:
    odd = replace(READY, of="nobody", gates=3)  # type: ignore[arg-type]
    assert answer(odd, RULES) == refusal("of, gates cannot be read")


def test_any_other_fault_is_told_by_its_kind() -> None:
    unheard = replace(RULES, job_types=(replace(RULES.job_types[0], requirements=None),))  # type: ignore[arg-type]
    assert answer(READY, unheard) == refusal("TypeError")


def test_an_instant_without_its_offset_clears_nobody() -> None:
    naive = datetime(2026, 3, 2, 10, 15)  # noqa: DTZ001 - that is what is tried
    decision = answer(READY, RULES, at=naive)
    assert (decision.mode, decision.at, decision.until) == (Mode.NOT_CLEARED, naive, None)


def test_a_job_type_that_asks_nothing_clears_nobody_and_says_so() -> None:
    decision = answer(READY, asks())
    assert decision.mode is Mode.NOT_CLEARED
    gap = gap_of(decision, Ground.UNKNOWN_REQUIREMENT)
    assert (gap.subject, gap.remedy) == ("J", remedies.repair())
    assert gap.sentence
    assert gap.source


def test_a_requirement_of_no_known_kind_clears_nobody_and_says_which() -> None:
    decision = answer(READY, asks(certificate_of(), "odd"))  # type: ignore[arg-type]
    gap = gap_of(decision, Ground.UNKNOWN_REQUIREMENT)
    assert (decision.mode, gap.subject, gap.remedy) == (Mode.NOT_CLEARED, "str", remedies.repair())


def test_what_fails_while_one_requirement_is_judged_hides_no_other() -> None:
    odd = replace(certificate_of(), valid_months="24")  # type: ignore[arg-type]
    decision = answer(READY, asks(odd, certificate_of("medical")))
    assert [(gap.ground, gap.subject) for gap in decision.gaps] == [
        (Ground.RECORD_UNREADABLE, "J"),
        (Ground.CERTIFICATE, "medical"),
    ]
    assert why(decision) == "NotANumber"


def test_what_rounds_down_to_the_minute_asked_about_is_over() -> None:
    # until 7 Jan 1972 Liberia's clocks were 44 min 30 s behind UTC (tz database), so a day closed within a minute
    end = datetime(1971, 6, 2, 0, 44, 30, tzinfo=UTC)
    papers = (certificate(issued_on=date(1971, 1, 1), through_day=date(1971, 6, 1)),)
    given = evidence(
        person(certificates=papers, ages=(replace(age(), entered_on=date(1971, 1, 1)),)), newest_recorded_at=None
    )
    given = replace(given, zone="Africa/Monrovia")
    before = answer(given, RULES, at=end - timedelta(seconds=31))
    assert (before.mode, before.until) == (Mode.ALONE, end - timedelta(seconds=30))
    after = answer(given, RULES, at=end - timedelta(seconds=30))
    assert (after.mode, grounds(after)) == (Mode.NOT_CLEARED, [Ground.RECORD_UNREADABLE])
    assert why(after) == "outside certificate ended"


# ------------------------------------------------------------------------------------------------- held job types


def test_a_gap_says_for_which_held_job_type_it_is_asked_and_is_told_once() -> None:
    rules = book(
        job_type(certificate_of("a"), key="A"),
        job_type(holds("A"), certificate_of("b"), key="B"),
        job_type(certificate_of("a"), holds("B"), key="J"),
    )
    decision = answer(evidence(), rules)
    assert [(gap.subject, gap.through) for gap in decision.gaps] == [("a", ""), ("b", "B")]
    deep = answer(evidence(), replace(rules, job_types=(*rules.job_types[:2], job_type(holds("B"), key="J"))))
    assert [(gap.subject, gap.through) for gap in deep.gaps] == [("a", "A"), ("b", "B")]


@pytest.mark.parametrize("key", ["J", "nowhere"])
def test_a_job_type_that_is_not_there_or_goes_round_is_to_be_repaired(key: str) -> None:
    decision = answer(READY, asks(certificate_of(), holds(key)))
    gap = gap_of(decision, Ground.JOB_TYPE)
    assert (decision.mode, gap.subject, gap.remedy) == (Mode.NOT_CLEARED, key, remedies.repair())


def test_a_sign_off_asked_by_a_held_job_type_is_no_mere_practice() -> None:
    rules = book(job_type(sign_off("T1"), key="A"), job_type(holds("A"), sign_off("T2"), key="J"))
    one = evidence(person(observations=(observed(task="T1"),)), supervisors=(supervisor(),))
    none = evidence(supervisors=(supervisor(),))
    assert answer(one, rules).mode is Mode.SUPERVISED
    assert answer(none, rules).mode is Mode.NOT_CLEARED


# ----------------------------------------------------------------------------------------------------- supervision


def test_who_is_over_at_the_minute_asked_about_supervises_nobody() -> None:
    rules = asks(certificate_of(), sign_off())
    for until, mode in ((AT, Mode.NOT_CLEARED), (AT + timedelta(minutes=1), Mode.SUPERVISED)):
        given = replace(READY, supervisors=(supervisor("sue", until),))
        assert answer(given, rules).mode is mode, until


def test_of_supervisors_with_the_same_end_one_is_named_whatever_the_order() -> None:
    both = (supervisor("sue", AT + timedelta(days=3)), supervisor("sam", AT + timedelta(days=3)))
    for given in (both, both[::-1]):
        ends = answer(replace(READY, supervisors=given), asks(certificate_of(), sign_off())).ends_by
        assert ends == Ending(at=AT + timedelta(days=3), because=Ground.NO_SUPERVISOR, subject="sue")


def test_nobody_to_supervise_is_told_with_what_would_help() -> None:
    gap = gap_of(answer(READY, asks(certificate_of(), sign_off())), Ground.NO_SUPERVISOR)
    assert (gap.subject, gap.remedy) == ("J", Remedy(kind=RemedyKind.SUPERVISOR, minutes=0, earliest_on=None))


def test_under_18_where_the_rule_book_says_no_is_not_supervised_either() -> None:
    young = replace(READY, of=replace(READY.of, ages=(age(True),)), supervisors=(supervisor(),))
    modes = {YoungPerson.NO: Mode.NOT_CLEARED, YoungPerson.SUPERVISED: Mode.SUPERVISED, YoungPerson.ALONE: Mode.ALONE}
    for most, mode in modes.items():
        decision = answer(young, asks(certificate_of(), young=most))
        assert decision.mode is mode
        assert Ground.NO_SUPERVISOR not in grounds(decision)


# -------------------------------------------------------------------------------------------------------- standing


def test_the_least_of_the_young_person_columns_holds() -> None:
    rules = book(
        job_type(certificate_of(), key="A", young=YoungPerson.NO),
        job_type(holds("A"), key="B", young=YoungPerson.ALONE),
        job_type(holds("B"), key="J", young=YoungPerson.SUPERVISED),
    )
    assert most_for_young(rules, rules.job_type("J")) is YoungPerson.NO
    assert most_for_young(rules, replace(rules.job_type("B"), requirements=())) is YoungPerson.ALONE


def test_the_newest_entry_of_age_stands_and_of_one_day_the_later_record() -> None:
    old, new = replace(age(True), record=1), replace(age(False), record=2)
    assert under_18((old, new), TODAY) is False
    assert under_18((new, old), TODAY) is False
    assert under_18((replace(new, record=0), old), TODAY) is True
    assert under_18((replace(old, entered_on=date(2026, 1, 1)), new), TODAY) is True
    assert under_18((replace(new, entered_on=TODAY),), TODAY) is False
    assert under_18((replace(new, entered_on=TODAY + timedelta(days=1)),), TODAY) is None
    assert under_18((), TODAY) is None


def test_each_open_stand_down_is_told_in_the_order_of_its_records() -> None:
    downs = (stood_down(record=8, incident=True), stood_down(record=3))
    decision = answer(replace(READY, of=replace(READY.of, stand_downs=(*downs, downs[0]))), RULES)
    told = [(gap.records, gap.facts[0], gap.remedy.kind, gap.remedy.minutes) for gap in decision.gaps]
    assert told == [
        ((3,), ("people", 1), RemedyKind.RELEASE, 10),
        ((8,), ("people", 2), RemedyKind.RELEASE, 10),
    ]


def test_a_stand_down_to_come_and_one_that_is_released_block_nothing() -> None:
    seen = observed(AT - timedelta(days=2), record=50)
    down = stood_down(AT - timedelta(days=3), releases=(release(AT - timedelta(days=1), 50, record=60),))
    later = stood_down(AT + timedelta(microseconds=1))
    given = replace(READY, of=replace(READY.of, stand_downs=(down, later), observations=(seen,)))
    assert answer(given, RULES).mode is Mode.ALONE


# ------------------------------------------------------------------------------------------------------------ ends


def test_of_ends_at_one_instant_the_same_is_named_whatever_the_order() -> None:
    ends = [at_instant(AT, ground, name) for ground in (Ground.SIGN_OFF, Ground.APPOINTMENT) for name in ("b", "a")]
    assert earliest(ends) == earliest(ends[::-1]) == at_instant(AT, Ground.APPOINTMENT, "a")
    assert earliest([]) is None


def test_an_end_without_its_offset_is_refused() -> None:
    with pytest.raises(ValueError, match="has no offset from UTC"):
        at_instant(datetime(2026, 3, 2, 10, 15), Ground.SIGN_OFF, "T1")  # noqa: DTZ001 - that is what is tried


# -------------------------------------------------------------------------------------------------------- remedies


def test_every_remedy_says_how_long_it_takes_and_when_it_can_be_had() -> None:
    # minutes are assumed: common practice, no source
    def told(remedy: Remedy) -> tuple[RemedyKind, int, date | None]:
        return remedy.kind, remedy.minutes, remedy.earliest_on

    assert told(remedies.signature(TODAY)) == (RemedyKind.SIGNATURE, 2, TODAY)
    assert told(remedies.entry(TODAY)) == (RemedyKind.ENTRY, 2, TODAY)
    assert told(remedies.release(TODAY)) == (RemedyKind.RELEASE, 10, TODAY)
    assert told(remedies.instruction(TODAY)) == (RemedyKind.INSTRUCTION, 30, TODAY)
    assert told(remedies.certificate()) == (RemedyKind.CERTIFICATE, 0, None)
    assert told(remedies.repair()) == (RemedyKind.REPAIR, 0, None)
    assert told(remedies.supervisor()) == (RemedyKind.SUPERVISOR, 0, None)
    assert remedies.TALK_THROUGH_MINUTES == 3


def test_observations_take_half_an_hour_each_and_end_on_the_last_of_their_days() -> None:
    remedy = remedies.observations(TODAY, (0, 0, 2), ("mia",))
    assert remedy.minutes_by_day == ((0, 60), (2, 30))
    assert (remedy.minutes, remedy.earliest_on) == (90, TODAY + timedelta(days=2))
    assert remedies.observations(TODAY, (0,), ()).earliest_on is None
    assert remedies.observations(TODAY, (0,), ("mia",), can_be_had=False).earliest_on is None
