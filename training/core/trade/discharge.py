"""Discharge of capacitors: how long, how far, how much energy, and the resistor that does it in time."""

from __future__ import annotations

import math

from training.core.trade import limits
from training.core.trade.checks import not_negative, number, positive
from training.core.trade.errors import OutOfRange


def time_constant_s(capacitance_f: float, resistance_ohm: float) -> float:
    """tau = R C in seconds."""
    return positive(capacitance_f, "the capacitance", "F") * positive(resistance_ohm, "the resistance", "ohm")


def voltage_after_v(start_v: float, capacitance_f: float, resistance_ohm: float, elapsed_s: float) -> float:
    """V = V0 exp(-t / RC) in volts."""
    tau_s = time_constant_s(capacitance_f, resistance_ohm)
    elapsed = not_negative(elapsed_s, "the time", "s")
    return positive(start_v, "the starting voltage", "V") * math.exp(-elapsed / tau_s)


def seconds_to(start_v: float, end_v: float, capacitance_f: float, resistance_ohm: float) -> float:
    """t = RC ln(V0 / V) in seconds; 0 when it is already there."""
    return time_constant_s(capacitance_f, resistance_ohm) * _log_ratio(start_v, end_v)


def resistor_for_ohm(start_v: float, end_v: float, capacitance_f: float, within_s: float) -> float:
    """The largest resistor (ohm) that brings the capacitor down in time. OutOfRange if nothing is to be lost."""
    return largest_time_constant_s(start_v, end_v, within_s) / positive(capacitance_f, "the capacitance", "F")


def largest_time_constant_s(start_v: float, end_v: float, within_s: float) -> float:
    """The slowest time constant (s) that still brings the voltage down in time."""
    log_ratio = _log_ratio(start_v, end_v)
    if log_ratio == 0:
        raise OutOfRange(f"{start_v:g} V is not above {end_v:g} V", "Give a starting voltage above the end voltage")
    return positive(within_s, "the time", "s") / log_ratio


def energy_j(capacitance_f: float, voltage_v: float) -> float:
    """E = C V^2 / 2 in joules."""
    charged_v = number(voltage_v, "the voltage", "V")
    return positive(capacitance_f, "the capacitance", "F") * charged_v**2 / 2


def energy_above_class_b_j(capacitance_f: float, voltage_v: float) -> float:
    """TE = C (V^2 - 60^2) / 2 in joules, 0 below 60 V: the post-crash figure counts only what is above class B."""
    threshold_v = limits.CLASS_B_ABOVE_DC_V.value
    return max(0.0, energy_j(capacitance_f, voltage_v) - energy_j(capacitance_f, threshold_v))


def is_low_energy(capacitance_f: float, voltage_v: float) -> bool:
    """Whether the energy above 60 V is under 0.2 J: a crash criterion (UN R94), never proof of a dead vehicle."""
    return energy_above_class_b_j(capacitance_f, voltage_v) < limits.LOW_ENERGY_BELOW_J.value


def low_energy_voltage_v(capacitance_f: float) -> float:
    """The voltage at which the energy above 60 V is exactly 0.2 J."""
    energy = limits.LOW_ENERGY_BELOW_J.value + energy_j(capacitance_f, limits.CLASS_B_ABOVE_DC_V.value)
    return math.sqrt(2 * energy / positive(capacitance_f, "the capacitance", "F"))


def _log_ratio(start_v: float, end_v: float) -> float:
    start, end = positive(start_v, "the starting voltage", "V"), positive(end_v, "the end voltage", "V")
    return math.log(start / end) if start > end else 0.0
