"""Insulation against UN R100, cross-checked by Kirchhoff's laws solved with numpy."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from training.core.trade import insulation
from training.core.trade.errors import BadInput, Contradiction, MakerValueMissing, OutOfRange
from training.core.trade.insulation import PartVerdict

OHMS = st.floats(1e4, 5e6)
GOOD_METER = 10e6


def node_voltages(pack_v: float, plus_ohm: float, minus_ohm: float) -> tuple[float, float]:
    """Negative-to-body and positive-to-body volts by nodal analysis: the body floats between the two resistances."""
    # unknowns: body potential and pack current; positive pole at pack_v, negative pole at 0
    matrix = np.array([[1 / plus_ohm + 1 / minus_ohm, 0.0], [1 / plus_ohm, 1.0]])
    body_v, _ = np.linalg.solve(matrix, np.array([pack_v / plus_ohm, pack_v / plus_ohm]))
    return float(body_v), float(pack_v - body_v)


def beside(one_ohm: float, other_ohm: float) -> float:
    return 1 / (1 / one_ohm + 1 / other_ohm)


def measured(pack_v: float, plus_ohm: float, minus_ohm: float, resistor_ohm: float) -> tuple[float, float, float]:
    """Both sides, then the higher one again with the resistor across it."""
    negative_v, positive_v = node_voltages(pack_v, plus_ohm, minus_ohm)
    if negative_v >= positive_v:
        return negative_v, positive_v, node_voltages(pack_v, plus_ohm, beside(minus_ohm, resistor_ohm))[0]
    return negative_v, positive_v, node_voltages(pack_v, beside(plus_ohm, resistor_ohm), minus_ohm)[1]


VECTORS = [
    # trade-facts section 2, UN R100 Annex 5: pack, R+, R-, Ro, V1, V2, across, V', Ri, ohm/V, passes 100, passes 500
    (400, 250e3, 750e3, 200e3, 300.0, 100.0, "negative", 154.8387, 250_000, 625, True, True),
    (400, 30e3, 270e3, 40e3, 360.0, 40.0, "negative", 214.9254, 30_000, 75, False, False),
    (400, 900e3, 100e3, 200e3, 40.0, 360.0, "positive", 248.2759, 100_000, 250, True, False),
    (800, 1e6, 1e6, 400e3, 400.0, 400.0, "negative", 177.7778, 1_000_000, 1250, True, True),
]


@pytest.mark.parametrize("row", VECTORS, ids=["R100 1", "R100 2", "R100 3", "R100 4 tie"])
def test_the_two_voltage_vectors_come_out(row: tuple[float, ...]) -> None:
    pack_v, plus, minus, resistor, v1, v2, across, loaded, weaker, per_v, passes_100, passes_500 = row
    assert node_voltages(pack_v, plus, minus) == pytest.approx((v1, v2), abs=1e-9)
    assert measured(pack_v, plus, minus, resistor)[2] == pytest.approx(loaded, abs=5e-5)
    result = insulation.two_voltage(*(pack_v, v1, v2), resistor, measured(pack_v, plus, minus, resistor)[2], GOOD_METER)
    assert result.weaker_side_ohm == pytest.approx(weaker, rel=1e-9)
    assert result.ohm_per_v == pytest.approx(per_v, rel=1e-9)
    assert result.resistor_across == across
    assert insulation.vehicle_passes(weaker, pack_v, 100) is passes_100
    assert insulation.vehicle_passes(weaker, pack_v) is passes_500


def test_rounded_readings_give_the_published_rounded_result() -> None:
    result = insulation.two_voltage(400, 300, 100, 200e3, 154.8, GOOD_METER)  # vector 5
    assert result.weaker_side_ohm == pytest.approx(250_129, abs=1)
    assert result.ohm_per_v == pytest.approx(625.3, abs=0.05)


def test_a_meter_left_in_place_cancels_out() -> None:
    # vector 6: 10 Mohm across the negative side in both readings
    v1, _ = node_voltages(400, 250e3, beside(750e3, 10e6))
    _, v2 = node_voltages(400, beside(250e3, 10e6), 750e3)
    loaded, _ = node_voltages(400, 250e3, beside(beside(750e3, 10e6), 200e3))
    assert (v1, loaded) == pytest.approx((294.479, 153.355), abs=5e-4)
    assert insulation.two_voltage(400, v1, v2, 200e3, loaded, 10e6).weaker_side_ohm == pytest.approx(250e3, rel=1e-9)


@given(st.floats(100, 1000), OHMS, OHMS, st.floats(1e4, 1e6))
def test_the_method_finds_the_weaker_side_whatever_the_resistor(
    pack_v: float, plus: float, minus: float, resistor: float
) -> None:
    v1, v2, loaded = measured(pack_v, plus, minus, resistor)
    result = insulation.two_voltage(pack_v, v1, v2, resistor, loaded, GOOD_METER)
    assert result.weaker_side_ohm == pytest.approx(min(plus, minus), rel=1e-6)


@given(st.floats(100, 1000), OHMS, OHMS, st.floats(1e4, 1e6))
def test_the_older_form_agrees(pack_v: float, plus: float, minus: float, resistor: float) -> None:
    # FMVSS 305 S7.6 older text, SAE J1766 (V14): Ri = Ro (1 + V2/V1) (V1 - V1')/V1'
    v1, v2, loaded = measured(pack_v, plus, minus, resistor)
    high, low = max(v1, v2), min(v1, v2)
    older = resistor * (1 + low / high) * (high - loaded) / loaded
    result = insulation.two_voltage(pack_v, v1, v2, resistor, loaded, GOOD_METER)
    assert result.weaker_side_ohm == pytest.approx(older, rel=1e-6)


@pytest.mark.parametrize(
    ("readings", "error"),
    [
        ((400, 300, 100, 200e3, 300, GOOD_METER), Contradiction),
        ((400, 300, 100, 200e3, 310, GOOD_METER), Contradiction),
        ((400, 300, 79, 200e3, 150, GOOD_METER), Contradiction),
        ((400, 300, 121, 200e3, 150, GOOD_METER), Contradiction),
        ((400, 0, 400, 200e3, 150, GOOD_METER), OutOfRange),
        ((400, 300, 100, 200e3, 0, GOOD_METER), OutOfRange),
        ((-400, 300, 100, 200e3, 150, GOOD_METER), OutOfRange),
        ((400, 300, 100, 200e3, 154.8, 1e6), OutOfRange),  # AIS-156 Annex B 1.2.2: 10 Mohm (V15)
    ],
)
def test_bad_readings_raise_and_give_no_number(readings: tuple[float, ...], error: type[BadInput]) -> None:
    with pytest.raises(error):
        insulation.two_voltage(*readings)


@pytest.mark.parametrize(("ohm", "expected"), [(160e3, True), (240e3, True), (250e3, False), (159e3, False)])
def test_the_resistor_is_within_a_fifth(ohm: float, expected: bool) -> None:
    assert insulation.resistor_in_band(ohm, 500, 400) is expected  # UN R100 note 1 (V16)


@pytest.mark.parametrize(
    ("working_v", "bus", "limit_ohm"),
    [
        (400, "DC apart", 40_000),  # UN R100 5.1.3.1 (V05)
        (400, "AC apart", 200_000),
        (403.2, "joined", 201_600),  # UN R100 5.1.3.2 (V06)
        (403.2, "joined, AC protected", 40_320),
        (806.4, "joined", 403_200),
        (806.4, "joined, AC protected", 80_640),
    ],
)
def test_the_vehicle_limit_is_ohm_per_volt(working_v: float, bus: insulation.Bus, limit_ohm: float) -> None:
    assert insulation.vehicle_limit_ohm(working_v, bus=bus) == pytest.approx(limit_ohm, rel=1e-12)
    assert insulation.vehicle_passes(limit_ohm + 1, working_v, bus=bus)
    assert not insulation.vehicle_passes(limit_ohm - 1, working_v, bus=bus)


@pytest.mark.parametrize(("ohm_per_v", "current_ma"), [(100, 10), (500, 2)])
def test_ohm_per_volt_caps_the_fault_current_at_any_voltage(ohm_per_v: float, current_ma: float) -> None:
    assert insulation.fault_current_ma(ohm_per_v) == current_ma  # V08
    for volts in (60, 400, 800):
        assert volts / insulation.vehicle_limit_ohm(volts, ohm_per_v) * 1000 == pytest.approx(current_ma)


def test_eight_parts_that_just_pass_make_a_vehicle_that_fails() -> None:
    together = insulation.parallel_ohm([200e3] * 8)  # C2
    assert together == pytest.approx(25_000)
    assert together / 400 == pytest.approx(62.5)
    assert not insulation.vehicle_passes(together, 400, 100)


@pytest.mark.parametrize(
    ("measured_ohm", "maker_ohm", "expected"),
    [(0.25e6, 10e6, "FAILS"), (10e6, 10e6, "PASSES"), (0.25e6, None, "COMPARE"), (500e6, None, "COMPARE")],
)  # C2; trade-practice section 5 no. 16
def test_a_part_is_judged_by_its_maker_or_not_at_all(
    measured_ohm: float, maker_ohm: float | None, expected: str
) -> None:
    assert insulation.judge_part(measured_ohm, maker_ohm) is PartVerdict[expected]


def test_ten_megohm_is_what_lessons_call_usual() -> None:
    assert insulation.usual_for_a_cable(10e6)  # common practice, no source (C2)
    assert not insulation.usual_for_a_cable(9.9e6)


@pytest.mark.parametrize(
    ("highest_v", "expected"), [(403, 500), (454, 500), (560, 1000), (832, 1000), (500, 500)]
)  # M18, M19 for a bare cable
def test_a_bare_cable_is_tested_at_the_range_above_its_system(highest_v: float, expected: float) -> None:
    assert insulation.volts_to_test_with(None, bare_cable=True, highest_v=highest_v, rated_v=1000) == expected


def test_the_makers_test_voltage_stands_above_the_system_voltage() -> None:
    assert insulation.volts_to_test_with(500, bare_cable=True, highest_v=832, rated_v=1000) == 500  # C3


def test_anything_but_a_bare_cable_is_not_tested_without_the_maker() -> None:
    with pytest.raises(MakerValueMissing):
        insulation.volts_to_test_with(None, highest_v=403, rated_v=1000)
    with pytest.raises(MakerValueMissing):
        insulation.volts_to_test_with(None, bare_cable=True)
    with pytest.raises(OutOfRange):
        insulation.volts_to_test_with(None, bare_cable=True, highest_v=832, rated_v=600)


@given(st.lists(OHMS, min_size=1, max_size=10), OHMS)
def test_one_more_part_always_lowers_the_whole(parts: list[float], more: float) -> None:
    assert insulation.parallel_ohm([*parts, more]) < insulation.parallel_ohm(parts) * (1 + 1e-12)
    assert insulation.parallel_ohm([*parts, more]) <= min([*parts, more]) * (1 + 1e-12)
