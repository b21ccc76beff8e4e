"""Shapes at their edges: for each kind of field what fits and what does not."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from enum import StrEnum
from typing import Any

import pytest

from training.core.permission.shape import misfits

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
NAIVE = datetime(2026, 3, 2, 12)  # noqa: DTZ001 - that is what is tried


class Colour(StrEnum):
    RED = "red"


@dataclass(frozen=True)
class Inner:
    number: int


@dataclass(frozen=True)
class Shapes:
    whole: int = 1
    real: float = 1.0
    truth: bool = True
    text: str = ""
    day: date = date(2026, 3, 2)
    instant: datetime = NOON
    perhaps: int | None = None
    either: int | str = 1
    inner: Inner = Inner(1)
    several: tuple[int, ...] = ()
    names: frozenset[str] = frozenset()
    table: Mapping[str, int] | None = None
    mapping: Mapping[str, int] = ()  # type: ignore[assignment]
    colour: Colour = Colour.RED
    inners: tuple[Inner, ...] = ()


FITS: dict[str, list[Any]] = {
    "whole": [0, -1, 10**30],
    "real": [0.0, -1.5, 3],
    "truth": [True, False],
    "text": ["", "x", Colour.RED],
    "day": [date.min, date.max],
    "instant": [NOON, NOON.astimezone(datetime.strptime("+0530", "%z").tzinfo)],
    "perhaps": [None, 0],
    "either": [0, "x"],
    "inner": [Inner(0)],
    "several": [(), (1, 2), [1, 2]],
    "names": [frozenset(), frozenset({"a", "b"}), {"a"}],
    "table": [{}, {"a": "not looked at"}, None],
    "mapping": [{}, {"a": 1}],
    "colour": [Colour.RED],
    "inners": [(), (Inner(1), Inner(2))],
}
MISFITS: dict[str, list[Any]] = {
    "whole": [True, False, 1.0, "1", None],
    "real": [True, False, math.nan, math.inf, -math.inf, "1", None],
    "truth": [0, 1, "", None],
    "text": [0, None, b""],
    "day": [NOON, NAIVE, "2026-03-02", None],
    "instant": [NAIVE, date(2026, 3, 2), "2026-03-02T12:00Z", None],
    "perhaps": [True, "1", 1.0],
    "either": [True, None, 1.0],
    "inner": [None, 1, Inner("1"), Inner(True)],  # type: ignore[arg-type]
    "several": [None, (1, "2"), ("1", 2), {1, 2}, 1, (True,), {1: 1}],
    "names": [None, ("a",), ["a"], {"a", 1}, "a"],
    "table": [[], (), "a", 1],
    "mapping": [None, [], (), "a"],
    "colour": ["red", None, 1],
    "inners": [(Inner(1), None), (None, Inner(1)), (Inner(1), Inner("2")), Inner(1)],  # type: ignore[arg-type]
}
PAIRS = [(field, value) for field, values in FITS.items() for value in values]
ODD = [(field, value) for field, values in MISFITS.items() for value in values]


@pytest.mark.parametrize(
    ("field", "value"), PAIRS, ids=[f"{field} {number}" for number, (field, _value) in enumerate(PAIRS)]
)
def test_what_fits_its_field_is_no_misfit(field: str, value: Any) -> None:
    assert misfits(Shapes(**{"mapping": {}, field: value}), Shapes) == ()


@pytest.mark.parametrize(
    ("field", "value"), ODD, ids=[f"{field} {number}" for number, (field, _value) in enumerate(ODD)]
)
def test_what_does_not_fit_is_named_by_its_field_and_no_other_is(field: str, value: Any) -> None:
    assert misfits(Shapes(**{"mapping": {}, field: value}), Shapes) == (field,)


def test_all_misfits_are_named_in_the_order_of_the_fields_and_a_stranger_by_what_it_should_be() -> None:
    assert misfits(Shapes(whole=True, day=NOON, mapping={}), Shapes) == ("whole", "day")
    assert misfits(Inner(1), Shapes) == ("Shapes",)
    assert misfits(None, Inner) == ("Inner",)
