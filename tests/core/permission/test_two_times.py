"""The same question with three states of knowledge: the worked example of reliability.md section 3."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from tests.core.permission.builders import (
    ADULT,
    appointed,
    appointment,
    asks,
    certificate,
    evidence,
    grounds,
    named_mentor,
    observed,
    person,
    sign_off,
    stood_down,
)
from training.core.permission.decide import decide
from training.core.permission.decision import Decision, Ground, Mode
from training.core.permission.evidence import PersonEvidence

ASKED_ABOUT = datetime(2026, 3, 2, 10, 15, tzinfo=UTC)
RULES = asks(appointed(12), sign_off("T1", months=6))
RECORDED = {
    1: datetime(2026, 1, 10, 9, 0, tzinfo=UTC),
    2: datetime(2026, 1, 12, 8, 0, tzinfo=UTC),
    3: datetime(2026, 3, 2, 11, 0, tzinfo=UTC),
    4: datetime(2026, 3, 3, 9, 0, tzinfo=UTC),
}


def mentor_m(known_at: int) -> PersonEvidence:
    """From record 4 on it is known that M's authority ended on 5 January."""
    through = date(2026, 1, 5) if known_at >= 4 else date(2027, 1, 1)
    return PersonEvidence(
        person="m",
        mentor_appointments=(named_mentor(frozenset({"T1"}), through_day=through),),
        certificates=(certificate("HV course", tasks=frozenset({"T1"})),),
    )


def as_known_at(known_at: int) -> Decision:
    passed = observed(RECORDED[1], by="m", record=1)
    signed = appointment(from_day=date(2026, 1, 12), through_day=date(2027, 1, 11), record=2)
    near_miss = stood_down(datetime(2026, 3, 1, 16, 0, tzinfo=UTC), record=3)
    of = person(
        ages=(ADULT,),
        observations=(passed,) if known_at >= 1 else (),
        appointments=(signed,) if known_at >= 2 else (),
        stand_downs=(near_miss,) if known_at >= 3 else (),
    )
    given = evidence(
        of,
        colleagues={"m": mentor_m(known_at)},
        head=known_at,
        newest_recorded_at=RECORDED[known_at],
        read_at=datetime(2026, 4, 1, tzinfo=UTC),
    )
    return decide(given, RULES, "J", at=ASKED_ABOUT, known_at=known_at)


@pytest.mark.parametrize(
    ("known_at", "missing"),
    [
        pytest.param(2, [], id="known on 2 March at 10:15"),
        pytest.param(3, [Ground.STOOD_DOWN], id="known on 2 March at 11:00, the near miss reported"),
        pytest.param(4, [Ground.STOOD_DOWN, Ground.SIGN_OFF], id="known on 3 March, the mentor's authority void"),
    ],
)
def test_the_same_question_as_known_at_each_record(known_at: int, missing: list[Ground]) -> None:
    decision = as_known_at(known_at)
    assert grounds(decision) == missing
    assert decision.mode is (Mode.NOT_CLEARED if missing else Mode.ALONE)
    assert (decision.known_at, decision.head) == (known_at, known_at)


def test_what_was_cleared_then_ended_with_the_observation() -> None:
    decision = as_known_at(2)
    assert decision.proofs == (1, 2)
    assert decision.ends_by is not None
    assert decision.ends_by.by_day == date(2026, 7, 10)  # observed 10 January, six months
