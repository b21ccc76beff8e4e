"""Fitness of what lifts: the vehicle lift with its arms, and the lift table under the pack."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import ClassVar, Final

from training.core.trade import lifting, limits, tables
from training.core.trade.checks import positive, word
from training.core.trade.fitness.job import Job, KitItem, interval_reasons
from training.core.trade.lifting import Load, PadLoads
from training.core.trade.reasons import Reason, because, unknown

_STATICS: Final = "statics: moments about the pad lines"


@dataclass(frozen=True, slots=True, kw_only=True)
class Lift(KitItem):
    """A vehicle lift. ``arm_kg`` is the arm's own plate, where it has one."""

    kind: ClassVar[str] = "lift"

    rated_kg: float | None = None
    arm_kg: float | None = None
    examined_on: date | None = None
    arm_locks_hold: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftTable(KitItem):
    """A lift table: rating, its own mass, and half the width of its base on the narrow side."""

    kind: ClassVar[str] = "lift table"

    rated_kg: float | None = None
    table_kg: float | None = None
    half_base_m: float | None = None
    checked_on: date | None = None


def examination_reasons(lift: Lift, job: Job, on: date) -> Iterator[Reason]:
    """Examined within the regime's interval; the house may ask for it more often."""
    if job.regime is None:
        yield unknown("regime", "Whose rules hold here is not known.", "the workshop's rule book")
        return
    interval = limits.LIFT_MONTHS[word(job.regime, "the regime", limits.LIFT_MONTHS)]
    months = min(int(interval.value), job.house.lift_months or int(interval.value))
    yield from interval_reasons(lift.examined_on, months, "examination", interval.cite, on)


def arm_lock_reasons(lift: Lift, job: Job, on: date) -> Iterator[Reason]:
    """Every arm lock holds."""
    if lift.arm_locks_hold is not True:
        yield because("arm_locks", "Its arm locks are not known to hold.", "HSE SIM 03/2010/2; ANSI/ALI ALOIM")


def load_reasons(lift: Lift, job: Job, on: date) -> Iterator[Reason]:
    """Rating and arms bear this vehicle at every stage of the job: by the pads, and by half the axle loads."""
    if lift.rated_kg is None:
        yield unknown("lift_rating", "The lift's rating is not known.", "the lift's plate")
        return
    mass_kg, rear_kg, wheelbase_m = job.mass_kg, job.rear_axle_kg, job.wheelbase_m
    if mass_kg is None or rear_kg is None or wheelbase_m is None or job.pads is None:
        yield unknown("vehicle_loads", "Mass, axle load, wheelbase or pad positions are not known.", _STATICS)
        return
    if positive(mass_kg, "the mass", "kg") > positive(lift.rated_kg, "the lift's rating", "kg"):
        yield because("lift_overloaded", "The vehicle is heavier than the lift's rating.", "the lift's plate")
    arm_kg = lifting.arm_limit_kg(lift.rated_kg, lift.arm_kg)
    vehicle = Load(mass_kg, lifting.centre_of_gravity_m(rear_kg, mass_kg, wheelbase_m))
    if not lifting.axles_within_arms(mass_kg - rear_kg, rear_kg, arm_kg):
        yield because("axle_over_arm", "Half an axle load is more than an arm bears.", limits.ARMS.cite)
    stages = lifting.loads_as_parts_come_off(vehicle, job.parts_off, job.pads, job.left_offset_m)
    for parts_off, stage in enumerate(stages):
        yield from _stage_reasons(stage, arm_kg, parts_off)


def _stage_reasons(stage: PadLoads, arm_kg: float, parts_off: int) -> Iterator[Reason]:
    heaviest_kg = float(round(max(stage.each_kg)))
    if stage.tips:
        yield because("tips", "With {parts} heavy parts off, the vehicle tips off its pads.", _STATICS, parts=parts_off)
    if max(stage.each_kg) > arm_kg:
        text = "With {parts} heavy parts off, one pad carries {pad} kg; an arm bears {arm} kg."
        yield because("pad_over_arm", text, _STATICS, parts=parts_off, pad=heaviest_kg, arm=float(arm_kg))


def table_rating_reasons(table: LiftTable, job: Job, on: date) -> Iterator[Reason]:
    """Rated for pack and fixture together."""
    if table.rated_kg is None or job.pack_kg is None or job.fixture_kg is None:
        yield unknown(
            "table_load", "The table's rating, the pack's or the fixture's mass is not known.", "the table's plate"
        )
    elif not tables.rating_covers(table.rated_kg, job.pack_kg, job.fixture_kg):
        yield because("table_overloaded", "Pack and fixture are heavier than the table's rating.", "the table's plate")


def steadiness_reasons(table: LiftTable, job: Job, on: date) -> Iterator[Reason]:
    """Inside the chart or centred, and steady against a push."""
    own_kg, base_m, offset_m = table.table_kg, table.half_base_m, job.pack_offset_m
    if own_kg is None or base_m is None or offset_m is None or job.pack_kg is None:
        yield unknown(
            "table_steadiness", "The table's mass or base, or the pack's mass or place, is not known.", _STATICS
        )
        return
    loaded = tables.LoadedTable(table_kg=own_kg, load_kg=job.pack_kg, offset_m=offset_m, half_base_m=base_m)
    yield from tables.not_steady(loaded, job.inside_table_chart)


def table_check_reasons(table: LiftTable, job: Job, on: date) -> Iterator[Reason]:
    """Checked within the year."""
    yearly = limits.TABLE_MONTHS
    return interval_reasons(table.checked_on, int(yearly.value), "yearly check", yearly.cite, on)


LIFT_RULES: Final = (examination_reasons, arm_lock_reasons, load_reasons)
TABLE_RULES: Final = (table_rating_reasons, steadiness_reasons, table_check_reasons)
