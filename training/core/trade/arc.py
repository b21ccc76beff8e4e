"""DC arc flash by the maximum-power method: teaching arithmetic only, it chooses nobody's clothing."""

from __future__ import annotations

import math
from typing import Final

from training.core.trade import limits
from training.core.trade.checks import not_negative, positive
from training.core.trade.errors import OutOfRange

TEACHING_ONLY: Final = "For teaching: an arc-flash study by a qualified person decides, not this figure."


def fault_current_a(pack_v: float, internal_ohm: float) -> float:
    """Bolted fault current (A) of a pack: V / R."""
    return positive(pack_v, "the pack voltage", "V") / positive(internal_ohm, "the internal resistance", "ohm")


def arc_current_a(fault_a: float) -> float:
    """Half of the bolted fault current (A): where the arc takes most power."""
    return limits.ARC_CURRENT_SHARE.value * positive(fault_a, "the fault current", "A")


def incident_energy_cal_cm2(
    system_v: float, fault_a: float, duration_s: float, distance_cm: float, *, in_box: bool = False
) -> float:
    """E = 0.01 V Iarc T / D^2 in cal/cm2; about three times that in a box."""
    spread = positive(distance_cm, "the distance", "cm") ** 2
    return _source_cal(system_v, fault_a, duration_s, in_box) / spread


def boundary_cm(system_v: float, fault_a: float, duration_s: float, *, in_box: bool = False) -> float:
    """The distance (cm) at which the energy has fallen to 1.2 cal/cm2, where a second-degree burn begins."""
    return math.sqrt(_source_cal(system_v, fault_a, duration_s, in_box) / limits.ARC_BURN_CAL_CM2.value)


def category_for(energy_cal_cm2: float) -> str:
    """The lowest arc category whose rating covers the energy. OutOfRange above category 4: nobody works there."""
    energy = not_negative(energy_cal_cm2, "the incident energy", "cal/cm2")
    for category, rating in limits.ARC_CATEGORY_CAL_CM2.items():
        if energy <= rating.value:
            return category
    raise OutOfRange(f"{energy:g} cal/cm2 is beyond every category", "Do not work there; reduce the energy first")


def arc_clothing_by_energy(energy_cal_cm2: float) -> bool:
    """Whether the energy reaches the onset of a second-degree burn."""
    return not_negative(energy_cal_cm2, "the incident energy", "cal/cm2") >= limits.ARC_BURN_CAL_CM2.value


def _source_cal(system_v: float, fault_a: float, duration_s: float, in_box: bool) -> float:
    open_air = limits.ARC_COEFFICIENT.value * positive(system_v, "the voltage", "V") * arc_current_a(fault_a)
    boxed = limits.ARC_IN_BOX.value if in_box else 1.0
    return open_air * positive(duration_s, "the duration", "s") * boxed
