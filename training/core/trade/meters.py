"""Meters, leads and proving: the weakest part of the chain, live-dead-live, and the points to test."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final, Literal, get_args

from training.core.trade import limits
from training.core.trade.checks import not_negative, positive, word
from training.core.trade.errors import OutOfRange

Category = Literal["O", "II", "III", "IV"]  # "O": no rated category, IEC 61010-2-030
Side = Literal["vehicle", "pack"]
Current = Literal["DC", "AC"]
Step = Literal["prove", "test"]

CATEGORIES: Final[tuple[Category, ...]] = get_args(Category)


# ---------------------------------------------------------------- rating
@dataclass(frozen=True, slots=True)
class Rating:
    """What is printed on a meter, lead or tip: measurement category and volts."""

    category: str
    volts: float


def weakest(*parts: Rating) -> Rating:
    """The rating of the whole chain: lowest category and lowest volts of meter, leads and tips."""
    if not parts:
        raise OutOfRange("No part of the measuring chain was given", "Give meter, leads and tips")
    return Rating(min((part.category for part in parts), key=_rank), min(_volts(part) for part in parts))


def meets(rating: Rating, highest_v: float, category: Category = "III", floor_v: float = 0.0) -> bool:
    """Whether a chain may touch a system of ``highest_v``: category, volts, and the house's floor in volts."""
    asked_v = max(not_negative(highest_v, "the highest voltage", "V"), not_negative(floor_v, "the floor", "V"))
    return _rank(rating.category) >= _rank(category) and _volts(rating) >= asked_v


def meets_shop_floor(rating: Rating, highest_v: float) -> bool:
    """As ``meets``, with CAT III 1000 V as the least for meter, leads and tips whatever the vehicle."""
    return meets(rating, highest_v, "III", limits.SHOP_METER_V.value)


def impulse_v(rating: Rating) -> float:
    """The impulse (V peak) that a part of this category and voltage was tested with."""
    table = limits.IMPULSE_V[word(rating.category, "the category", limits.IMPULSE_V)]
    return table[word(f"{rating.volts:g}", "the rated voltage", table)].value


def tip_ok(exposed_mm: float) -> bool:
    """Whether the bare metal of a probe tip is short enough (HSE GS38)."""
    return positive(exposed_mm, "the bare tip", "mm") <= limits.PROBE_TIP_MM.value


def detector_in_scope(highest_dc_v: float, highest_ac_v: float) -> bool:
    """Whether a two-pole detector (IEC 61243-3) reaches this system: up to 1500 V DC and 1000 V AC."""
    dc_ok = not_negative(highest_dc_v, "the highest DC voltage", "V") <= limits.DETECTOR_DC_V.value
    return dc_ok and not_negative(highest_ac_v, "the highest AC voltage", "V") <= limits.DETECTOR_AC_V.value


def detector_light_shows(dc_v: float) -> bool:
    """Whether a two-pole detector's danger light is sure to show: it may stay dark at 80 V DC, still class B."""
    return not_negative(dc_v, "the voltage", "V") > limits.DETECTOR_LIGHT_DC_V.value


# ---------------------------------------------------------------- proving
class Proof(StrEnum):
    """What a source proves about the tester."""

    PROVES = "proves"
    ONLY_BY_PROCEDURE = "proves only where this vehicle's procedure says so"
    DOES_NOT_PROVE = "does not prove"


SOURCES: Final = {
    "proving unit": Proof.PROVES,
    "12 V battery": Proof.ONLY_BY_PROCEDURE,  # proves neither the 1000 V range nor the leads at that voltage
    "self-test": Proof.DOES_NOT_PROVE,  # checks the lamps, not the measuring circuit
    "open live HV point": Proof.DOES_NOT_PROVE,  # never open a live point to prove a tester
}


def proving_source(source: str, source_current: Current, tested_current: Current, by_procedure: bool = False) -> Proof:
    """What ``source`` proves. A DC source does not prove the AC function, nor the other way round."""
    proof = SOURCES[word(source, "the source", SOURCES)]
    if source_current != tested_current:
        return Proof.DOES_NOT_PROVE
    if proof is Proof.ONLY_BY_PROCEDURE and by_procedure is True:
        return Proof.PROVES
    return proof


def live_dead_live(steps: Sequence[Step]) -> bool:
    """Whether the steps are prove, one or more tests, prove again: HSE GS38 / HSG85, at every voltage."""
    known = [word(step, "the step", get_args(Step)) for step in steps]
    ends_proved = known[:1] == ["prove"] == known[-1:]
    return ends_proved and len(known) > 2 and set(known[1:-1]) == {"test"}


# ---------------------------------------------------------------- points
@dataclass(frozen=True, slots=True)
class TestPoint:
    """A pair of points to measure, on the vehicle side or at the pack's own outlet."""

    __test__ = False  # a word of the trade, not a pytest class

    side: Side
    current: Current
    first: str
    second: str

    def __str__(self) -> str:
        return f"{self.first} to {self.second}, {self.side} side"


_DC_PAIRS: Final = (("HV+", "HV-"), ("HV+", "body"), ("HV-", "body"))
_AC_PAIRS: Final = (("U", "V"), ("V", "W"), ("W", "U"), ("U", "body"), ("V", "body"), ("W", "body"))


def points_to_test(*, ac_side: bool, pack_work: bool) -> tuple[TestPoint, ...]:
    """Every pair to measure: three on DC, six more where the job is on AC, and the pack's outlet for pack work.

    The pack side is asked for because a welded contactor shows only there. The maker's procedure may name more.
    """
    points = [TestPoint("vehicle", "DC", *pair) for pair in _DC_PAIRS]
    points += [TestPoint("vehicle", "AC", *pair) for pair in _AC_PAIRS if ac_side]
    points += [TestPoint("pack", "DC", *pair) for pair in _DC_PAIRS if pack_work]
    return tuple(points)


def _rank(category: str) -> int:
    word(category, "the category", CATEGORIES)
    return [str(known) for known in CATEGORIES].index(category)


def _volts(part: Rating) -> float:
    return positive(part.volts, "the rated voltage", "V")
