"""Asking about the measuring chain: are meter, leads and proving unit together fit for this job?"""

from __future__ import annotations

from typing import Any, Final

from training.core.trade import limits, meters
from training.core.trade.asking.answer import Answer, Gives, Kind, against, figure_or_none, without_none
from training.core.trade.asking.fields import (
    Values,
    amount,
    day,
    one_of,
    optional,
    otherwise,
    some_of,
    yes_no,
)
from training.core.trade.asking.rubber import HIGHEST
from training.core.trade.fitness import House, Job, Leads, Meter, ProvingUnit, fitness
from training.core.trade.meters import Rating
from training.core.trade.reasons import Reason

_IEC_61010: Final = "IEC 61010-2-030"
_GS38: Final = "HSE GS38"


def _chain(values: Values) -> Answer:
    job = Job(
        highest_dc_v=values["highest_dc_v"],
        highest_ac_v=values["highest_ac_v"],
        ac_points=values["ac_points"],
        house=House(twelve_volt_proves=values["procedure_accepts_12v"]),
    )
    reasons = _chain_reasons(values, job)
    return Answer(
        ok=not reasons,
        verdict="not fit for this job that day" if reasons else "fit for this job that day",
        figures=_chain_figures(values),
        reasons=reasons,
        sources=(_IEC_61010, limits.SHOP_METER_V.cite, _GS38),
        not_judged=("function, range, sockets and the proof before and after: these are done each time",),
    )


def _chain_reasons(values: Values, job: Job) -> tuple[tuple[str, Reason], ...]:
    meter = Meter(
        in_service=values["in_service"],
        category=values["meter_category"],
        rated_v=values["meter_rated_v"],
        calibrated_on=values["calibrated_on"],
        damaged=values["meter_damaged"],
    )
    leads = Leads(
        in_service=values["in_service"],
        category=values["leads_category"],
        rated_v=values["leads_rated_v"],
        bare_tip_mm=values["bare_tip_mm"],
        damaged=values["leads_damaged"],
    )
    unit = ProvingUnit(
        in_service=values["in_service"],
        source=values["proving_source"],
        gives=values["proving_gives"],
        works=values["proving_works"],
    )
    return (
        *against("meter", fitness(meter, job, values["on"]).reasons),
        *against("leads", fitness(leads, job, values["on"]).reasons),
        *against("proving unit", fitness(unit, job, values["on"]).reasons),
    )


def _chain_figures(values: Values) -> dict[str, Any]:
    highest_v = max(values["highest_dc_v"], values["highest_ac_v"])
    whole = meters.weakest(
        Rating(values["meter_category"], values["meter_rated_v"]),
        Rating(values["leads_category"], values["leads_rated_v"]),
    )
    figures = {
        "weakest_category": whole.category,
        "weakest_rated_v": whole.volts,
        "asked_rated_v": max(highest_v, limits.SHOP_METER_V.value),
        "weakest_impulse_v": figure_or_none(lambda: meters.impulse_v(whole)),
    }
    return without_none(figures)


METERS: Final = Kind(
    name="meters",
    asks="Are meter, leads with tips, and proving unit together fit for this job?",
    takes=(
        one_of("meter_category", meters.CATEGORIES, "measurement category printed on the meter (O: none)"),
        amount("meter_rated_v", "V", "volts printed beside that category"),
        one_of("leads_category", meters.CATEGORIES, "category of leads and tips, the weaker of the two"),
        amount("leads_rated_v", "V", "volts of leads and tips, the lower of the two"),
        *HIGHEST,
        day("on", "day of the job"),
        *optional(
            day("calibrated_on", "last calibration of the meter"),
            yes_no("meter_damaged", "case, sockets or display damaged"),
            yes_no("leads_damaged", "insulation, plugs or tips damaged"),
            amount("bare_tip_mm", "mm", "bare metal at the tips"),
            one_of("proving_source", meters.SOURCES, "what the tester is proved on"),
            some_of("proving_gives", ("DC", "AC"), "what that source gives"),
            yes_no("proving_works", "the source works"),
            yes_no("in_service", "all three are in service in the kit register"),
        ),
        otherwise(yes_no("ac_points", "this job measures AC points too"), False),
        otherwise(yes_no("procedure_accepts_12v", "this vehicle's procedure proves on a 12 V battery"), False),
    ),
    gives=(
        Gives("weakest_category", "CAT", "category of the whole chain"),
        Gives("weakest_rated_v", "V", "volts of the whole chain"),
        Gives("asked_rated_v", "V", "volts asked for: the shop floor, or the vehicle's highest voltage"),
        Gives("weakest_impulse_v", "V peak", "impulse that the weakest part was tested with"),
    ),
    verdict_name="fit",
    example="""{"meter_category": "III", "meter_rated_v": 1000, "leads_category": "II", "leads_rated_v": 1000,
        "highest_dc_v": 420, "highest_ac_v": 297, "on": "2026-10-05", "calibrated_on": "2026-03-02",
        "meter_damaged": false, "leads_damaged": false, "bare_tip_mm": 4, "proving_source": "proving unit",
        "proving_gives": ["DC"], "proving_works": true, "in_service": true}""",
    answer=_chain,
)
