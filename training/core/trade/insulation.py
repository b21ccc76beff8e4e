"""Insulation resistance: the whole vehicle against ohm per volt, one part against its maker's figure.

The two are never mixed: eight parts that each just pass 500 ohm/V leave a vehicle below 100 ohm/V. The two-voltage
method is laboratory arithmetic on a live pack (UN R100 Annex 5); in the workshop nobody puts a resistor across a pack.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final, Literal

from training.core.trade import limits
from training.core.trade.checks import not_negative, positive, word
from training.core.trade.errors import Contradiction, MakerValueMissing, OutOfRange

Bus = Literal["DC apart", "AC apart", "joined", "joined, AC protected"]
LABORATORY_ONLY: Final = "test laboratory, live work"


# ---------------------------------------------------------------- whole vehicle
def vehicle_limit_ohm(working_v: float, maker_ohm_per_v: float | None = None, bus: Bus = "joined") -> float:
    """The least isolation resistance (ohm) of a whole vehicle: the maker's ohm/V, else UN R100 for this kind of bus."""
    per_v = limits.OHM_PER_V[word(bus, "the bus", limits.OHM_PER_V)].value
    if maker_ohm_per_v is not None:
        per_v = positive(maker_ohm_per_v, "the maker's limit", "ohm/V")
    return per_v * positive(working_v, "the working voltage", "V")


def vehicle_passes(
    measured_ohm: float, working_v: float, maker_ohm_per_v: float | None = None, bus: Bus = "joined"
) -> bool:
    """Whether a whole vehicle's isolation resistance is at or above its limit. Never a verdict on a single part."""
    return not_negative(measured_ohm, "the resistance", "ohm") >= vehicle_limit_ohm(working_v, maker_ohm_per_v, bus)


def fault_current_ma(ohm_per_v: float) -> float:
    """The current (mA) that an ohm-per-volt figure lets through at any voltage: 100 gives 10 mA, 500 gives 2 mA."""
    return 1000 / positive(ohm_per_v, "the figure", "ohm/V")  # mA in an ampere


def parallel_ohm(parts_ohm: Iterable[float]) -> float:
    """The resistance of several parts together."""
    conductances = [1 / positive(part, "a part's resistance", "ohm") for part in parts_ohm]
    if not conductances:
        raise OutOfRange("No part was given", "Give the resistance of each part in ohm")
    return 1 / sum(conductances)


# ---------------------------------------------------------------- one part
class PartVerdict(StrEnum):
    """What the reading of one disconnected part says."""

    PASSES = "at or above the maker's figure"
    FAILS = "below the maker's figure"
    COMPARE = "compare with the maker's figure"


def judge_part(measured_ohm: float, maker_limit_ohm: float | None) -> PartVerdict:
    """One cable, compressor or heater against its maker's figure; without the figure there is no verdict."""
    measured = not_negative(measured_ohm, "the resistance", "ohm")
    if maker_limit_ohm is None:
        return PartVerdict.COMPARE
    limit = positive(maker_limit_ohm, "the maker's limit", "ohm")
    return PartVerdict.PASSES if measured >= limit else PartVerdict.FAILS


def usual_for_a_cable(measured_ohm: float) -> bool:
    """Whether a reading is what lessons call usual for a disconnected cable (10 Mohm). Not a verdict."""
    return not_negative(measured_ohm, "the resistance", "ohm") >= limits.TEACHING_PART_OHM.value


def volts_to_test_with(
    maker_test_v: float | None,
    *,
    bare_cable: bool = False,
    highest_v: float | None = None,
    rated_v: float | None = None,
) -> float:
    """The test voltage (V DC): the maker's. Without it, only for a bare cable unplugged at both ends: the lowest tester
    range at or above the highest working voltage and within the cable's rating. Else MakerValueMissing: do not test."""
    if maker_test_v is not None:
        return positive(maker_test_v, "the maker's test voltage", "V")
    if not bare_cable or highest_v is None or rated_v is None:
        raise MakerValueMissing(
            "There is no test voltage for this part", "Get the maker's value; without it do not test"
        )
    least_v, most_v = positive(highest_v, "the highest voltage", "V"), positive(rated_v, "the cable's rating", "V")
    ranges = [limit.value for limit in limits.TESTER_RANGES_V.values() if least_v <= limit.value <= most_v]
    if not ranges:
        raise OutOfRange(f"No tester range lies between {least_v:g} and {most_v:g} V", "Get the maker's test voltage")
    return min(ranges)


# ---------------------------------------------------------------- two-voltage method, laboratory only
@dataclass(frozen=True, slots=True)
class TwoVoltage:
    """The result: the resistance of the weaker side, that is the side opposite the one the resistor was put across."""

    weaker_side_ohm: float
    ohm_per_v: float
    resistor_across: Literal["negative", "positive"]


def two_voltage(
    pack_v: float, negative_v: float, positive_v: float, resistor_ohm: float, with_resistor_v: float, meter_ohm: float
) -> TwoVoltage:
    """Ri = Ro Vb (1/V' - 1/V), V being the higher of negative-to-body and positive-to-body (UN R100 Annex 5).

    Raises a typed error for a reading of 0 or less, readings that do not add up, a reading that the resistor did not
    bring down, or a meter under 10 Mohm.
    """
    total_v = positive(pack_v, "the pack voltage", "V")
    low, high = positive(negative_v, "negative to body", "V"), positive(positive_v, "positive to body", "V")
    loaded_v = positive(with_resistor_v, "the voltage with the resistor", "V")
    _check_two_voltage(total_v, low + high, meter_ohm)
    before_v = max(low, high)
    if loaded_v >= before_v:
        raise Contradiction(f"{loaded_v:g} V is not below {before_v:g} V", "Measure again with the resistor in place")
    weaker_ohm = positive(resistor_ohm, "the resistor", "ohm") * total_v * (1 / loaded_v - 1 / before_v)
    return TwoVoltage(weaker_ohm, weaker_ohm / total_v, "negative" if low >= high else "positive")


def resistor_in_band(resistor_ohm: float, ohm_per_v: float, nominal_v: float) -> bool:
    """Whether the resistor is within 20 % of ohm/V times nominal voltage. The formula holds for any resistor."""
    nominal_ohm = positive(ohm_per_v, "the figure", "ohm/V") * positive(nominal_v, "the nominal voltage", "V")
    off_by = abs(positive(resistor_ohm, "the resistor", "ohm") - nominal_ohm)
    return off_by <= limits.RESISTOR_BAND.value * nominal_ohm


def _check_two_voltage(total_v: float, sum_v: float, meter_ohm: float) -> None:
    if abs(sum_v - total_v) > limits.TWO_VOLTAGE_SUM.value * total_v:
        raise Contradiction(
            f"The two sides add up to {sum_v:g} V, the pack to {total_v:g} V", "Measure all three again"
        )
    if positive(meter_ohm, "the meter's resistance", "ohm") < limits.TWO_VOLTAGE_METER_OHM.value:
        raise OutOfRange(f"A meter of {meter_ohm:g} ohm loads the circuit", "Use a meter of at least 10 Mohm")
