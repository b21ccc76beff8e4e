"""Asked by name, the trade gives the published and worked values of its sources."""

from __future__ import annotations

from typing import Any

import pytest

from tests.core.trade.asked_well import GOOD
from training.core.trade.asking import ask

# tested, issued, shelf limit, issuable on the day of issue, due issue + 6, due strict
DATES = [
    ("2016-01-01", "2016-10-01", "2017-01-01", "2017-04-01", "2017-01-01"),  # OSHA letter 2020-08-19; UFC 3-560-01
    ("2021-03-02", "2022-03-01", "2022-03-02", "2022-09-01", "2022-03-02"),  # glove laboratory's page, slip mended
    ("2022-06-20", "2023-06-19", "2023-06-20", "2023-12-19", "2023-06-20"),  # glove vendor's page
    ("2016-11-01", "2017-01-01", "2017-11-01", "2017-07-01", "2017-07-01"),  # clothing maker's page
    ("2023-08-31", "2023-08-31", "2024-08-31", "2024-02-29", "2024-02-29"),  # ours: clamp, leap year
    ("2024-02-29", "2024-12-01", "2025-02-28", "2025-06-01", "2025-02-28"),  # ours: tested on a leap day
]


@pytest.mark.parametrize(("tested_on", "issued_on", "shelf", "loose", "strict"), DATES)
def test_glove_dates_under_both_readings(tested_on: str, issued_on: str, shelf: str, loose: str, strict: str) -> None:
    values = {"tested_on": tested_on, "issued_on": issued_on}
    figures = ask("glove-dates", {**values, "on": issued_on})["figures"]
    assert figures["shelf_limit"]["value"] == shelf
    assert figures["usable_before_issue_plus_6"]["value"] == loose
    assert figures["usable_before_strict_min"]["value"] == figures["usable_before"]["value"] == strict
    assert ask("glove-dates", {**values, "on": figures["last_usable_day"]["value"]})["ok"] is True
    assert ask("glove-dates", {**values, "on": strict})["ok"] is False  # exclusive: out on the day itself


@pytest.mark.parametrize(("tested_on", "issued_on"), [("2021-02-27", "2022-03-01"), ("2022-05-15", "2023-06-19")])
def test_gloves_issued_too_late_have_no_due_date(tested_on: str, issued_on: str) -> None:
    answer = ask("glove-dates", {"tested_on": tested_on, "issued_on": issued_on, "on": issued_on})
    assert (answer["ok"], [reason["code"] for reason in answer["reasons"]]) == (False, ["not_issuable"])
    assert set(answer["figures"]) == {"shelf_limit"}
    unissued = ask("glove-dates", {"tested_on": tested_on, "issued_on": None, "on": issued_on})
    assert (unissued["ok"], unissued["verdict"]) == (False, "may not be issued that day")


@pytest.mark.parametrize(("on", "ok"), [("2019-01-20", True), ("2019-02-01", False), ("2019-02-15", False)])
def test_a_retest_in_service_counts_six_months(on: str, ok: bool) -> None:
    # OSHA letter 2019-01-25; the dates are ours
    assert ask("glove-dates", {"tested_on": "2018-08-01", "issued_on": "2018-02-01", "on": on})["ok"] is ok


# ---------------------------------------------------------------- pads, from moments about the pad lines
PART_480 = {"mass_kg": 480, "at_m": 1.45}
PAD_LOADS: list[tuple[dict[str, Any], list[float]]] = [
    ({}, [470.92, 470.92, 629.08, 629.08]),
    ({"left_offset_m": 0.03, "track_m": 1.5}, [489.76, 452.08, 654.24, 603.92]),
    ({"parts_off": [PART_480]}, [360.65, 360.65, 499.35, 499.35]),
    ({"parts_off": [PART_480, {"mass_kg": 130, "at_m": 2.9}]}, [381.73, 381.73, 413.27, 413.27]),
    ({"parts_off": [PART_480, {"mass_kg": 180, "at_m": 0}]}, [248.76, 248.76, 521.24, 521.24]),
]


@pytest.mark.parametrize(("changed", "pads_kg"), PAD_LOADS)
def test_pad_loads(changed: dict[str, Any], pads_kg: list[float]) -> None:
    last = ask("pads", {**GOOD["pads"], **changed})["figures"]["pads_kg"]["value"][-1]
    corners = [last[corner] for corner in ("front_left", "front_right", "rear_left", "rear_right")]
    assert corners == pytest.approx(pads_kg, abs=0.005)


