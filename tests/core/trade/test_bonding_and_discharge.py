"""Bonding against UN R100 5.1.2.2, discharge against the law of the capacitor with pint's units and scipy's solver."""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from training.core.trade import bonding, discharge
from training.core.trade.errors import BadInput, Contradiction, OutOfRange

CAPACITANCE = st.floats(1e-5, 5e-3)
RESISTANCE = st.floats(10, 1e6)


@pytest.mark.parametrize(
    ("voltage_v", "current_a", "ohm", "expected"),
    [
        (0.0084, 0.2, 0.042, True),  # M22
        (0.024, 0.2, 0.120, False),
        (0.020, 0.2, 0.100, False),  # not lower than 0.1
        (0.01998, 0.2, 0.0999, True),  # V10
        (0.5, 10, 0.05, True),
    ],
)
def test_a_bond_is_below_a_tenth_of_an_ohm(voltage_v: float, current_a: float, ohm: float, expected: bool) -> None:
    assert bonding.resistance_ohm(voltage_v, current_a) == pytest.approx(ohm, rel=1e-9)
    assert bonding.bonded(voltage_v, current_a) is expected


def test_a_lower_makers_value_holds() -> None:
    assert not bonding.bonded(0.0084, 0.2, maker_ohm=0.04)
    assert bonding.bonded(0.0084, 0.2, maker_ohm=0.042)
    assert not bonding.bonded(0.024, 0.2, maker_ohm=0.5)


def test_leads_are_taken_off_a_two_wire_reading() -> None:
    assert bonding.without_leads_ohm(0.132, 0.090) == pytest.approx(0.042)  # M23
    with pytest.raises(Contradiction):
        bonding.without_leads_ohm(0.05, 0.09)


def test_too_little_current_measures_no_bond() -> None:
    with pytest.raises(OutOfRange):
        bonding.bonded(0.001, 0.19)


@pytest.mark.parametrize("milliohm", range(1, 200))
def test_every_milliohm_falls_on_its_side_of_the_limit(milliohm: int) -> None:
    assert bonding.bonded(0.2 * milliohm / 1000, 0.2) is (milliohm < 100)  # no rounding lets 100 mohm through


DISCHARGE = [  # trade-facts section 4, recomputed by script there
    (1000e-6, 10e3, 400, 60, 18.971),
    (500e-6, 50e3, 800, 60, 64.757),
    (470e-6, 100e3, 400, 50, 97.734),
    (1000e-6, 10e3, 400, 30, 25.903),
]


@pytest.mark.parametrize(("farad", "ohm", "start_v", "end_v", "seconds"), DISCHARGE)
def test_the_discharge_times_come_out(farad: float, ohm: float, start_v: float, end_v: float, seconds: float) -> None:
    assert discharge.seconds_to(start_v, end_v, farad, ohm) == pytest.approx(seconds, abs=5e-4)


@pytest.mark.parametrize(
    ("start_v", "within_s", "ohm"),
    [(400, 1, 527.11), (400, 5, 2635.6), (400, 120, 63_254), (400, 300, 158_134)]
    + [(800, 1, 386.06), (800, 5, 1930.3), (800, 120, 46_327), (800, 300, 115_818)],
)
def test_the_resistor_needed_comes_out(start_v: float, within_s: float, ohm: float) -> None:
    assert discharge.resistor_for_ohm(start_v, 60, 1000e-6, within_s) == pytest.approx(ohm, rel=2e-5)


@pytest.mark.parametrize(("elapsed_s", "volts"), [(5, 242.61), (20, 54.13)])
def test_the_voltage_left_comes_out(elapsed_s: float, volts: float) -> None:
    assert discharge.voltage_after_v(400, 1000e-6, 10e3, elapsed_s) == pytest.approx(volts, abs=5e-3)


def test_five_minutes_are_not_enough_for_a_slow_vehicle() -> None:
    assert discharge.voltage_after_v(800, 1e-3, 180e3, 300) == pytest.approx(151, abs=0.5)  # C13, tau 180 s
    assert discharge.largest_time_constant_s(273.6, 12, 300) == pytest.approx(95.946, abs=5e-4)  # I43


@pytest.mark.parametrize(("farad", "volts", "joule"), [(1000e-6, 400, 80), (500e-6, 800, 160), (1e-3, 60, 1.8)])
def test_the_stored_energy_comes_out(farad: float, volts: float, joule: float) -> None:
    assert discharge.energy_j(farad, volts) == pytest.approx(joule)


