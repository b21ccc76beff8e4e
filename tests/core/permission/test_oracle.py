"""P12: ``decide`` agrees with the slow oracle on the mode, the end to the minute, and what is missing."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import given, seed, settings
from hypothesis import strategies as st

from tests.core.permission.builders import AT
from tests.core.permission.houses import House, houses
from tests.core.permission.oracle import Oracle, consult
from training.core.permission.decide import decide
from training.core.permission.decision import Mode
from training.core.permission.evidence import Evidence

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


# ------------------------------------------------------------------------------------- the cases reach every route


def named_otherwise(given_evidence: Evidence, **changes: Any) -> Evidence:
    """Every mentor's naming changed."""
    colleagues = {
        key: replace(one, mentor_appointments=tuple(replace(a, **changes) for a in one.mentor_appointments))
        for key, one in given_evidence.colleagues.items()
    }
    return replace(given_evidence, colleagues=colleagues)


WITHOUT: dict[str, Callable[[Evidence], Evidence]] = {
    "small shops": lambda e: replace(e, small_shops=()),
    "mentors from outside": lambda e: named_otherwise(e, outside=False),
    "second signatures": lambda e: named_otherwise(e, second_by="", second_on=None),
}


def test_some_random_houses_are_cleared_only_through_a_small_shop_a_guest_or_a_second_signature() -> None:
    lost: Counter[str] = Counter()

    def is_cleared(given_evidence: Evidence, house: House) -> bool:
        return Oracle(given_evidence, house[1], "J", 1000).snapshot(AT)[0] is not Mode.NOT_CLEARED

    @seed(2026)
    @settings(max_examples=400, database=None)
    @given(houses())
    def look(house: House) -> None:
        if is_cleared(house[0], house):
            lost.update(route for route, less in WITHOUT.items() if not is_cleared(less(house[0]), house))

    look()
    assert set(lost) == set(WITHOUT), lost
