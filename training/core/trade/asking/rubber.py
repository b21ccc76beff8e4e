"""Asking about rubber gloves: fitness of a pair for a job, its dates, and a look with an air test."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import Any, Final, get_args

from training.core.trade import gloves, limits
from training.core.trade.asking.answer import Answer, Gives, Kind, against, attempted, figure_or_none, without_none
from training.core.trade.asking.fields import (
    Values,
    amount,
    day,
    objects,
    one_of,
    optional,
    or_null,
    otherwise,
    some_of,
    spare,
    yes_no,
)
from training.core.trade.fitness import GlovePair, House, Job, fitness
from training.core.trade.reasons import Reason, because

_TEST: Final = limits.GLOVE_IN_SERVICE_MONTHS.cite
_SHELF: Final = limits.GLOVE_SHELF_MONTHS.cite
_LETTER: Final = "OSHA letter 2020-08-19 (ceiling of test + 12 months; confirm in the letter)"
_AIR_TEST: Final = "29 CFR 1910.137(c)(2)(ii); ASTM F1236"
_REJECT: Final = "29 CFR 1910.137(c)(2)(iii)-(iv)"
REGIMES: Final = ("US", "EU", "DE", "UK")

HIGHEST: Final = (
    amount(
        "highest_dc_v", "V DC", "highest DC voltage anywhere in the HV system, never the battery label", "0 or more"
    ),
    amount("highest_ac_v", "V AC", "highest AC voltage anywhere in the HV system; 0 where there is none", "0 or more"),
)
_RULE = otherwise(
    one_of(
        "due_rule", get_args(gloves.DueRule), "how the rule book counts: earlier of both limits, or from issue only"
    ),
    "strict_min",
)


# ---------------------------------------------------------------- a pair for a job
def _pair(values: Values) -> Answer:
    pair = GlovePair(
        in_service=values["in_service"],
        glove_class=values["glove_class"],
        tested_on=values["tested_on"],
        last_test_passed=values["last_test_passed"],
        issued_on=values["issued_on"],
        events=_events(values["events"]),
        flags=values["seen"],
        has_protectors=values["has_protectors"],
        cuff_gap_mm=values["cuff_gap_mm"],
        composite=values["composite"],
    )
    house = House(
        glove_due_rule=values["due_rule"], glove_floor=values["floor_class"], cuff_gap_mm=values["house_cuff_gap_mm"]
    )
    voltages_v = values["highest_dc_v"], values["highest_ac_v"]
    job = Job(highest_dc_v=voltages_v[0], highest_ac_v=voltages_v[1], regime=values["regime"], house=house)
    found = fitness(pair, job, values["on"])
    return Answer(
        ok=found.fit,
        verdict="fit for this job on that day" if found.fit else "not fit for this job on that day",
        figures=_pair_figures(values, voltages_v),
        reasons=against("gloves", found.reasons),
        sources=(limits.GLOVE_DC_V["0"].cite, limits.GLOVE_AC_V["0"].cite, _TEST),
        not_judged=("the air test and look of today, by the wearer",),
    )


def _pair_figures(values: Values, voltages_v: tuple[float, float]) -> dict[str, Any]:
    glove_class = values["glove_class"]
    known_dates = values["tested_on"] is not None and values["issued_on"] is not None
    figures = {
        "lowest_rated_class": figure_or_none(lambda: gloves.class_for(*voltages_v)),
        "class_asked_for": figure_or_none(lambda: gloves.class_needed(*voltages_v, values["floor_class"])),
        "usable_before": figure_or_none(
            lambda: gloves.due(values["tested_on"], values["issued_on"], values["due_rule"]) if known_dates else None
        ),
    }
    if glove_class is not None:
        figures["dc_limit_v"] = limits.GLOVE_DC_V[glove_class].value
        figures["ac_limit_v"] = limits.GLOVE_AC_V[glove_class].value
        figures["least_cuff_gap_mm"] = max(limits.CUFF_MM[glove_class].value, values["house_cuff_gap_mm"] or 0.0)
    return without_none(figures)


def _events(rows: tuple[dict[str, Any], ...] | None) -> tuple[tuple[gloves.RetestTrigger, Any], ...] | None:
    return None if rows is None else tuple((row["what"], row["on"]) for row in rows)


GLOVES: Final = Kind(
    name="gloves",
    asks="Is this pair of rubber gloves fit for this job on that day?",
    takes=(
        or_null(one_of("glove_class", gloves.CLASSES, "class marked on the cuff; null when it is not legible")),
        *HIGHEST,
        day("on", "day of the job"),
        *optional(
            day("tested_on", "last electrical test"),
            yes_no("last_test_passed", "it passed that test"),
            day("issued_on", "first issue ever; a later swap never resets it"),
            objects(
                "events",
                (one_of("what", gloves.RETEST_TRIGGERS, "what happened"), day("on", "when")),
                "what has happened to the pair; an empty list when nothing has",
            ),
            some_of("seen", sorted(gloves.REJECT_FLAGS), "what the last look found; an empty list when nothing"),
            yes_no("has_protectors", "leather protectors of the right class are with it"),
            amount("cuff_gap_mm", "mm", "how far the protector's cuff ends below the rubber cuff", "0 or more"),
            yes_no("in_service", "in service in the kit register"),
        ),
        otherwise(yes_no("composite", "composite glove, which needs no leather protectors outside the US"), False),
        spare(one_of("regime", REGIMES, "whose rules hold here"), "no composite glove goes without protectors"),
        otherwise(one_of("floor_class", gloves.CLASSES, "lowest class that the rule book allows"), gloves.SHOP_FLOOR),
        spare(amount("house_cuff_gap_mm", "mm", "a larger cuff gap asked for by the house"), "the class's own gap"),
        _RULE,
    ),
    gives=(
        Gives("lowest_rated_class", "class", "lowest class rated for both voltages"),
        Gives("class_asked_for", "class", "lowest class allowed here"),
        Gives("dc_limit_v", "V DC", "highest DC voltage that this class may be used at"),
        Gives("ac_limit_v", "V AC", "highest AC voltage that this class may be used at"),
        Gives("usable_before", "day", "first day on which the pair is out of date"),
        Gives("least_cuff_gap_mm", "mm", "least gap between the cuffs"),
    ),
    verdict_name="fit",
    example="""{"glove_class": "0", "highest_dc_v": 832, "highest_ac_v": 590, "on": "2026-10-05",
        "tested_on": "2026-05-04", "last_test_passed": true, "issued_on": "2026-06-01", "events": [], "seen": [],
        "has_protectors": true, "cuff_gap_mm": 20, "in_service": true}""",
    answer=_pair,
)


# ---------------------------------------------------------------- dates
def _dates(values: Values) -> Answer:
    tested_on, issued_on, on = values["tested_on"], values["issued_on"], values["on"]
    figures: dict[str, Any] = {"shelf_limit": gloves.shelf_limit(tested_on)}
    if issued_on is None:
        may = gloves.issuable(tested_on, on)
        why_not = () if may else against("dates", (_not_issuable(tested_on, on, figures["shelf_limit"]),))
        verdict = "may be issued that day" if may else "may not be issued that day"
        return Answer(ok=may, verdict=verdict, figures=figures, reasons=why_not, sources=(_SHELF,))
    reasons = attempted(_SHELF, lambda: _date_reasons(values))
    if figure_or_none(lambda: gloves.due(tested_on, issued_on)) is not None:
        figures |= _due_figures(values)
    return Answer(
        ok=not reasons,
        verdict="not in date that day" if reasons else "in date that day",
        figures=figures,
        reasons=against("dates", reasons),
        sources=(_TEST, _SHELF, _LETTER),
        not_judged=("class, look, air test, protectors, and anything that happened since the test",),
    )


def _due_figures(values: Values) -> dict[str, Any]:
    tested_on, issued_on = values["tested_on"], values["issued_on"]
    limit = gloves.due(tested_on, issued_on, values["due_rule"])
    return {
        "usable_before": limit,
        "last_usable_day": limit - timedelta(days=1),
        "usable_before_strict_min": gloves.due(tested_on, issued_on, "strict_min"),
        "usable_before_issue_plus_6": gloves.due(tested_on, issued_on, "issue_plus_6"),
    }


def _date_reasons(values: Values) -> Iterator[Reason]:
    tested_on, issued_on, on = values["tested_on"], values["issued_on"], values["on"]
    limit = gloves.due(tested_on, issued_on, values["due_rule"])
    if on >= limit:
        yield because("glove_test_out", "Out of date: usable only before {limit}.", _TEST, limit=limit)
    if on < max(tested_on, issued_on):
        yield because("glove_dates_in_future", "Its test or its issue is dated after the day asked about.", _TEST)


def _not_issuable(tested_on: Any, on: Any, limit: Any) -> Reason:
    if on < tested_on:
        return because("glove_dates_in_future", "The test is dated after the day asked about.", _SHELF)
    return because("not_issuable", "Not issued before {limit}: it needs an electrical test first.", _SHELF, limit=limit)


GLOVE_DATES: Final = Kind(
    name="glove-dates",
    asks="Is a pair in date that day, or may it be issued?",
    takes=(
        day("tested_on", "last electrical test that was passed"),
        or_null(day("issued_on", "first issue ever; null: never issued, and the question is whether it may be")),
        day("on", "day asked about"),
        _RULE,
    ),
    gives=(
        Gives("usable_before", "day", "first day out of date, as the rule book counts"),
        Gives("last_usable_day", "day", "the day before"),
        Gives("usable_before_strict_min", "day", "the earlier of issue + 6 and test + 12 months"),
        Gives("usable_before_issue_plus_6", "day", "the looser reading: issue + 6 months alone"),
        Gives("shelf_limit", "day", "first day on which a pair never issued may not be issued"),
    ),
    verdict_name="ok",
    example="""{"tested_on": "2016-01-01", "issued_on": "2016-10-01", "on": "2017-01-01"}""",
    answer=_dates,
)


# ---------------------------------------------------------------- look and air test
def _inspection(values: Values) -> Answer:
    reasons = tuple(_inspection_reasons(values))
    return Answer(
        ok=not reasons,
        verdict="out of service: tag it now" if reasons else "passed the look and the air test",
        figures={"most_inflation": limits.INFLATION_RATIO[values["rubber_type"]].value},
        reasons=against("gloves", reasons),
        sources=(_AIR_TEST, _REJECT, limits.INFLATION_RATIO[values["rubber_type"]].cite),
        not_judged=("class and dates",),
    )


def _inspection_reasons(values: Values) -> Iterator[Reason]:
    if gloves.must_leave_service(values["seen"]):
        text = "Seen on it: {seen}. Take it out of service and send it for testing."
        yield because("rejected", text, _REJECT, seen=", ".join(values["seen"]))
    if values["holds_air"] is not True:
        yield because("leaks_air", "It is not known to hold air.", _AIR_TEST)
    if values["both_gloves"] is not True:
        yield because("one_glove", "Both gloves of the pair are looked at and air-tested.", _AIR_TEST)
    if gloves.over_inflated(values["rubber_type"], values["inflation"]):
        source = limits.INFLATION_RATIO[values["rubber_type"]].cite
        yield because("over_inflated", "Inflated too far: that harms the rubber; test it again.", source)


INSPECTION: Final = Kind(
    name="inspection",
    asks="Does this pair pass the look and air test before use?",
    takes=(
        some_of("seen", sorted(gloves.REJECT_FLAGS), "what was found; an empty list when nothing"),
        one_of("rubber_type", get_args(gloves.RubberType), "type I natural rubber, type II ozone-resistant"),
        amount("inflation", "times normal size", "how far it was blown up"),
        *optional(yes_no("holds_air", "it holds air"), yes_no("both_gloves", "both gloves were tested")),
    ),
    gives=(Gives("most_inflation", "times normal size", "beyond this the test itself does harm"),),
    verdict_name="ok",
    example="""{"seen": [], "rubber_type": "I", "inflation": 1.3, "holds_air": true, "both_gloves": true}""",
    answer=_inspection,
)
