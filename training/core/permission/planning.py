"""May a job be planned like this? Figures that cannot be meant, an end that is past, one person twice."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from training.core.permission.start_of_work import LONGEST, voltage_reasons
from training.core.trade.fitness import Job
from training.core.trade.reasons import Reason, because

LIGHTEST_KG: Final = 50.0  # a light cart; below it the figure is in tonnes
HEAVIEST_KG: Final = 60_000.0
FURTHEST: Final = timedelta(days=366)
_PRACTICE: Final = "common practice of the trade, no source"


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A job as it is planned; None and "" are not said. Lead and second person may be named later."""

    vehicle: str
    highest_dc_v: float | None
    highest_ac_v: float | None
    mass_kg: float | None
    bay: str
    starts: datetime | None
    ends: datetime | None
    lead: str = ""
    second: str = ""


def may_plan(plan: Plan, at: datetime) -> tuple[Reason, ...]:
    """Everything that keeps this from being planned."""
    return tuple(dict.fromkeys([*_vehicle(plan), *_times(plan, at), *_people(plan)]))


def _vehicle(plan: Plan) -> Iterator[Reason]:
    if not plan.vehicle.strip():
        yield because("no_vehicle", "The vehicle is not named: give its plate, or the end of its VIN.", _PRACTICE)
    if not plan.bay.strip():
        yield because("no_bay", "Say in which bay.", _PRACTICE)
    yield from voltage_reasons(Job(highest_dc_v=plan.highest_dc_v, highest_ac_v=plan.highest_ac_v))
    if plan.mass_kg is None or not LIGHTEST_KG <= plan.mass_kg <= HEAVIEST_KG:
        text = "The vehicle's mass is asked for in kg, from {least} to {most}: not in tonnes."
        yield because("mass_unit", text, _PRACTICE, least=int(LIGHTEST_KG), most=int(HEAVIEST_KG))


def _times(plan: Plan, at: datetime) -> Iterator[Reason]:
    starts, ends = plan.starts, plan.ends
    if starts is None or ends is None:
        yield because("no_times", "Say when it is planned to start and to end.", _PRACTICE)
        return
    if ends <= at:
        yield because("end_is_past", "The planned end is already past.", _PRACTICE)
    if starts - at > FURTHEST:
        text = "The planned start is more than {days} days ahead. Check the date."
        yield because("too_far_ahead", text, _PRACTICE, days=FURTHEST.days)
    if ends <= starts:
        yield because("ends_first", "The planned end is not after the planned start.", _PRACTICE)
    if ends - starts > LONGEST:
        hours = int(LONGEST.total_seconds() // 3600)
        text = "No job spans more than {hours} hours: start anew for the rest."
        yield because("too_long", text, _PRACTICE, hours=hours)


def _people(plan: Plan) -> Iterator[Reason]:
    if plan.lead and plan.lead == plan.second:
        yield because("leads_and_stands_by", "Cannot lead and be second person.", _PRACTICE)
