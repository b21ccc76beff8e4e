"""The three modes: alone, supervised, not cleared; what ends them and what they name."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from tests.core.permission.builders import (
    AT,
    SHOP,
    age,
    answer,
    appointed,
    asks,
    book,
    certificate,
    certificate_of,
    days_ago,
    evidence,
    grounds,
    holds,
    job_type,
    observed,
    person,
    sign_off,
    supervisor,
    with_person,
)
from training.core.permission.decide import decide
from training.core.permission.decision import Ending, Ground, Mode, RemedyKind
from training.core.permission.ends import whole_minute
from training.core.permission.rule_book import Requirement, YoungPerson

RULES = asks(certificate_of(months=24), sign_off("T1"))
READY = evidence(person(certificates=(certificate(record=1),), observations=(observed(days_ago(10), record=2),)))
LEARNER = evidence(person(certificates=(certificate(record=1),)))


def test_whoever_has_everything_is_cleared_alone() -> None:
    decision = answer(READY, RULES)
    assert decision.mode is Mode.ALONE
    assert decision.gaps == ()
    assert decision.proofs == (1, 2)
    assert decision.supervisors == ()
    assert (decision.rule_book_version, decision.parameter_set, decision.head, decision.known_at) == (7, 1, 1000, 1000)


def test_until_is_the_first_end_and_the_decision_names_it() -> None:
    decision = answer(READY, RULES)
    # observed 20 Feb 2026, valid through 20 Feb 2027 in Berlin, which closes at 23:00 UTC; the certificate lasts longer
    assert decision.until == datetime(2027, 2, 20, 23, 0, tzinfo=UTC)
    assert decision.ends_by == Ending(
        at=datetime(2027, 2, 20, 23, 0, tzinfo=UTC), because=Ground.SIGN_OFF, subject="T1", by_day=date(2027, 2, 20)
    )


def test_an_answer_given_in_another_zone_is_the_same() -> None:
    elsewhere = AT.astimezone(datetime.strptime("+0530", "%z").tzinfo)
    assert answer(READY, RULES, at=elsewhere) == answer(READY, RULES)


def test_at_the_end_itself_nobody_is_cleared() -> None:
    until = answer(READY, RULES).until
    assert until is not None
    assert answer(READY, RULES, at=until - timedelta(microseconds=1)).mode is Mode.ALONE
    assert answer(READY, RULES, at=until).mode is Mode.NOT_CLEARED


def test_only_the_own_sign_off_missing_is_cleared_under_a_named_supervisor() -> None:
    decision = answer(replace(LEARNER, supervisors=(supervisor("sue"), supervisor("sam"))), RULES)
    assert decision.mode is Mode.SUPERVISED
    assert decision.supervisors == ("sam", "sue")
    assert grounds(decision) == [Ground.SIGN_OFF]


def test_supervised_ends_with_the_latest_supervisor_or_the_first_of_the_rest() -> None:
    soon, later = AT + timedelta(days=3), AT + timedelta(days=5)
    both = answer(replace(LEARNER, supervisors=(supervisor("sue", soon), supervisor("sam", later))), RULES)
    assert both.until == later
    assert both.ends_by is not None
    assert (both.ends_by.because, both.ends_by.subject) == (Ground.NO_SUPERVISOR, "sam")
    long = answer(replace(LEARNER, supervisors=(supervisor("sue", AT + timedelta(days=4000)),)), RULES)
    assert long.until == datetime(2027, 5, 1, 22, 0, tzinfo=UTC)  # the certificate: issued 1 May 2025, 24 months
    assert long.ends_by is not None
    assert long.ends_by.because is Ground.CERTIFICATE


def test_supervised_ends_are_rounded_down_to_the_minute() -> None:
    ragged = AT + timedelta(days=1, seconds=59, microseconds=9)
    decision = answer(replace(LEARNER, supervisors=(supervisor("sue", ragged),)), RULES)
    assert decision.until == AT + timedelta(days=1)


@pytest.mark.parametrize(
    "nobody",
    [
        pytest.param((), id="none named"),
        pytest.param((supervisor("tom"),), id="the person themselves"),
        pytest.param((supervisor("sue", job="K"),), id="for another job type"),
        pytest.param((supervisor("sue", until=AT + timedelta(seconds=30)),), id="over within the minute"),
    ],
)
def test_without_a_supervisor_the_learner_is_not_cleared_and_told_so(nobody: tuple[object, ...]) -> None:
    decision = answer(replace(LEARNER, supervisors=nobody), RULES)
    assert decision.mode is Mode.NOT_CLEARED
    assert grounds(decision) == [Ground.SIGN_OFF, Ground.NO_SUPERVISOR]
    assert decision.until is None
    assert decision.ends_by is None


def test_a_job_type_that_allows_no_supervision_gives_none() -> None:
    rules = asks(certificate_of(), sign_off(), supervised=False)
    decision = answer(replace(LEARNER, supervisors=(supervisor(),)), rules)
    assert decision.mode is Mode.NOT_CLEARED
    assert grounds(decision) == [Ground.SIGN_OFF]


def test_whatever_else_is_missing_supervision_does_not_help() -> None:
    decision = answer(evidence(supervisors=(supervisor(),)), RULES)
    assert decision.mode is Mode.NOT_CLEARED
    assert grounds(decision) == [Ground.CERTIFICATE, Ground.SIGN_OFF]


def test_currency_is_practice_too() -> None:
    rules = asks(certificate_of(), sign_off(within=5))
    decision = answer(replace(READY, supervisors=(supervisor(),)), rules)
    assert decision.mode is Mode.SUPERVISED
    assert grounds(decision) == [Ground.NOT_DONE_LATELY]


def test_all_gaps_are_told_never_only_the_first() -> None:
    rules = asks(certificate_of("a"), certificate_of("b"), sign_off("T1"), sign_off("T2"), appointed())
    decision = answer(evidence(), rules)
    assert [(g.ground, g.subject) for g in decision.gaps] == [
        (Ground.CERTIFICATE, "a"),
        (Ground.CERTIFICATE, "b"),
        (Ground.APPOINTMENT, "J"),
        (Ground.SIGN_OFF, "T1"),
        (Ground.SIGN_OFF, "T2"),
    ]


def test_an_unknown_job_type_is_a_key_error_that_says_which_there_are() -> None:
    with pytest.raises(KeyError, match="no job type 'Z'; this rule book has J"):
        decide(READY, RULES, "Z", at=AT, known_at=1000)


# ------------------------------------------------------------------------------------------------- held job types

HELD = job_type(certificate_of(), sign_off("T2"), key="A")
CHAIN = book(HELD, job_type(holds("A"), sign_off("T1"), key="J"))


def test_the_gaps_of_a_job_type_that_has_to_be_held_are_told_by_its_name() -> None:
    decision = answer(evidence(), CHAIN)
    assert [(g.ground, g.subject, g.through) for g in decision.gaps] == [
        (Ground.CERTIFICATE, "first aid and CPR", "A"),
        (Ground.SIGN_OFF, "T2", "A"),
        (Ground.SIGN_OFF, "T1", ""),
    ]


def test_a_held_job_type_has_to_be_held_alone_even_for_supervised_work() -> None:
    given = evidence(person(certificates=(certificate(),)), supervisors=(supervisor(),))
    assert answer(given, CHAIN).mode is Mode.NOT_CLEARED
    held = with_person(given, observations=(observed(task="T2"),))
    assert answer(held, CHAIN).mode is Mode.SUPERVISED


def test_an_end_of_a_held_job_type_ends_what_stands_on_it() -> None:
    given = evidence(
        person(certificates=(certificate(),), observations=(observed(days_ago(200), task="T2"), observed(days_ago(1))))
    )
    decision = answer(given, CHAIN)
    assert decision.mode is Mode.ALONE
    assert decision.ends_by is not None
    assert (decision.ends_by.because, decision.ends_by.subject) == (Ground.SIGN_OFF, "T2")


def test_a_gap_shared_by_two_job_types_is_told_once() -> None:
    rules = book(HELD, job_type(holds("A"), certificate_of(), key="J"))
    assert grounds(answer(evidence(), rules)) == [Ground.CERTIFICATE, Ground.SIGN_OFF]


@pytest.mark.parametrize("requirement", [holds("nowhere"), holds("J")], ids=["unknown", "itself"])
def test_a_job_type_that_cannot_be_held_clears_nobody(requirement: Requirement) -> None:
    decision = answer(READY, asks(requirement))
    assert decision.mode is Mode.NOT_CLEARED
    assert grounds(decision) == [Ground.JOB_TYPE]
    assert decision.gaps[0].remedy.kind is RemedyKind.REPAIR


def test_job_types_that_hold_each_other_clear_nobody() -> None:
    rules = book(job_type(holds("K"), key="J"), job_type(holds("J"), key="K"))
    assert grounds(answer(READY, rules)) == [Ground.JOB_TYPE]


def test_a_job_type_that_asks_for_nothing_clears_nobody() -> None:
    decision = answer(READY, asks())
    assert decision.mode is Mode.NOT_CLEARED
    assert grounds(decision) == [Ground.UNKNOWN_REQUIREMENT]


def test_a_requirement_that_nobody_knows_clears_nobody() -> None:
    decision = answer(READY, asks(object()))  # type: ignore[arg-type]
    assert decision.mode is Mode.NOT_CLEARED
    assert grounds(decision) == [Ground.UNKNOWN_REQUIREMENT]


def test_what_two_job_types_both_ask_to_be_held_is_judged_once() -> None:
    rules = book(HELD, job_type(holds("A"), key="B"), job_type(holds("A"), holds("B"), key="J"))
    assert [(g.ground, g.through) for g in answer(evidence(), rules).gaps] == [
        (Ground.CERTIFICATE, "A"),
        (Ground.SIGN_OFF, "A"),
    ]


def test_an_end_needs_an_offset() -> None:
    with pytest.raises(ValueError, match="has no offset from UTC"):
        whole_minute(AT.replace(tzinfo=None))


# ----------------------------------------------------------------------------------------------------- young people


def young(mode: YoungPerson, **fields: bool) -> object:
    rules = asks(certificate_of(), sign_off(), young=mode, **fields)  # type: ignore[arg-type]
    return answer(replace(with_person(READY, ages=(age(True),)), supervisors=(supervisor(),)), rules)


def test_the_young_person_column_caps_the_mode() -> None:
    modes = {column: young(column).mode for column in YoungPerson}  # type: ignore[attr-defined]
    assert modes == {
        YoungPerson.ALONE: Mode.ALONE,
        YoungPerson.SUPERVISED: Mode.SUPERVISED,
        YoungPerson.NO: Mode.NOT_CLEARED,
    }


def test_an_under_18_who_may_only_be_supervised_gets_nothing_where_nobody_is_supervised() -> None:
    decision = young(YoungPerson.SUPERVISED, supervised=False)
    assert decision.mode is Mode.NOT_CLEARED  # type: ignore[attr-defined]
    assert grounds(decision) == [Ground.UNDER_18]  # type: ignore[arg-type]


def test_the_column_of_a_held_job_type_caps_what_stands_on_it() -> None:
    rules = book(
        job_type(certificate_of(), key="A", young=YoungPerson.SUPERVISED), job_type(holds("A"), sign_off(), key="J")
    )
    given = replace(with_person(READY, ages=(age(True),)), supervisors=(supervisor(),))
    assert answer(given, rules).mode is Mode.SUPERVISED
    assert answer(with_person(given, ages=(age(False),)), rules).mode is Mode.ALONE


@pytest.mark.parametrize(
    "ages",
    [(), (age(False, date(2026, 3, 3)),)],
    ids=["never", "later"],
)
def test_an_unknown_age_is_not_cleared_nor_supervised(ages: tuple[object, ...]) -> None:
    decision = answer(replace(with_person(READY, ages=ages), supervisors=(supervisor(),)), RULES)
    assert decision.mode is Mode.NOT_CLEARED
    assert grounds(decision) == [Ground.AGE_UNKNOWN]


def test_turning_18_needs_an_entry_and_the_newest_entry_stands() -> None:
    rules = asks(certificate_of(), sign_off(), young=YoungPerson.NO)
    entered = (age(True, date(2025, 6, 1)), age(False, date(2026, 3, 2)))
    assert answer(with_person(READY, ages=entered[:1]), rules, at=AT + timedelta(days=300)).mode is Mode.NOT_CLEARED
    assert answer(with_person(READY, ages=entered), rules).mode is Mode.ALONE
    assert answer(with_person(READY, ages=entered), rules, at=days_ago(1)).mode is Mode.NOT_CLEARED


def test_evidence_of_another_workshop_does_not_count() -> None:
    away = with_person(READY, observations=(observed(workshop="elsewhere"),))
    assert grounds(answer(away, RULES))[0] is Ground.SIGN_OFF
    assert SHOP != "elsewhere"
