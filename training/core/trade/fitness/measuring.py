"""Fitness of what one measures with: meter, leads, proving unit, insulation tester."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import ClassVar, Final

from training.core.trade import limits, meters
from training.core.trade.checks import number
from training.core.trade.errors import MakerValueMissing
from training.core.trade.fitness.job import Job, KitItem, damage_reasons, interval_reasons
from training.core.trade.meters import Proof, Rating
from training.core.trade.reasons import Reason, because, unknown

_IEC_61010: Final = f"IEC 61010-2-030; {limits.SHOP_METER_V.cite}"
_PROVING: Final = "HSE GS38; house rule: proving unit, same function, same leads"


@dataclass(frozen=True, slots=True, kw_only=True)
class Meter(KitItem):
    """A voltage tester or multimeter with what is printed on it."""

    kind: ClassVar[str] = "meter"

    category: str | None = None
    rated_v: float | None = None
    calibrated_on: date | None = None
    damaged: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Leads(KitItem):
    """Test leads with their tips; the rating is that of the weaker of the two."""

    kind: ClassVar[str] = "leads"

    category: str | None = None
    rated_v: float | None = None
    bare_tip_mm: float | None = None
    damaged: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ProvingUnit(KitItem):
    """A known source to prove the tester on. ``source`` is one of meters.SOURCES; ``gives``: "DC", "AC" or both."""

    kind: ClassVar[str] = "proving unit"

    source: str | None = None
    gives: tuple[meters.Current, ...] | None = None
    works: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class InsulationTester(KitItem):
    """An insulation tester with its test voltages."""

    kind: ClassVar[str] = "insulation tester"

    category: str | None = None
    rated_v: float | None = None
    test_voltages_v: tuple[float, ...] | None = None
    calibrated_on: date | None = None
    damaged: bool | None = None


def rating_reasons(kit: Meter | Leads | InsulationTester, job: Job, on: date) -> Iterator[Reason]:
    """CAT III 1000 V at least, and never below the highest voltage."""
    if kit.category is None or kit.rated_v is None:
        yield unknown("rating", "Its measurement category or rated voltage is not known.", _IEC_61010)
        return
    rating, highest_v = Rating(kit.category, kit.rated_v), max(job.voltages_v)
    if not meters.meets_shop_floor(rating, highest_v):
        text = "CAT {category} {rated} V is too low: CAT III and {asked} V are asked for."
        asked_v = max(highest_v, limits.SHOP_METER_V.value)
        yield because(
            "rating_too_low", text, _IEC_61010, category=kit.category, rated=float(kit.rated_v), asked=asked_v
        )


def calibration_reasons(kit: Meter | InsulationTester, job: Job, on: date) -> Iterator[Reason]:
    """Calibrated within the house's interval."""
    source = limits.CALIBRATION_MONTHS.cite
    return interval_reasons(kit.calibrated_on, job.house.calibration_months, "calibration", source, on)


def look_reasons(kit: Meter | Leads | InsulationTester, job: Job, on: date) -> Iterator[Reason]:
    """Case, insulation and plugs whole."""
    return damage_reasons(kit.damaged)


def tip_reasons(leads: Leads, job: Job, on: date) -> Iterator[Reason]:
    """Little bare metal at the tips: a figure of HSE, good practice anywhere."""
    source = limits.PROBE_TIP_MM.cite
    if leads.bare_tip_mm is None:
        yield unknown("tip", "How much of the tips is bare is not known.", source)
    elif not meters.tip_ok(leads.bare_tip_mm):
        yield because("tip_too_long", "{bare} mm of bare tip is too much.", source, bare=float(leads.bare_tip_mm))


def source_reasons(unit: ProvingUnit, job: Job, on: date) -> Iterator[Reason]:
    """Proves the function that this job measures with: DC always, AC where AC points are measured."""
    if unit.source is None or unit.gives is None:
        yield unknown(
            "proving_source", "What kind of source it is, or whether it gives DC or AC, is not known.", _PROVING
        )
        return
    measured: tuple[meters.Current, ...] = ("DC", "AC") if job.ac_points else ("DC",)
    for current in measured:
        if current not in unit.gives:
            yield because(
                "gives_no_such_current", "It gives no {current}, which this job measures.", _PROVING, current=current
            )
            continue
        proof = meters.proving_source(unit.source, current, current, job.house.twelve_volt_proves)
        if proof is not Proof.PROVES:
            yield because("does_not_prove", "For {current}: it {proof}.", _PROVING, current=current, proof=proof.value)


def works_reasons(unit: ProvingUnit, job: Job, on: date) -> Iterator[Reason]:
    """Gives its voltage."""
    if unit.works is None:
        yield unknown("works", "Whether it works is not known.", _PROVING)
    elif unit.works is not True:
        yield because("does_not_work", "It does not work.", _PROVING)


def range_reasons(tester: InsulationTester, job: Job, on: date) -> Iterator[Reason]:
    """Has the test voltage that the maker names for this part; over-testing kills filters and control boards."""
    source = "the maker's procedure for this part"
    if job.maker_test_v is None:
        raise MakerValueMissing(
            "The maker's test voltage is not known", "Get the maker's value; without it do not test"
        )
    asked_v = number(job.maker_test_v, "the maker's test voltage", "V")
    if tester.test_voltages_v is None:
        yield unknown("test_voltages", "Its test voltages are not known.", source)
    elif asked_v not in tester.test_voltages_v:
        yield because("no_such_test_voltage", "It has no {asked} V range.", source, asked=asked_v)


METER_RULES: Final = (rating_reasons, calibration_reasons, look_reasons)
LEADS_RULES: Final = (rating_reasons, tip_reasons, look_reasons)
PROVING_UNIT_RULES: Final = (source_reasons, works_reasons)
INSULATION_TESTER_RULES: Final = (rating_reasons, range_reasons, calibration_reasons, look_reasons)
