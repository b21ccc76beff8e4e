"""Papers at their edges: checks with the issuer, what a remedy says of them, and which of equals is the proof."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from tests.core.permission.builders import (
    TODAY,
    answer,
    appointed,
    appointment,
    asks,
    certificate,
    certificate_of,
    evidence,
    gap_of,
    grounds,
    instructed,
    instruction,
    person,
)
from training.core.permission.decision import Decision, Ground, Mode, RemedyKind
from training.core.permission.validity import certificate_in_force, verified_through

CHECKED = certificate_of(months=24, verify=6)
UNCHECKED = certificate(issued_on=date(2025, 5, 1))


def judged(*papers: Any) -> Decision:
    return answer(evidence(person(certificates=papers)), asks(CHECKED))


def test_what_only_has_to_be_checked_with_its_issuer_is_an_entry_away_today() -> None:
    decision = judged(UNCHECKED)
    assert grounds(decision) == [Ground.CERTIFICATE]
    gap = gap_of(decision, Ground.CERTIFICATE)
    assert (gap.remedy.kind, gap.remedy.minutes, gap.remedy.earliest_on) == (RemedyKind.ENTRY, 2, TODAY)
    assert gap.facts == (("valid_months", 24), ("to_be_checked_with_issuer", True))


@pytest.mark.parametrize(
    "paper",
    [
        pytest.param(certificate("medical", date(2026, 2, 1)), id="another kind"),
        pytest.param(certificate(issued_on=date(2024, 3, 1)), id="out of date"),
        pytest.param(certificate("medical", date(2024, 3, 1)), id="another kind and out of date"),
    ],
)
def test_no_check_with_an_issuer_makes_up_for_a_certificate_that_is_not_there(paper: Any) -> None:
    gap = gap_of(judged(paper), Ground.CERTIFICATE)
    assert gap.remedy.kind is RemedyKind.CERTIFICATE
    assert gap.facts == (("valid_months", 24), ("to_be_checked_with_issuer", False))


@pytest.mark.parametrize(
    ("fields", "through"),
    [
        pytest.param({}, date(2025, 11, 1), id="seen when it was issued"),
        pytest.param({"entered_on": date(2025, 10, 5)}, date(2026, 4, 5), id="seen when it was entered"),
        pytest.param({"verified_on": (date(2025, 12, 1),)}, date(2026, 6, 1), id="asked since"),
        pytest.param({"verified_on": (date(2025, 12, 1), date(2025, 10, 1))}, date(2026, 6, 1), id="asked twice"),
        pytest.param({"verified_on": (TODAY,)}, date(2026, 9, 2), id="asked on the day"),
        pytest.param({"verified_on": (date(2026, 3, 3),)}, date(2025, 11, 1), id="asked later than the day"),
    ],
)
def test_a_certificate_need_not_be_checked_again_for_so_many_months(fields: Any, through: date) -> None:
    paper = certificate(issued_on=date(2025, 5, 1), **fields)
    assert verified_through(paper, 6, TODAY) == through
    assert certificate_in_force(paper, 24, TODAY, 6) is (through >= TODAY)


def test_a_check_lasts_through_its_last_day() -> None:
    paper = certificate(issued_on=date(2025, 9, 2))
    assert certificate_in_force(paper, 24, TODAY, 6)
    assert not certificate_in_force(paper, 24, date(2026, 3, 3), 6)


def test_a_clearance_ends_with_the_check_or_with_the_certificate_whichever_comes_first() -> None:
    checked = certificate(issued_on=date(2025, 5, 1), verified_on=(date(2026, 1, 15),))
    ends = judged(checked).ends_by
    assert ends is not None
    assert ends.by_day == date(2026, 7, 15)
    short = certificate(issued_on=date(2025, 5, 1), verified_on=(date(2026, 1, 15),), through_day=date(2026, 4, 1))
    ends = judged(short).ends_by
    assert ends is not None
    assert ends.by_day == date(2026, 4, 1)


@pytest.mark.parametrize("later_first", [False, True])
def test_of_papers_that_last_equally_long_the_earliest_record_is_the_proof(later_first: bool) -> None:
    papers = [certificate(issued_on=date(2025, 12, 1), record=number) for number in (4, 9)]
    decision = judged(*(reversed(papers) if later_first else papers))
    assert (decision.mode, decision.proofs) == (Mode.ALONE, (4,))


def test_a_missing_appointment_says_how_long_one_may_last_and_takes_two_minutes() -> None:
    gap = gap_of(answer(evidence(), asks(appointed(12))), Ground.APPOINTMENT)
    assert (gap.remedy.minutes, gap.facts) == (2, (("valid_months", 12),))


def test_missing_instruction_takes_half_an_hour_today_and_says_how_long_it_lasts() -> None:
    gap = gap_of(answer(evidence(), asks(instructed(12, under_18=6))), Ground.INSTRUCTION)
    assert gap.remedy.kind is RemedyKind.INSTRUCTION
    assert (gap.remedy.minutes, gap.remedy.earliest_on, gap.facts) == (30, TODAY, (("months", 12),))


def test_the_instruction_and_the_appointment_that_last_longest_are_the_proof() -> None:
    told = (instruction(date(2026, 2, 1), record=3), instruction(date(2025, 6, 1), record=2))
    named = (appointment(record=6, through_day=date(2026, 5, 1)), appointment(record=5))
    decision = answer(evidence(person(instructions=told, appointments=named)), asks(instructed(), appointed()))
    assert decision.proofs == (3, 5)


def test_longer_months_for_under_18_than_for_adults_give_nobody_more() -> None:
    given = evidence(person(instructions=(instruction(date(2025, 8, 1)),), ages=()))
    gap = gap_of(answer(given, asks(instructed(6, under_18=12))), Ground.INSTRUCTION)
    assert gap.facts == (("months", 6),)
