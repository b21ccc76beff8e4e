"""The job that kit is judged for, the house's own settings, and what every kit item has in common."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from typing import ClassVar, Final, Literal

from training.core.trade import limits
from training.core.trade.calendar import through_day
from training.core.trade.checks import not_negative, plain_date
from training.core.trade.errors import RuleMissing
from training.core.trade.gloves import SHOP_FLOOR, DueRule, GloveClass
from training.core.trade.lifting import Load, Pads
from training.core.trade.quarantine import Regime
from training.core.trade.reasons import Reason, because, unknown

PointOfWork = Literal[
    "not at HV", "vehicle side", "pack terminals", "service plug socket", "junction box", "inside the pack"
]

_REGISTER: Final = "the workshop's kit register"
_CALENDAR: Final = "Reg. (EEC, Euratom) 1182/71 Art 3"


@dataclass(frozen=True, slots=True, kw_only=True)
class House:
    """What a rule book may set. The defaults are the strict ones; the lift interval can only be shortened."""

    glove_due_rule: DueRule = "strict_min"
    glove_floor: GloveClass = SHOP_FLOOR
    cuff_gap_mm: float | None = None
    calibration_months: int = int(limits.CALIBRATION_MONTHS.value)
    lift_months: int | None = None
    twelve_volt_proves: bool = False  # only where this vehicle's procedure says so


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One job as known at its start. None = not known, and then kit that depends on it is not fit.

    ``highest_dc_v`` and ``highest_ac_v`` are the highest working voltages anywhere in the HV system (full charge,
    step-up converter, DC charging), never the battery label; 0 where there is none. ``parts_off`` are heavy parts in
    the order in which they come off the lifted vehicle.
    """

    highest_dc_v: float | None = None
    highest_ac_v: float | None = None
    regime: Regime | None = None
    point_of_work: PointOfWork | None = None
    proved_dead: bool = False
    ac_points: bool = False
    maker_test_v: float | None = None
    mass_kg: float | None = None
    rear_axle_kg: float | None = None
    wheelbase_m: float | None = None
    pads: Pads | None = None
    left_offset_m: float = 0.0
    parts_off: tuple[Load, ...] = ()
    pack_kg: float | None = None
    fixture_kg: float | None = None
    pack_offset_m: float | None = None
    inside_table_chart: bool | None = None
    house: House = field(default_factory=House)

    @property
    def may_shock(self) -> bool:
        """Whether hand or tool may meet a live part. Only the vehicle side, once proved dead, is dead; pack terminals,
        plug socket, junction box and the inside of the pack never are."""
        dead_here = self.point_of_work == "vehicle side" and self.proved_dead is True
        return not (dead_here or self.point_of_work == "not at HV")

    @property
    def voltages_v(self) -> tuple[float, float]:
        """(DC, AC), checked; RuleMissing when either is not known."""
        if self.highest_dc_v is None or self.highest_ac_v is None:
            raise RuleMissing(
                "The highest working voltages of this vehicle are not known",
                "Enter the highest DC and AC voltage anywhere in its HV system, not the battery label",
            )
        dc_v = not_negative(self.highest_dc_v, "the highest DC voltage", "V")
        return dc_v, not_negative(self.highest_ac_v, "the highest AC voltage", "V")


@dataclass(frozen=True, slots=True, kw_only=True)
class KitItem:
    """What every kit item has: its name in the register and whether it is in service."""

    kind: ClassVar[str]
    name: str = ""
    in_service: bool | None = None


def service_reasons(kit: KitItem, job: Job, on: date) -> Iterator[Reason]:
    """Taken out of service, or nobody has said that it is in service."""
    if kit.in_service is None:
        yield unknown("in_service", "Whether it is in service is not known.", _REGISTER)
    elif kit.in_service is not True:
        yield because("out_of_service", "It is out of service.", _REGISTER)


def damage_reasons(damaged: bool | None) -> Iterator[Reason]:
    """Damaged, or nobody has looked."""
    if damaged is None:
        yield unknown("damage", "Whether it is damaged is not known.", _REGISTER)
    elif damaged is not False:
        yield because("damaged", "It is damaged.", _REGISTER)


def interval_reasons(done_on: date | None, months: int, what: str, source: str, on: date) -> Iterator[Reason]:
    """A yearly check or the like: valid through the same-numbered day, and not before it was done."""
    if done_on is None:
        yield because("no_check", "There is no {what} on record.", source, what=what)
        return
    last_day = through_day(done_on, months)
    if plain_date(on, "the day of the job") < done_on:
        yield because("check_in_future", "The {what} is dated {day}, after the job.", source, what=what, day=done_on)
    if on > last_day:
        text = "The {what} was good through {day}."
        yield because("check_overdue", text, f"{source}; {_CALENDAR}", what=what, day=last_day)
