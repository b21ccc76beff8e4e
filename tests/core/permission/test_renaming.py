"""P11: what people, workshops and records are called decides nothing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, is_dataclass, replace
from enum import Enum
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from tests.core.permission.builders import SHOP, answer
from tests.core.permission.houses import House, houses
from training.core.permission.decision import Decision

PEOPLE = ("boss", "chief", "eve", "max", "mia", "moe", "sam", "sue", "tom")
AS_BEFORE = {key: f"p{place:02}" for place, key in enumerate(PEOPLE)}
"""Other names in the same order, so that whatever is listed by name keeps its order."""

RECORDS = ("record", "records", "proofs", "head", "known_at", "unreadable", "evidence")


def renamed(value: Any, names: dict[str, str], numbered: Callable[[int], int], field: str = "") -> Any:
    """Any value, to the bottom, with other names for people and workshops and other numbers for records."""
    if is_dataclass(value) and not isinstance(value, type):
        changes = {f.name: renamed(getattr(value, f.name), names, numbered, f.name) for f in fields(value) if f.init}
        return replace(value, **changes)
    if isinstance(value, dict):
        return {names.get(key, key): renamed(inner, names, numbered) for key, inner in value.items()}
    if isinstance(value, tuple):
        field = "record" if value[:1] == ("small_shop",) else field
        return tuple(renamed(inner, names, numbered, field) for inner in value)
    if isinstance(value, str) and not isinstance(value, Enum):
        return names.get(value, value)
    if field in RECORDS and isinstance(value, int) and not isinstance(value, bool):
        return numbered(value)
    return value


def threefold(number: int) -> int:
    return 3 * number + 7


def same(number: int) -> int:
    return number


@given(houses())
def test_p11_other_names_in_the_same_order_give_the_same_answer_in_those_names(house: House) -> None:
    given_evidence, rules = house
    names = {**AS_BEFORE, SHOP: "w1", "elsewhere": "w2"}
    other = renamed(given_evidence, names, same)
    assert answer(other, rules) == renamed(answer(given_evidence, rules), names, same)


@given(houses())
def test_p11_other_record_numbers_in_the_same_order_give_the_same_answer_by_those_numbers(house: House) -> None:
    given_evidence, rules = house
    asked = replace(given_evidence, head=min(given_evidence.head, 1000))
    other = replace(renamed(asked, {}, threefold), head=asked.head)
    expected = renamed(answer(asked, rules), {}, threefold)
    assert answer(other, rules) == replace(expected, head=asked.head, known_at=1000)


def gist(decision: Decision) -> tuple[object, ...]:
    """What an answer says, whoever is named in it and in which order."""
    gaps = sorted((g.ground, g.subject, g.through, g.remedy.minutes, str(g.remedy.earliest_on)) for g in decision.gaps)
    who = sorted((g.ground, g.subject, len(set(g.remedy.who))) for g in decision.gaps)
    return decision.mode, decision.until, gaps, who, decision.proofs, len(decision.supervisors)


@given(houses(), st.permutations(PEOPLE))
def test_p11_names_swapped_among_people_change_no_mode_end_gap_or_proof(house: House, others: list[str]) -> None:
    given_evidence, rules = house
    names = dict(zip(PEOPLE, others, strict=True))
    assert gist(answer(renamed(given_evidence, names, same), rules)) == gist(answer(given_evidence, rules))