def test_half_the_axle_would_have_passed_an_overloaded_arm() -> None:
    answer = ask("pads", {**GOOD["pads"], "rated_kg": 2400})
    assert answer["figures"]["half_the_heavier_axle_kg"]["value"] == 572 < 600
    assert (answer["ok"], [reason["code"] for reason in answer["reasons"]]) == (False, ["pad_over_arm"])


# ---------------------------------------------------------------- discharge, from physics
@pytest.mark.parametrize(
    ("start_v", "end_v", "capacitance_uf", "resistance_ohm", "seconds"),
    [
        (400, 60, 1000, 1e4, 18.971),
        (800, 60, 500, 5e4, 64.757),
        (400, 50, 470, 1e5, 97.734),
        (400, 30, 1000, 1e4, 25.903),
    ],
)
def test_discharge_times(
    start_v: float, end_v: float, capacitance_uf: float, resistance_ohm: float, seconds: float
) -> None:
    values = {"start_v": start_v, "end_v": end_v, "capacitance_uf": capacitance_uf, "resistance_ohm": resistance_ohm}
    answer = ask("discharge", values)
    assert answer["figures"]["seconds_to_end"]["value"] == pytest.approx(seconds, abs=0.0005)
    assert "ok" not in answer  # no time was asked for
    assert ask("discharge", {**values, "within_s": seconds - 0.1})["ok"] is False
    assert ask("discharge", {**values, "within_s": seconds + 0.1})["ok"] is True


@pytest.mark.parametrize(("within_s", "ohm"), [(1, 527.11), (5, 2635.6), (120, 63_254), (300, 158_134)])
def test_the_largest_resistor_that_does_it_in_time(within_s: float, ohm: float) -> None:
    figures = ask("discharge", {**GOOD["discharge"], "within_s": within_s})["figures"]
    assert figures["largest_resistor_ohm"]["value"] == pytest.approx(ohm, rel=1e-4)


def test_voltage_and_energy_on_the_way() -> None:
    figures = ask("discharge", {**GOOD["discharge"], "elapsed_s": 5})["figures"]
    assert figures["voltage_after_v"]["value"] == pytest.approx(242.61, abs=0.005)
    assert figures["energy_at_start_j"]["value"] == pytest.approx(80)


# ---------------------------------------------------------------- table, from moments about the edge
@pytest.mark.parametrize(
    ("offset_mm", "restoring_nm", "ok"), [(100, 2084.6, True), (300, 1103.6, False), (550, -122.6, False)]
)
def test_the_moment_that_holds_a_table_up(offset_mm: float, restoring_nm: float, ok: bool) -> None:
    answer = ask("table", {**GOOD["table"], "offset_mm": offset_mm})
    assert answer["figures"]["restoring_nm"]["value"] == pytest.approx(restoring_nm, abs=0.05)
    assert answer["figures"]["bare_equilibrium_mm"]["value"] == pytest.approx(525)
    assert answer["ok"] is ok


def test_inside_the_makers_chart_the_push_still_counts() -> None:
    inside = {**GOOD["table"], "inside_chart": True}
    assert ask("table", {**inside, "offset_mm": 300})["ok"] is True
    assert ask("table", {**inside, "offset_mm": 500})["ok"] is False


# ---------------------------------------------------------------- two-voltage, from the circuit
@pytest.mark.parametrize(
    ("low", "high", "resistor", "loaded", "ohm", "across"),
    [
        (300, 100, 2e5, 154.8387, 250_000, "negative to body"),
        (360, 40, 4e4, 214.9254, 30_000, "negative to body"),
        (40, 360, 2e5, 248.2759, 100_000, "positive to body"),
    ],
)
def test_two_voltage_arithmetic(
    low: float, high: float, resistor: float, loaded: float, ohm: float, across: str
) -> None:
    values = {"pack_v": 400, "negative_to_body_v": low, "positive_to_body_v": high, "resistor_ohm": resistor}
    answer = ask("two-voltage", {**values, "with_resistor_v": loaded, "meter_ohm": 1e7})
    assert answer["figures"]["weaker_side_ohm"]["value"] == pytest.approx(ohm, rel=1e-5)
    assert answer["figures"]["resistor_across"]["value"] == across
    assert "never a step in a workshop" in answer["verdict"]


@pytest.mark.parametrize(("voltage_v", "ok"), [(0.0084, True), (0.01999, True), (0.02, False), (0.024, False)])
def test_a_bond_is_strictly_below_a_tenth_of_an_ohm(voltage_v: float, ok: bool) -> None:
    # UN R100 5.1.2.2, at 0.2 A
    assert ask("bonding", {"voltage_v": voltage_v, "current_a": 0.2})["ok"] is ok
