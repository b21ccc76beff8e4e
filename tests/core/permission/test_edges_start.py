"""Starting and planning at their edges: an instant, a volt or a kilogram more or less."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from training.core.permission.planning import Plan, may_plan
from training.core.permission.start_of_work import voltage_reasons
from training.core.trade.fitness import Job

AT = datetime(2026, 3, 2, 8, tzinfo=UTC)
INSTANT = timedelta(microseconds=1)
HOUR = timedelta(hours=1)
PLAN = Plan(
    vehicle="M-AB 12",
    highest_dc_v=400.0,
    highest_ac_v=300.0,
    mass_kg=1800.0,
    bay="2",
    starts=AT + HOUR,
    ends=AT + 3 * HOUR,
    lead="lea",
    second="sam",
)


def codes(**changes: Any) -> list[str]:
    return [reason.code for reason in may_plan(replace(PLAN, **changes), AT)]


def test_this_plan_lacks_nothing() -> None:
    assert codes() == []


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"vehicle": " "}, "no_vehicle"),
        ({"bay": " "}, "no_bay"),
        ({"mass_kg": None}, "mass_unit"),
        ({"mass_kg": 49.9}, "mass_unit"),
        ({"mass_kg": 60_000.1}, "mass_unit"),
        ({"starts": None}, "no_times"),
        ({"ends": None}, "no_times"),
        ({"starts": AT - HOUR, "ends": AT}, "end_is_past"),
        (
            {"starts": AT + timedelta(days=366, microseconds=1), "ends": AT + timedelta(days=366, hours=1)},
            "too_far_ahead",
        ),
        ({"ends": AT + HOUR}, "ends_first"),
        ({"ends": AT + 11 * HOUR + INSTANT}, "too_long"),
        ({"second": "lea"}, "leads_and_stands_by"),
        ({"highest_dc_v": None}, "voltage_unknown"),
        ({"highest_ac_v": None}, "voltage_unknown"),
        ({"highest_dc_v": 0.0, "highest_ac_v": 0.0}, "voltage_zero"),
        ({"highest_dc_v": 0.4}, "voltage_unit"),
        ({"highest_dc_v": 1500.1}, "voltage_unit"),
        ({"highest_ac_v": 1000.1}, "voltage_unit"),
    ],
)
def test_the_first_figure_that_cannot_be_meant_is_told_alone(changes: dict[str, Any], code: str) -> None:
    assert codes(**changes) == [code]


@pytest.mark.parametrize(
    "changes",
    [
        {"mass_kg": 50.0},
        {"mass_kg": 60_000.0},
        {"starts": AT - HOUR, "ends": AT + INSTANT},
        {"starts": AT + timedelta(days=366), "ends": AT + timedelta(days=366, hours=1)},
        {"ends": AT + HOUR + INSTANT},
        {"ends": AT + 11 * HOUR},
        {"lead": "", "second": ""},
        {"lead": "", "second": "sam"},
        {"lead": "lea", "second": ""},
        {"highest_dc_v": 1.0},
        {"highest_dc_v": 0.0},
        {"highest_ac_v": 0.0},
        {"highest_dc_v": 1500.0},
        {"highest_ac_v": 1000.0},
    ],
)
def test_the_last_figure_that_can_be_meant_is_taken(changes: dict[str, Any]) -> None:
    assert codes(**changes) == []


def test_all_that_is_missing_is_told_once_and_in_order() -> None:
    told = codes(vehicle="", bay="", mass_kg=None, highest_dc_v=None, starts=None, second="lea")
    assert told == ["no_vehicle", "no_bay", "voltage_unknown", "mass_unit", "no_times", "leads_and_stands_by"]


def test_limits_are_told_in_figures() -> None:
    (mass,) = may_plan(replace(PLAN, mass_kg=None), AT)
    (long,) = may_plan(replace(PLAN, ends=AT + 20 * HOUR), AT)
    (far,) = may_plan(replace(PLAN, starts=AT + timedelta(days=400), ends=AT + timedelta(days=400, hours=1)), AT)
    assert "50" in str(mass.values)
    assert "60000" in str(mass.values).replace(",", "")
    assert "10" in str(long.values)
    assert "366" in str(far.values)


@pytest.mark.parametrize(
    ("dc_v", "ac_v", "told"),
    [
        (None, None, ["voltage_unknown"]),
        (0.5, 0.5, ["voltage_unit", "voltage_unit"]),
        (0.5, 400.0, ["voltage_unit"]),
        (2000.0, 2000.0, ["voltage_unit", "voltage_unit"]),
        (0.0, 0.5, ["voltage_unit"]),
        (0.0, 0.0, ["voltage_zero"]),
        (60.0, 30.0, []),
    ],
)
def test_each_voltage_that_cannot_be_meant_is_told(dc_v: float | None, ac_v: float | None, told: list[str]) -> None:
    found = list(voltage_reasons(Job(highest_dc_v=dc_v, highest_ac_v=ac_v)))
    assert [reason.code for reason in found] == told
