"""Papers: outside certificates, appointments, instruction, and their last days."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from tests.core.permission.builders import (
    ADULT,
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
    person,
)
from training.core.permission.decision import Decision, Ground, Mode, RemedyKind
from training.core.permission.rule_book import RuleBook


def judged(rules: RuleBook, **papers: Any) -> Decision:
    return answer(evidence(person(**papers)), rules)


def last_day(decision: Decision) -> date | None:
    return decision.ends_by.by_day if decision.ends_by else None


# ------------------------------------------------------------------------------------------------------ certificates

FIRST_AID = asks(certificate_of(months=24))


@pytest.mark.parametrize(
    ("paper", "through"),
    [
        pytest.param(certificate(issued_on=date(2024, 3, 2)), date(2026, 3, 2), id="24 months, last day"),
        pytest.param(certificate(issued_on=date(2024, 3, 1)), None, id="24 months, a day past"),
        pytest.param(certificate(through_day=date(2026, 3, 2)), date(2026, 3, 2), id="its own last day"),
        pytest.param(certificate(through_day=date(2026, 3, 1)), None, id="its own day past"),
        pytest.param(certificate(through_day=date(2040, 1, 1)), date(2027, 5, 1), id="never longer than the rule"),
        pytest.param(certificate(issued_on=date(2026, 3, 3)), None, id="still to come"),
        pytest.param(certificate("medical"), None, id="another kind"),
        pytest.param(certificate(issued_on=date(2024, 2, 29)), None, id="leap day, 24 months: 28 Feb 2026"),
        pytest.param(
            certificate(issued_on=date(2026, 2, 1), entered_on=date(2026, 1, 1)), None, id="dated ahead, not confirmed"
        ),
        pytest.param(
            certificate(issued_on=date(2026, 2, 1), entered_on=date(2026, 1, 1), confirmed_on=date(2026, 2, 1)),
            date(2028, 2, 1),
            id="dated ahead, confirmed",
        ),
        pytest.param(
            certificate(issued_on=date(2026, 2, 1), entered_on=date(2026, 2, 20)), date(2028, 2, 1), id="entered later"
        ),
    ],
)
def test_a_certificate_counts_through_its_last_day(paper: Any, through: date | None) -> None:
    decision = judged(FIRST_AID, certificates=(paper,))
    assert decision.mode is (Mode.ALONE if through else Mode.NOT_CLEARED)
    assert last_day(decision) == through


def test_the_certificate_that_lasts_longest_is_the_proof() -> None:
    papers = (certificate(issued_on=date(2025, 1, 1), record=1), certificate(issued_on=date(2025, 6, 1), record=2))
    decision = judged(FIRST_AID, certificates=papers)
    assert decision.proofs == (2,)
    assert last_day(decision) == date(2027, 6, 1)


def test_a_missing_certificate_promises_no_day() -> None:
    (gap,) = judged(FIRST_AID).gaps
    assert (gap.ground, gap.subject, gap.remedy.kind) == (
        Ground.CERTIFICATE,
        "first aid and CPR",
        RemedyKind.CERTIFICATE,
    )
    assert gap.remedy.earliest_on is None


# ------------------------------------------------------------------------------------------------------ appointments

NAMED = asks(appointed(12))


@pytest.mark.parametrize(
    ("paper", "through"),
    [
        pytest.param(appointment(), date(2027, 1, 11), id="through its own day"),
        pytest.param(appointment(through_day=date(2030, 1, 1)), date(2027, 1, 12), id="never longer than 12 months"),
        pytest.param(appointment(through_day=date(2026, 3, 1)), None, id="over"),
        pytest.param(appointment(from_day=date(2025, 3, 1), through_day=date(2030, 1, 1)), None, id="too old"),
        pytest.param(appointment("K"), None, id="another job type"),
        pytest.param(appointment(workshop="elsewhere"), None, id="another workshop"),
        pytest.param(appointment(by="tom"), None, id="by themselves"),
        pytest.param(appointment(from_day=date(2026, 3, 3)), None, id="starts tomorrow"),
        pytest.param(appointment(entered_on=date(2026, 3, 3)), None, id="dated back, not yet written"),
        pytest.param(appointment(entered_on=date(2025, 12, 1)), None, id="starts by itself"),
        pytest.param(
            appointment(entered_on=date(2025, 12, 1), confirmed_on=date(2026, 1, 11)), None, id="confirmed too early"
        ),
        pytest.param(
            appointment(entered_on=date(2025, 12, 1), confirmed_on=date(2026, 1, 12)),
            date(2027, 1, 11),
            id="confirmed on its day",
        ),
    ],
)
def test_an_appointment_counts_when_it_does(paper: Any, through: date | None) -> None:
    decision = judged(NAMED, appointments=(paper,))
    assert decision.mode is (Mode.ALONE if through else Mode.NOT_CLEARED)
    assert last_day(decision) == through


def test_an_appointment_for_several_job_types_counts_for_each() -> None:
    assert judged(NAMED, appointments=(appointment("J", "K"),)).mode is Mode.ALONE


def test_a_missing_appointment_is_a_signature_away() -> None:
    (gap,) = judged(NAMED).gaps
    assert (gap.ground, gap.remedy.kind, gap.remedy.earliest_on) == (
        Ground.APPOINTMENT,
        RemedyKind.SIGNATURE,
        date(2026, 3, 2),
    )


# ------------------------------------------------------------------------------------------------------- instruction

TOLD = asks(instructed(12, under_18=6))


@pytest.mark.parametrize(
    ("given_on", "ages", "through"),
    [
        pytest.param(date(2025, 3, 2), (ADULT,), date(2026, 3, 2), id="12 months, last day"),
        pytest.param(date(2025, 3, 1), (ADULT,), None, id="12 months past"),
        pytest.param(date(2025, 9, 2), (age(True),), date(2026, 3, 2), id="under 18: 6 months, last day"),
        pytest.param(date(2025, 9, 1), (age(True),), None, id="under 18: 6 months past"),
        pytest.param(date(2026, 3, 3), (ADULT,), None, id="still to come"),
    ],
)
def test_instruction_lasts_twelve_months_and_six_under_18(given_on: date, ages: Any, through: date | None) -> None:
    # ArbSchG s.12 and JArbSchG s.29 (as quoted in competence-rules section 2)
    decision = judged(TOLD, instructions=(instruction(given_on),), ages=ages)
    assert decision.mode is (Mode.ALONE if through else Mode.NOT_CLEARED)
    assert last_day(decision) == through


def test_instruction_at_another_workshop_does_not_count() -> None:
    assert grounds(judged(TOLD, instructions=(instruction(workshop="elsewhere"),))) == [Ground.INSTRUCTION]


def test_whose_age_is_not_known_counts_as_under_18() -> None:
    told = (instruction(date(2025, 7, 1)),)
    assert grounds(judged(TOLD, instructions=told, ages=())) == [Ground.AGE_UNKNOWN, Ground.INSTRUCTION]
    assert grounds(judged(TOLD, instructions=told)) == []
