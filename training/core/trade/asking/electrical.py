"""Asking about resistance and charge: insulation, the two-voltage arithmetic, bonding, discharge, insulated tools."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any, Final, get_args

from training.core.trade import bonding, discharge, insulation, limits, tools
from training.core.trade.asking.answer import Answer, Gives, Kind, against, figure_or_none, without_none
from training.core.trade.asking.fields import (
    Values,
    amount,
    one_of,
    optional,
    or_null,
    otherwise,
    some_of,
    spare,
    yes_no,
)
from training.core.trade.asking.rubber import HIGHEST
from training.core.trade.fitness import InsulatedTools, Job, fitness
from training.core.trade.fitness.job import PointOfWork
from training.core.trade.insulation import PartVerdict
from training.core.trade.reasons import Reason, because

_R100_ANNEX: Final = "UN R100 Annex 5; AIS-156 Annex B"
_MAKER: Final = "the maker's figure for this part"
_PHYSICS: Final = "physics: V = V0 exp(-t / RC), E = C V^2 / 2"


# ---------------------------------------------------------------- insulation
def _insulation(values: Values) -> Answer:
    return _vehicle(values) if values["measured_at"] == "whole vehicle" else _part(values)


def _vehicle(values: Values) -> Answer:
    working_v, bus = values["working_v"], values["bus"]
    maker_ohm_per_v = values["maker_ohm_per_v"]
    limit_ohm = insulation.vehicle_limit_ohm(working_v, maker_ohm_per_v, bus)
    passes = insulation.vehicle_passes(values["measured_ohm"], working_v, maker_ohm_per_v, bus)
    source = limits.OHM_PER_V[bus].cite if maker_ohm_per_v is None else "the vehicle maker's figure"
    text = "{measured} is below {limit} for the whole vehicle."
    low = because("vehicle_below", text, source, measured=_ohms(values["measured_ohm"]), limit=_ohms(limit_ohm))
    return Answer(
        ok=passes,
        verdict="at or above the limit for a whole vehicle" if passes else "below the limit for a whole vehicle",
        figures={"limit_ohm": limit_ohm, "ohm_per_v": values["measured_ohm"] / working_v},
        reasons=() if passes else against("whole vehicle", (low,)),
        sources=(source,),
        not_judged=("any single part: each is judged by its maker's own figure",),
    )


def _part(values: Values) -> Answer:
    verdict = insulation.judge_part(values["measured_ohm"], values["maker_limit_ohm"])
    return Answer(
        ok=verdict is PartVerdict.PASSES,
        verdict=verdict.value,
        figures=without_none(
            {
                "limit_ohm": values["maker_limit_ohm"],
                "usual_for_a_cable": insulation.usual_for_a_cable(values["measured_ohm"]),
            }
        ),
        reasons=against("part", _part_reasons(verdict, values)),
        sources=(_MAKER, limits.TEACHING_PART_OHM.cite),
        not_judged=("the whole vehicle, which is measured again with every part back",),
    )


def _part_reasons(verdict: PartVerdict, values: Values) -> Iterator[Reason]:
    if verdict is PartVerdict.COMPARE:
        text = "There is no maker's figure for this part: get it; ohm per volt is no figure for a part."
        yield because("maker_value_missing", text, _MAKER)
    elif verdict is PartVerdict.FAILS:
        text = "{measured} is below the maker's {limit} for this part."
        measured, limit = _ohms(values["measured_ohm"]), _ohms(values["maker_limit_ohm"])
        yield because("part_below", text, _MAKER, measured=measured, limit=limit)


def _ohms(value: float) -> str:
    """Resistance as people write it: ohm, kohm or Mohm."""
    for unit in ("ohm", "kohm"):
        if value < 1000:
            return f"{value:.6g} {unit}"
        value /= 1000
    return f"{value:.6g} Mohm"


INSULATION: Final = Kind(
    name="insulation",
    asks="Is this insulation resistance enough, for the whole vehicle or for one part unplugged at both ends?",
    takes=(
        one_of("measured_at", ("whole vehicle", "one part"), "what was measured"),
        amount("measured_ohm", "ohm", "what the tester showed", "0 or more"),
        amount("working_v", "V", "highest working voltage of the HV system"),
        otherwise(one_of("bus", get_args(insulation.Bus), "how AC and DC are joined; whole vehicle only"), "joined"),
        spare(amount("maker_ohm_per_v", "ohm/V", "the vehicle maker's limit; whole vehicle only"), "UN R100's"),
        or_null(
            amount("maker_limit_ohm", "ohm", "the maker's figure for this part; null: not known, or whole vehicle")
        ),
    ),
    gives=(
        Gives("limit_ohm", "ohm", "least resistance"),
        Gives("ohm_per_v", "ohm/V", "what was measured, per volt; whole vehicle only"),
        Gives("usual_for_a_cable", "", "as lessons call usual for an unplugged cable; no verdict"),
    ),
    verdict_name="ok",
    example="""{"measured_at": "one part", "measured_ohm": 250000, "working_v": 400, "maker_limit_ohm": 10000000}""",
    answer=_insulation,
)


def _two_voltage(values: Values) -> Answer:
    found = insulation.two_voltage(
        values["pack_v"],
        values["negative_to_body_v"],
        values["positive_to_body_v"],
        values["resistor_ohm"],
        values["with_resistor_v"],
        values["meter_ohm"],
    )
    return Answer(
        ok=None,
        verdict=f"arithmetic of a {insulation.LABORATORY_ONLY}; never a step in a workshop",
        figures={
            "weaker_side_ohm": found.weaker_side_ohm,
            "ohm_per_v": found.ohm_per_v,
            "resistor_across": f"{found.resistor_across} to body",
        },
        sources=(_R100_ANNEX, limits.TWO_VOLTAGE_METER_OHM.cite, limits.TWO_VOLTAGE_SUM.cite),
    )


TWO_VOLTAGE: Final = Kind(
    name="two-voltage",
    asks="What does the two-voltage method of the test laboratory give? Live work: never a step in a workshop.",
    takes=(
        amount("pack_v", "V DC", "pole to pole"),
        amount("negative_to_body_v", "V DC", "before the resistor"),
        amount("positive_to_body_v", "V DC", "before the resistor"),
        amount("resistor_ohm", "ohm", "known resistor, put across the side that read higher"),
        amount("with_resistor_v", "V DC", "that side again, with the resistor"),
        amount("meter_ohm", "ohm", "internal resistance of the meter"),
    ),
    gives=(
        Gives("weaker_side_ohm", "ohm", "resistance of the side opposite the resistor"),
        Gives("ohm_per_v", "ohm/V", "the same per volt of the pack"),
        Gives("resistor_across", "", "where the resistor has to have been"),
    ),
    verdict_name=None,
    example="""{"pack_v": 400, "negative_to_body_v": 300, "positive_to_body_v": 100, "resistor_ohm": 200000,
        "with_resistor_v": 154.8387, "meter_ohm": 10000000}""",
    answer=_two_voltage,
)


# ---------------------------------------------------------------- bonding
def _bonding(values: Values) -> Answer:
    measured_ohm = bonding.resistance_ohm(values["voltage_v"], values["current_a"])
    ok = bonding.bonded(values["voltage_v"], values["current_a"], values["maker_ohm"])
    source = limits.BOND_BELOW_OHM.cite
    return Answer(
        ok=ok,
        verdict="bonded" if ok else "not bonded",
        figures={"resistance_ohm": measured_ohm, "limit_ohm": limits.BOND_BELOW_OHM.value},
        reasons=against("bond", _bond_reasons(measured_ohm, values["maker_ohm"])),
        sources=(source, limits.BOND_CURRENT_A.cite),
    )


def _bond_reasons(measured_ohm: float, maker_ohm: float | None) -> Iterator[Reason]:
    limit = limits.BOND_BELOW_OHM
    if measured_ohm >= limit.value:
        text = "{measured} ohm is not below {limit} ohm."
        yield because("bond", text, limit.cite, measured=measured_ohm, limit=limit.value)
    if maker_ohm is not None and measured_ohm > maker_ohm:
        text = "{measured} ohm is above the maker's {limit} ohm."
        yield because("bond_above_maker", text, _MAKER, measured=measured_ohm, limit=maker_ohm)


BONDING: Final = Kind(
    name="bonding",
    asks="Is this part bonded to the body?",
    takes=(
        amount("voltage_v", "V", "voltage across the bond, four-wire", "0 or more"),
        amount("current_a", "A", "test current through it"),
        spare(amount("maker_ohm", "ohm", "the maker's own value, where it is lower"), "the general limit alone"),
    ),
    gives=(Gives("resistance_ohm", "ohm", "V / I"), Gives("limit_ohm", "ohm", "strictly below this")),
    verdict_name="ok",
    example="""{"voltage_v": 0.02, "current_a": 0.2}""",
    answer=_bonding,
)


# ---------------------------------------------------------------- discharge
def _discharge(values: Values) -> Answer:
    start_v, end_v = values["start_v"], values["end_v"]
    farad = values["capacitance_uf"] / 1000 / 1000
    ohm, within_s = values["resistance_ohm"], values["within_s"]
    seconds = discharge.seconds_to(start_v, end_v, farad, ohm)
    in_time = None if within_s is None else seconds <= within_s
    figures: dict[str, Any] = {
        "time_constant_s": discharge.time_constant_s(farad, ohm),
        "seconds_to_end": seconds,
        "energy_at_start_j": discharge.energy_j(farad, start_v),
        "energy_at_end_j": discharge.energy_j(farad, end_v),
    }
    if values["elapsed_s"] is not None:
        figures["voltage_after_v"] = discharge.voltage_after_v(start_v, farad, ohm, values["elapsed_s"])
    if within_s is not None:
        figures["largest_resistor_ohm"] = figure_or_none(
            lambda: discharge.resistor_for_ohm(start_v, end_v, farad, within_s)
        )
    return Answer(
        ok=in_time,
        verdict={None: "figures only", True: "down in time", False: "not down in time"}[in_time],
        figures=without_none(figures),
        reasons=() if in_time is not False else against("discharge", (_late(seconds, within_s),)),
        sources=(_PHYSICS,),
        not_judged=("whether anything is dead: the maker's wait, then a measurement, decides",),
    )


def _late(seconds: float, within_s: float) -> Reason:
    return because("too_slow", "It takes {took} s, not {asked} s.", _PHYSICS, took=seconds, asked=within_s)


DISCHARGE: Final = Kind(
    name="discharge",
    asks="How long does a capacitor take to discharge, how much energy is in it, and which resistor does it in time?",
    takes=(
        amount("start_v", "V DC", "voltage at the start"),
        amount("end_v", "V DC", "voltage wanted at the end"),
        amount("capacitance_uf", "uF", "capacitance, in microfarad"),
        amount("resistance_ohm", "ohm", "resistor across it"),
        spare(amount("elapsed_s", "s", "time after which to give the voltage", "0 or more"), "not asked"),
        spare(amount("within_s", "s", "time in which it has to be down"), "not asked: figures, no verdict"),
    ),
    gives=(
        Gives("time_constant_s", "s", "R C"),
        Gives("seconds_to_end", "s", "time from start to end voltage"),
        Gives("voltage_after_v", "V DC", "voltage after the time that has passed"),
        Gives("energy_at_start_j", "J", "stored at the start"),
        Gives("energy_at_end_j", "J", "left at the end"),
        Gives("largest_resistor_ohm", "ohm", "largest resistor that does it in time"),
    ),
    verdict_name="ok",
    example="""{"start_v": 400, "end_v": 60, "capacitance_uf": 1000, "resistance_ohm": 10000, "elapsed_s": 5,
        "within_s": 5}""",
    answer=_discharge,
)


# ---------------------------------------------------------------- insulated tools
def _tools(values: Values) -> Answer:
    kit = InsulatedTools(in_service=values["in_service"], marks=values["marks"], damaged=values["damaged"])
    job = Job(
        highest_dc_v=values["highest_dc_v"],
        highest_ac_v=values["highest_ac_v"],
        point_of_work=values["point_of_work"],
        proved_dead=values["proved_dead"],
    )
    found = fitness(kit, job, date.min)  # no rule of tools looks at the day
    return Answer(
        ok=found.fit,
        verdict="fit for this point of work" if found.fit else "not fit for this point of work",
        figures={
            "insulated_tools_needed": job.may_shock,
            "dc_limit_v": limits.TOOL_DC_V.value,
            "ac_limit_v": limits.TOOL_AC_V.value,
        },
        reasons=against("tools", found.reasons),
        sources=(limits.TOOL_DC_V.cite, "IEC 60900: marks"),
    )


TOOLS: Final = Kind(
    name="tools",
    asks="Are these hand tools fit for this point of work?",
    takes=(
        *HIGHEST,
        one_of("point_of_work", get_args(PointOfWork), "where hand and tool are"),
        yes_no("proved_dead", "that point was proved dead, and nobody has been away since"),
        *optional(
            some_of("marks", tools.MARKS, "marks seen on every tool"),
            yes_no("damaged", "insulation cut, cracked or loose"),
            yes_no("in_service", "in service in the kit register"),
        ),
    ),
    gives=(
        Gives("insulated_tools_needed", "", "hand or tool may meet a live part there"),
        Gives("dc_limit_v", "V DC", "reach of the standard"),
        Gives("ac_limit_v", "V AC", "reach of the standard"),
    ),
    verdict_name="fit",
    example="""{"highest_dc_v": 420, "highest_ac_v": 297, "point_of_work": "pack terminals", "proved_dead": true,
        "marks": ["1000 V", "maker"], "damaged": false, "in_service": true}""",
    answer=_tools,
)