@pytest.mark.parametrize(("volts", "joule", "low"), [(63.0, 0.1845, True), (64.0, 0.248, False), (59.0, 0.0, True)])
def test_low_energy_counts_what_is_above_60_v(volts: float, joule: float, low: bool) -> None:
    # UN R94 5.2.8.1.2, from memory (V23)
    assert discharge.energy_above_class_b_j(1e-3, volts) == pytest.approx(joule)
    assert discharge.is_low_energy(1e-3, volts) is low
    assert discharge.low_energy_voltage_v(1e-3) == pytest.approx(63.2456, abs=5e-5)


def test_full_energy_of_a_fifth_of_a_joule_is_at_twenty_volts() -> None:
    for farad, volts in ((1e-3, 20.00), (0.5e-3, 28.28), (2e-3, 14.14)):  # V24, uncertain there
        assert discharge.energy_j(farad, volts) == pytest.approx(0.2, rel=1e-3)


def test_the_units_are_seconds_and_joules() -> None:
    unit = pint.UnitRegistry()
    tau = (470 * unit.microfarad * 100 * unit.kiloohm).to("second").magnitude
    assert discharge.time_constant_s(470e-6, 100e3) == pytest.approx(tau)
    energy = (0.5 * 500 * unit.microfarad * (800 * unit.volt) ** 2).to("joule").magnitude
    assert discharge.energy_j(500e-6, 800) == pytest.approx(energy)
    bond = (8.4 * unit.millivolt / (200 * unit.milliampere)).to("ohm").magnitude
    assert bonding.resistance_ohm(0.0084, 0.2) == pytest.approx(bond)


def test_the_differential_equation_agrees() -> None:
    solved = solve_ivp(lambda _, volts: -volts / 10.0, (0, 20), [400.0], rtol=1e-10, atol=1e-10)
    assert discharge.voltage_after_v(400, 1e-3, 10e3, 20) == pytest.approx(solved.y[0][-1], rel=1e-7)


@given(st.floats(61, 1500), st.floats(1, 60), CAPACITANCE, RESISTANCE)
def test_time_and_voltage_are_inverse(start_v: float, end_v: float, farad: float, ohm: float) -> None:
    seconds = discharge.seconds_to(start_v, end_v, farad, ohm)
    assert discharge.voltage_after_v(start_v, farad, ohm, seconds) == pytest.approx(end_v, rel=1e-9)


@given(st.floats(61, 1500), st.floats(1, 60), CAPACITANCE, st.floats(0.1, 600))
def test_the_resistor_found_takes_exactly_the_time(start_v: float, end_v: float, farad: float, within_s: float) -> None:
    ohm = discharge.resistor_for_ohm(start_v, end_v, farad, within_s)
    assert discharge.seconds_to(start_v, end_v, farad, ohm) == pytest.approx(within_s, rel=1e-9)


@given(st.floats(1, 1500), CAPACITANCE, RESISTANCE, st.floats(0, 600), st.floats(0, 600))
def test_waiting_longer_never_leaves_more_voltage(
    start_v: float, farad: float, ohm: float, one: float, other: float
) -> None:
    early, late = sorted((one, other))
    after = [discharge.voltage_after_v(start_v, farad, ohm, elapsed) for elapsed in (early, late)]
    assert after[1] <= after[0] <= start_v


@given(CAPACITANCE)
def test_the_low_energy_voltage_is_the_edge(farad: float) -> None:
    edge = discharge.low_energy_voltage_v(farad)
    assert discharge.is_low_energy(farad, edge * (1 - 1e-6))
    assert not discharge.is_low_energy(farad, edge * (1 + 1e-6))


def test_nothing_to_discharge_takes_no_time_and_no_resistor() -> None:
    assert discharge.seconds_to(50, 60, 1e-3, 1e3) == 0
    with pytest.raises(OutOfRange):
        discharge.resistor_for_ohm(50, 60, 1e-3, 5)


@pytest.mark.parametrize("bad", [0, -1, math.nan, math.inf, "400", None, True])
def test_bad_numbers_are_refused(bad: object) -> None:
    for call in (
        lambda: discharge.seconds_to(bad, 60, 1e-3, 1e3),  # type: ignore[arg-type]
        lambda: discharge.voltage_after_v(400, bad, 1e3, 1),  # type: ignore[arg-type]
        lambda: discharge.resistor_for_ohm(400, 60, 1e-3, bad),  # type: ignore[arg-type]
        lambda: discharge.energy_j(bad, 400),  # type: ignore[arg-type]
        lambda: bonding.bonded(0.01, bad),  # type: ignore[arg-type]
    ):
        with pytest.raises(BadInput):
            call()
