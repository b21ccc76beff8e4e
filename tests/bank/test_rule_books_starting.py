"""The three starting rule books: sound, alike but where regimes differ, and open about what law asks."""

from __future__ import annotations

from typing import Any

import pytest

from training.bank.rule_books import REGIMES, starting_book
from training.core.permission.reading import as_mapping, rule_book_from
from training.core.permission.rule_book import CertificateOf, Requirement, RuleBook, SignOffOf, YoungPerson

BOOKS = {regime: rule_book_from(starting_book(regime)) for regime in sorted(REGIMES)}


def requirements(book: RuleBook, shape: type[Any]) -> list[Any]:
    return [one for job_type in book.job_types for one in job_type.requirements if isinstance(one, shape)]


def certificate(regime: str, kind: str) -> CertificateOf:
    found: list[CertificateOf] = [one for one in requirements(BOOKS[regime], CertificateOf) if one.kind == kind]
    assert len({(one.valid_months, one.verify_months) for one in found}) == 1
    return found[0]


@pytest.mark.parametrize("regime", sorted(REGIMES))
def test_each_reads_and_says_its_regime(regime: str) -> None:
    book = BOOKS[regime]
    assert book.regime == regime
    assert rule_book_from(as_mapping(book)) == book
    assert "Local codes" in book.note
    assert "licensed" in book.note
    keys = [job_type.key for job_type in book.job_types]
    assert keys == ["A", "B", "C", "D", "E", "F", "G", "second person"]


def test_an_unknown_regime_has_no_starting_book() -> None:
    with pytest.raises(ValueError, match="no starting rule book for 'FR'"):
        starting_book("FR")


def test_they_ask_for_the_same_things_and_differ_in_figures_and_papers_only() -> None:
    def asked(one: Requirement) -> tuple[str, str]:
        return type(one).__name__, str(getattr(one, "task", getattr(one, "kind", getattr(one, "job_type", ""))))

    shapes = [
        [(job_type.key, asked(one)) for job_type in book.job_types for one in job_type.requirements]
        for book in BOOKS.values()
    ]
    assert shapes[0] == shapes[1] == shapes[2]


# first aid: 24 months DGUV Vorschrift 1 s.26; 3 years and a yearly refresher HSE; yearly check NFPA 70E 110.4 (memory)
@pytest.mark.parametrize(("regime", "months", "verify"), [("US", 24, 12), ("EU", 24, None), ("UK", 36, 12)])
def test_first_aid_holds_as_long_as_the_regime_says(regime: str, months: int, verify: int | None) -> None:
    found = certificate(regime, "first aid and CPR")
    assert (found.valid_months, found.verify_months) == (months, verify)
    assert found.law


# 36 months NFPA 70E 110.6; 48 months level 3S, from memory; the UK has none in law, 36 is a house figure
@pytest.mark.parametrize(("regime", "months"), [("US", 36), ("EU", 48), ("UK", 36)])
def test_the_live_work_course_holds_as_long_as_the_regime_says(regime: str, months: int) -> None:
    assert certificate(regime, "live-work course").valid_months == months


def test_what_law_asks_and_what_is_our_default_are_told_apart() -> None:
    for regime, book in BOOKS.items():
        laws = [one.law for job_type in book.job_types for one in job_type.requirements]
        assert any(laws), regime
        assert "" in laws, regime
    appointed = {regime: book.job_type("C").requirements[-1] for regime, book in BOOKS.items()}
    assert {regime: bool(one.law) for regime, one in appointed.items()} == {"US": False, "EU": True, "UK": False}


def test_only_counts_and_recall_have_no_source_in_the_eu_book() -> None:
    unsourced = {
        type(one).__name__
        for job_type in BOOKS["EU"].job_types
        for one in job_type.requirements
        if one.source == "common practice, no source"
    }
    assert unsourced <= {"RecallOf", "SignOffOf", "CertificateOf", "HoldsJobType"}


@pytest.mark.parametrize("regime", sorted(REGIMES))
def test_nobody_under_18_gets_more_than_the_regimes_let_them(regime: str) -> None:
    column = {job_type.key: job_type.young_person for job_type in BOOKS[regime].job_types}
    assert column["A"] is YoungPerson.ALONE
    assert {column[key] for key in "BCD"} == {YoungPerson.SUPERVISED}
    assert {column[key] for key in ("E", "F", "G", "second person")} == {YoungPerson.NO}


def test_every_sign_off_is_valid_for_at_least_the_window_in_which_it_was_last_done() -> None:
    for book in BOOKS.values():
        for one in requirements(book, SignOffOf):
            assert one.done_within_days is None or one.done_within_days <= one.valid_months * 31, one.task
