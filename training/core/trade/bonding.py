"""Potential equalisation: exposed conductive part to body, measured four-wire with enough current."""

from __future__ import annotations

from training.core.trade import limits
from training.core.trade.checks import not_negative, positive
from training.core.trade.errors import Contradiction, OutOfRange

_DIGITS = 9  # nano-ohm: below any meter, above the rounding of 20 mV / 0.2 A


def resistance_ohm(voltage_v: float, current_a: float) -> float:
    """R = V / I in ohm. OutOfRange below 0.2 A (UN R100 5.1.2.2)."""
    if positive(current_a, "the test current", "A") < limits.BOND_CURRENT_A.value:
        raise OutOfRange(f"{current_a:g} A is too little to measure a bond", "Use at least 0.2 A")
    return round(not_negative(voltage_v, "the voltage", "V") / current_a, _DIGITS)


def bonded(voltage_v: float, current_a: float, maker_ohm: float | None = None) -> bool:
    """Whether the bond is below 0.1 ohm (strictly), or within the maker's value where that is lower."""
    measured = resistance_ohm(voltage_v, current_a)
    within_maker = maker_ohm is None or measured <= positive(maker_ohm, "the maker's value", "ohm")
    return measured < limits.BOND_BELOW_OHM.value and within_maker


def without_leads_ohm(two_wire_ohm: float, leads_ohm: float) -> float:
    """A two-wire reading less its own leads; better measured four-wire."""
    reading, leads = not_negative(two_wire_ohm, "the reading", "ohm"), not_negative(leads_ohm, "the leads", "ohm")
    if leads > reading:
        raise Contradiction(f"The leads alone ({leads:g} ohm) read more than {reading:g} ohm", "Zero the leads again")
    return round(reading - leads, _DIGITS)
