"""The lint finds what is spoiled in a question, and nothing in a sound one."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date

import pytest

from tests.core.questions.bad_items import BAD_BANKS, BAD_ITEMS, CLEAN_ITEMS, positions
from tests.core.questions.builders import SOUND
from training.core.questions.kinds import Question
from training.core.questions.lint import BankEntry, Level, fingerprint, lint_bank, lint_question
from training.core.questions.lint.bank import chi_square


@pytest.mark.parametrize(
    ("rule", "question", "entry"), BAD_ITEMS, ids=[f"{rule}-{n}" for n, (rule, _, _) in enumerate(BAD_ITEMS)]
)
def test_a_spoiled_question_breaks_its_rule_and_no_other(rule: str, question: Question, entry: BankEntry) -> None:
    found = lint_question(question, entry)
    assert {finding.rule for finding in found} == {rule}
    assert all(finding.question == question.id and finding.sentence.endswith(".") for finding in found)


@pytest.mark.parametrize(("rule", "questions"), BAD_BANKS)
def test_a_spoiled_bank_breaks_its_rule(rule: str, questions: list[Question]) -> None:
    whole = [finding for finding in lint_bank(questions) if finding.question == "" or finding.rule == "S8"]
    assert rule in {finding.rule for finding in whole}
    assert all(finding.level is Level.ERROR for finding in whole)


def test_every_rule_has_two_spoiled_questions_or_banks() -> None:
    counts = Counter(rule for rule, *_ in [*BAD_ITEMS, *BAD_BANKS])
    assert all(counts[f"L{number}"] >= 2 for number in range(1, 25))


@pytest.mark.parametrize(("question", "entry"), CLEAN_ITEMS, ids=[str(n) for n in range(len(CLEAN_ITEMS))])
def test_a_sound_question_breaks_no_rule(question: Question, entry: BankEntry) -> None:
    assert lint_question(question, entry) == []


def test_there_are_forty_sound_questions() -> None:
    assert len(CLEAN_ITEMS) >= 40


def test_a_bank_of_sound_questions_breaks_no_rule() -> None:
    assert lint_bank(positions([14, 13, 13])) == []


# Competence rules L15: 18/8/8/6 of 40 gives 8.8.
def test_chi_square_agrees_with_the_published_example() -> None:
    assert chi_square([18, 8, 8, 6]) == pytest.approx(8.8)


def test_few_questions_say_nothing_of_positions() -> None:
    assert lint_bank(positions([8, 0, 0])) == []


@pytest.mark.parametrize(
    ("rule", "level"),
    [("L1", "error"), ("L2", "error"), ("L4", "warn"), ("L7", "warn"), ("L18", "error"), ("L24", "error")],
)
def test_the_level_is_that_of_the_rule(rule: str, level: str) -> None:
    found = [lint_question(question, entry)[0] for named, question, entry in BAD_ITEMS if named == rule]
    assert {finding.level for finding in found} == {level}


def test_a_negative_is_an_error_unless_in_capitals() -> None:
    small, capital = (lint_question(question, entry)[0].level for rule, question, entry in BAD_ITEMS if rule == "L3")
    assert (small, capital) == (Level.ERROR, Level.WARN)


def test_a_passed_review_date_is_a_warning() -> None:
    found = lint_question(SOUND, BankEntry(on=date(2027, 12, 1)))
    assert [(finding.rule, finding.level) for finding in found] == [("L17", Level.WARN)]


def test_the_fingerprint_leaves_papers_out_and_text_in() -> None:
    assert fingerprint(replace(SOUND, checker="J. Doe", sources=("other",))) == fingerprint(SOUND)
    assert fingerprint(replace(SOUND, situation="Other.")) != fingerprint(SOUND)
