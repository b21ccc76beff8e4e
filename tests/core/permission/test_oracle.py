"""P12: ``decide`` agrees with the slow oracle on the mode, the end to the minute, and what is missing."""

from __future__ import annotations

import os
from datetime import datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.core.permission.builders import AT
from tests.core.permission.houses import House, houses
from tests.core.permission.oracle import consult
from training.core.permission.decide import decide

CASES = 5_000
DEEP_CASES = int(os.environ.get("HOOKSIDE_ORACLE_CASES", "100000"))
INSTANTS = st.one_of(
    st.just(AT),
    st.integers(0, 40 * 24 * 3600).map(lambda seconds: AT + timedelta(seconds=seconds)),
    st.integers(0, 10**13).map(lambda micros: AT + timedelta(microseconds=micros)),
)
PAST = st.integers(0, 300 * 24 * 60).map(lambda minutes: AT - timedelta(minutes=minutes))


def differences(house: House, at: datetime, *, ends: bool = True) -> list[str]:
    """What ``decide`` and the oracle say differently. Ends only where nothing on record still has to happen."""
    decision = decide(*house, "J", at=at, known_at=1000)
    opinion = consult(*house, "J", at=at, known_at=1000)
    gaps = frozenset((gap.ground, str(gap.subject)) for gap in decision.gaps)
    found = []
    if decision.mode != opinion.mode:
        found.append(f"mode: {decision.mode}, oracle {opinion.mode}")
    if ends and decision.until != opinion.until:
        found.append(f"until: {decision.until} by {decision.ends_by}, oracle {opinion.until}")
    if gaps not in opinion.gaps:
        found.append(f"gaps: {sorted(gaps)}, oracle {[sorted(each) for each in opinion.gaps]}")
    return found


@settings(max_examples=CASES)
@given(houses(), INSTANTS)
def test_decide_agrees_with_the_oracle(house: House, at: datetime) -> None:
    assert differences(house, at) == []


@given(houses(), PAST)
def test_decide_agrees_with_the_oracle_about_the_past(house: House, at: datetime) -> None:
    assert differences(house, at, ends=False) == []


@pytest.mark.deep
@settings(max_examples=DEEP_CASES)
@given(houses(), INSTANTS)
def test_decide_agrees_with_the_oracle_in_very_many_cases(house: House, at: datetime) -> None:
    assert differences(house, at) == []
