"""Laws of rule books that come on a later day: they only ever take away, at the exact instant, and never clear."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.permission.builders import (
    AT,
    MENTORS,
    RANK,
    TODAY,
    answer,
    asks,
    book,
    certificate,
    certificate_of,
    evidence,
    grounds,
    job_type,
    no_better,
    observed,
    person,
    sign_off,
    supervisor,
)
from tests.core.permission.strategies import COMING as NEW_QUESTIONS
from tests.core.permission.strategies import cases, rule_books
from training.core.permission.coming import ComingBook, decide_with_coming
from training.core.permission.decision import Decision, Ground, Mode
from training.core.permission.evidence import Evidence
from training.core.permission.rule_book import RuleBook, YoungPerson
from training.core.trade.calendar import close_of_day, local_day

Case = tuple[Evidence, RuleBook]
BERLIN = "Europe/Berlin"


def together(given_evidence: Evidence, rules: RuleBook, coming: Sequence[ComingBook], at: datetime = AT) -> Decision:
    return decide_with_coming(given_evidence, rules, coming, "J", at=at, known_at=1000)


def comes(days: int, rules: RuleBook | None, record: int = 1) -> ComingBook:
    return ComingBook(from_day=TODAY + timedelta(days=days), record=record, book=rules)


def alike(rules: RuleBook) -> st.SearchStrategy[RuleBook]:
    """The same book with less or more of it, so that both often clear."""
    own = rules.job_types[-1]
    shorter = replace(own, requirements=own.requirements[:1])
    stricter = replace(own, requirements=(*own.requirements, sign_off("T1", 2, within=90)))
    never_supervised = replace(own, supervised_allowed=False)
    changed = st.sampled_from([own, shorter, stricter, never_supervised, replace(own, young_person=YoungPerson.NO)])
    return changed.map(lambda one: replace(rules, version=8, job_types=(*rules.job_types[:-1], one)))


@st.composite
def coming_books(draw: st.DrawFn, rules: RuleBook, most: int = 2) -> list[ComingBook]:
    days = draw(st.lists(st.integers(-20, 250), min_size=1, max_size=most))
    return [
        comes(day, draw(st.one_of(alike(rules), rule_books(), alike(rules))), record)
        for record, day in enumerate(days, 1)
    ]


@st.composite
def with_coming(draw: st.DrawFn) -> tuple[Evidence, RuleBook, list[ComingBook]]:
    given_evidence, rules = draw(cases())
    gates = (*given_evidence.gates, *draw(NEW_QUESTIONS))
    return replace(given_evidence, gates=gates), rules, draw(coming_books(rules))


def by_brute_force(given_evidence: Evidence, rules: RuleBook, coming: Sequence[ComingBook], at: datetime) -> int:
    """The rank that every book gives whose day has come, each asked on its own at this instant."""
    ranks = [RANK[answer(given_evidence, rules, at=at).mode]]
    for one in coming:
        if local_day(at, BERLIN) >= one.from_day:
            ranks.append(0 if one.book is None else RANK[answer(given_evidence, one.book, at=at).mode])
    return min(ranks)


# ------------------------------------------------------------------------------------------------------------- laws


@given(cases())
def test_without_a_coming_book_it_is_decide(one: Case) -> None:
    given_evidence, rules = one
    assert together(given_evidence, rules, ()) == answer(given_evidence, rules)


@given(with_coming(), st.floats(0, 300))
def test_nobody_is_cleared_for_more_than_the_book_in_force_gives_nor_any_that_has_come(
    one: tuple[Evidence, RuleBook, list[ComingBook]], days: float
) -> None:
    given_evidence, rules, coming = one
    at = AT + timedelta(days=days)
    decision = together(given_evidence, rules, coming, at)
    assert RANK[decision.mode] == by_brute_force(given_evidence, rules, coming, at)
    assert no_better(decision, answer(given_evidence, rules, at=at))
    assert no_better(decision, together(given_evidence, rules, coming[:1], at))
    for own in (c for c in coming if c.book is not None and local_day(at, BERLIN) >= c.from_day):
        assert no_better(decision, answer(given_evidence, own.book, at=at))  # type: ignore[arg-type]


@given(with_coming(), st.floats(0, 60) | st.floats(0, 400), st.floats(0, 100))
def test_p3_time_alone_never_clears(
    one: tuple[Evidence, RuleBook, list[ComingBook]], first: float, further: float
) -> None:
    given_evidence, rules, coming = one
    earlier, later = AT + timedelta(days=first), AT + timedelta(days=first + further)
    assert no_better(together(given_evidence, rules, coming, later), together(given_evidence, rules, coming, earlier))


@given(with_coming(), st.lists(st.floats(0, 1), max_size=6))
def test_p4_until_is_exact_by_brute_force(
    one: tuple[Evidence, RuleBook, list[ComingBook]], shares: list[float]
) -> None:
    given_evidence, rules, coming = one
    decision = together(given_evidence, rules, coming)
    if decision.until is None or decision.ends_by is None:
        assert decision.mode is Mode.NOT_CLEARED
        return
    assert decision.ends_by.at == decision.until > AT
    days = [close_of_day(c.from_day - timedelta(days=1), BERLIN) for c in coming]
    asked = [AT + share * (decision.until - AT) for share in shares] + [d for d in days if d >= AT]
    for at in [*asked, decision.until - timedelta(microseconds=1)]:
        if at < decision.until:
            assert by_brute_force(given_evidence, rules, coming, at) >= RANK[decision.mode]
            then = together(given_evidence, rules, coming, at)
            assert (then.mode, then.until, then.ends_by) == (decision.mode, decision.until, decision.ends_by)
    assert by_brute_force(given_evidence, rules, coming, decision.until) < RANK[decision.mode]


@given(with_coming())
def test_neither_order_nor_number_of_copies_of_the_coming_books_matters(
    one: tuple[Evidence, RuleBook, list[ComingBook]],
) -> None:
    given_evidence, rules, coming = one
    expected = together(given_evidence, rules, coming)
    assert together(given_evidence, rules, coming[::-1]) == expected
    assert together(given_evidence, rules, coming * 2) == expected


@given(with_coming(), st.floats(0, 300))
def test_what_is_not_cleared_says_why(one: tuple[Evidence, RuleBook, list[ComingBook]], days: float) -> None:
    given_evidence, rules, coming = one
    decision = together(given_evidence, rules, coming, AT + timedelta(days=days))
    assert (decision.mode is Mode.ALONE) == (decision.gaps == ())


JUNK: list[Any] = [None, "tomorrow", 7, AT.replace(year=1), datetime(9999, 12, 31, tzinfo=UTC), date.min, date.max]


@given(cases(), st.sampled_from(JUNK), st.sampled_from([None, "a book", 3]))
def test_p14_a_coming_book_that_makes_no_sense_clears_nobody_and_raises_nothing(
    one: Case, from_day: Any, rules: Any
) -> None:
    given_evidence, in_force = one
    decision = together(given_evidence, in_force, [ComingBook(from_day=from_day, record=1, book=rules)])
    assert no_better(decision, answer(given_evidence, in_force))
    if from_day != date.max:
        assert decision.mode is Mode.NOT_CLEARED


# --------------------------------------------------------------------------------------------------------- examples

FIRST_AID = evidence(person(certificates=(certificate(issued_on=date(2025, 5, 1)),)))
LOOSE = asks(certificate_of(months=24))


def test_a_clearance_ends_on_the_eve_of_a_stricter_book_that_it_does_not_meet() -> None:
    decision = together(FIRST_AID, LOOSE, [comes(30, asks(certificate_of(months=10)))])
    assert (decision.mode, decision.gaps) == (Mode.ALONE, ())
    assert decision.ends_by is not None
    assert (decision.ends_by.because, decision.ends_by.by_day) == (Ground.RULE_BOOK, date(2026, 3, 31))
    assert decision.until == datetime(2026, 3, 31, 22, tzinfo=UTC)  # summer time since 29 March


def test_a_stricter_book_that_ends_it_later_names_its_own_end() -> None:
    decision = together(FIRST_AID, LOOSE, [comes(30, asks(certificate_of(months=12)))])
    assert decision.ends_by is not None
    assert (decision.ends_by.because, decision.ends_by.by_day) == (Ground.CERTIFICATE, date(2026, 5, 1))


def test_a_looser_book_gives_nothing_on_its_day() -> None:
    strict = asks(certificate_of(months=6))
    decision = together(FIRST_AID, strict, [comes(-5, LOOSE)])
    assert (decision.mode, decision.gaps) == (Mode.NOT_CLEARED, answer(FIRST_AID, strict).gaps)
    assert grounds(decision) == [Ground.CERTIFICATE]


def test_all_that_is_missing_is_told_by_either_book_and_once() -> None:
    nobody = evidence(person())
    both = asks(certificate_of(), certificate_of("medical"))
    decision = together(nobody, LOOSE, [comes(-1, both), comes(5, asks(sign_off()))])
    assert [(gap.ground, gap.subject) for gap in decision.gaps] == [
        (Ground.CERTIFICATE, "first aid and CPR"),
        (Ground.CERTIFICATE, "medical"),
    ]


@pytest.mark.parametrize("rules", [None, book(job_type(certificate_of(), key="K"))])
def test_a_book_that_cannot_be_read_or_lacks_the_job_type_clears_nobody_from_its_day(rules: RuleBook | None) -> None:
    before = together(FIRST_AID, LOOSE, [comes(1, rules)])
    assert (before.mode, before.until) == (Mode.ALONE, datetime(2026, 3, 2, 23, tzinfo=UTC))
    on_the_day = together(FIRST_AID, LOOSE, [comes(1, rules, record=44)], AT + timedelta(days=1))
    assert (on_the_day.mode, on_the_day.until, grounds(on_the_day)) == (Mode.NOT_CLEARED, None, [Ground.RULE_BOOK])
    assert on_the_day.gaps[0].records == (44,)


def test_a_job_type_that_only_the_coming_book_has_is_unknown() -> None:
    with pytest.raises(KeyError):
        decide_with_coming(
            FIRST_AID, LOOSE, [comes(-1, book(job_type(certificate_of(), key="K")))], "K", at=AT, known_at=1000
        )


def test_alone_under_one_book_and_supervised_under_the_other_is_supervised_for_as_long_as_both_give_that() -> None:
    learner = replace(FIRST_AID, supervisors=(supervisor("sue"),))
    decision = together(learner, LOOSE, [comes(-1, asks(certificate_of(), sign_off()))])
    assert (decision.mode, decision.supervisors, grounds(decision)) == (Mode.SUPERVISED, ("sue",), [Ground.SIGN_OFF])
    assert decision.until == learner.supervisors[0].until


def test_supervised_lasts_on_where_a_coming_book_gives_alone_first_and_supervised_after() -> None:
    learner = evidence(
        person(observations=(observed(AT - timedelta(days=200), by="mia"),)), supervisors=(supervisor("sue"),)
    )
    in_force, coming = asks(sign_off("T2")), asks(sign_off("T1", months=8))
    decision = together(learner, in_force, [comes(-1, coming)])
    assert (decision.mode, decision.until) == (Mode.SUPERVISED, learner.supervisors[0].until)
    alone = answer(learner, coming)
    assert (alone.mode, alone.until) == (Mode.ALONE, datetime(2026, 4, 14, 22, tzinfo=UTC))


def test_a_supervisor_is_not_asked_for_where_one_would_not_help() -> None:
    nobody = evidence(person(), colleagues=MENTORS)
    decision = together(nobody, asks(certificate_of()), [comes(-1, asks(sign_off()))])
    assert grounds(decision) == [Ground.CERTIFICATE, Ground.SIGN_OFF]
