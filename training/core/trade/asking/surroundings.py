"""Asking about what is round the job: quarantine, cordon, second person, PPE, and how long a check is good."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from training.core.trade import calendar, limits, ppe, quarantine, work_area
from training.core.trade.asking.answer import Answer, Gives, Kind, against, attempted, figure_or_none, without_none
from training.core.trade.asking.fields import (
    Field,
    Values,
    amount,
    day,
    one_of,
    optional,
    otherwise,
    some_of,
    spare,
    yes_no,
)
from training.core.trade.asking.rubber import REGIMES
from training.core.trade.quarantine import Judgement, Place
from training.core.trade.reasons import Reason, because, unknown
from training.core.trade.work_area import SecondPerson

_GUIDANCE: Final = "NHTSA interim guidance on damaged HV batteries; common practice of the trade"
_FIRE: Final = "the fire service or the insurer"
_FOUND: Final = (
    yes_no("temperature_not_rising", "the temperature trend is flat"),
    yes_no("no_gas_no_noise", "no gas, smell or noise"),
    yes_no("isolation_value_good", "the isolation value is good"),
    yes_no("cell_values_good", "the cell values are good"),
    yes_no("signed_by_cleared_person", "somebody cleared for judging it has signed"),
    yes_no("pack_out_or_maker_asked", "flooded: the pack is out, or the maker's advice was had"),
)


# ---------------------------------------------------------------- quarantine
def _quarantine(values: Values) -> Answer:
    place = Place(
        regime=values["regime"],
        open_sides_m=values["open_sides_m"],
        indoors=values["indoors"],
        locked=values["locked"],
        marked=values["marked"],
        on_the_spot_m=values["on_the_spot_m"],
    )
    signs = values["signs"]
    standing = attempted(_FIRE, lambda: quarantine.not_a_place(place))
    found = Judgement(damage=values["damage"], **{field.name: values[field.name] for field in _FOUND})
    kept = quarantine.not_released(found)
    reasons = (*against("alarm", _alarm_reasons(signs)), *against("place", standing))
    alarm = signs is not None and quarantine.must_evacuate(signs)
    released = signs is not None and not alarm and not kept
    return Answer(
        ok=not reasons,
        verdict=_quarantine_verdict(alarm, bool(reasons), released),
        figures=_quarantine_figures(values, released, kept),
        reasons=reasons,
        sources=(_GUIDANCE, *(row.cite for regime, row in limits.QUARANTINE_M.items() if regime == values["regime"])),
        not_judged=("days gone by: time releases nothing",),
    )


def _quarantine_verdict(alarm: bool, refused: bool, released: bool) -> str:
    if alarm:
        return "out, close doors, call the fire service; nobody goes back"
    if refused:
        return "it may not stand there"
    return "it may stand there, and may be released" if released else "it may stand there, and stays in quarantine"


def _alarm_reasons(signs: tuple[str, ...] | None) -> Iterator[Reason]:
    if signs is None:
        yield unknown("signs", "What was seen, heard and smelt is not known.", _GUIDANCE)
    elif quarantine.must_evacuate(signs):
        yield because("alarm", "{signs}. {say}", _GUIDANCE, signs=", ".join(signs), say=quarantine.WHITE_VAPOUR)


def _quarantine_figures(values: Values, released: bool, kept: tuple[Reason, ...]) -> dict[str, Any]:
    since = values["since"]
    return without_none(
        {
            "distance_m": figure_or_none(lambda: quarantine.distance_m(values["regime"], values["on_the_spot_m"])),
            "may_be_released": released,
            "missing_for_release": [reason.sentence for reason in kept],
            "earliest_look": None if since is None else quarantine.earliest_check(values["damage"], since),
        }
    )


QUARANTINE: Final = Kind(
    name="quarantine",
    asks="May a damaged vehicle or pack stand there, and may it be released?",
    takes=(
        one_of("regime", REGIMES, "whose rules hold there"),
        one_of("damage", ("dry", "flooded"), "what happened to it"),
        Field(
            name="open_sides_m",
            type="number",
            unit="m",
            bounds="0 or more",
            many=True,
            says="distance on each side without a fire-proof barrier; an empty list when all sides have one",
        ),
        spare(amount("on_the_spot_m", "m", "asked for by fire service or insurer"), "the regime's own distance"),
        spare(
            Field(name="since", type="instant", says="when it was damaged, with the offset from UTC"),
            "no earliest look is given",
        ),
        *optional(
            some_of("signs", sorted(quarantine.ALARM_SIGNS), "seen, heard or smelt; an empty list when nothing"),
            yes_no("indoors", "it stands indoors"),
            yes_no("locked", "the place is locked"),
            yes_no("marked", "it is marked as a damaged HV vehicle"),
            *_FOUND,
        ),
    ),
    gives=(
        Gives("distance_m", "m", "least distance to anything that burns"),
        Gives("may_be_released", "", "everything asked for a release was found good and signed"),
        Gives("missing_for_release", "", "what keeps it in quarantine"),
        Gives("earliest_look", "instant", "when to look first after dry damage; never a release"),
    ),
    verdict_name="ok",
    example="""{"regime": "DE", "damage": "flooded", "open_sides_m": [6, 4.5, 8], "since": "2026-10-01T09:30+02:00",
        "signs": [], "indoors": false, "locked": true, "marked": true, "temperature_not_rising": true,
        "no_gas_no_noise": true, "isolation_value_good": true, "cell_values_good": true,
        "signed_by_cleared_person": true}""",
    answer=_quarantine,
)


# ---------------------------------------------------------------- cordon and second person
_PERSON: Final = (
    yes_no("cleared_for_rescue", "cleared for rescue"),
    yes_no("instructed", "at least electrically instructed"),
    yes_no("adult", "18 or over"),
    day("first_aid_through", "last day of the first-aid certificate"),
    yes_no("in_sight", "in sight of the work"),
    yes_no("nothing_else_to_do", "has nothing else to do"),
    yes_no("hook_at_hand", "the hook is at hand outside the cordon"),
    yes_no("gloves_at_hand", "gloves are at hand"),
    yes_no("knows_the_switch_off", "knows where to switch off"),
)


def _work_area(values: Values) -> Answer:
    person = SecondPerson(**{field.name: values[field.name] for field in _PERSON})
    least_m = work_area.cordon_m(live_parts_may_be_open=values["live_parts_may_be_open"])
    reasons = (
        *against("cordon", _cordon_reasons(values, least_m)),
        *against("second person", work_area.not_second_person(person, values["on"])),
    )
    dc_v = values["highest_dc_v"]
    approach = None if dc_v is None else figure_or_none(lambda: work_area.dc_approach(dc_v))
    return Answer(
        ok=not reasons,
        verdict="do not start" if reasons else "cordon and second person are as asked for",
        figures=without_none(
            {
                "least_cordon_m": least_m,
                "limited_approach_m": approach and approach.limited_m,
                "restricted_approach_m": approach and approach.restricted_m,
            }
        ),
        reasons=reasons,
        sources=(_cordon_source(values),),
        not_judged=("whether this job asks for a second person at all: the rule book says so per job type",),
    )


def _cordon_source(values: Values) -> str:
    open_live = values["live_parts_may_be_open"]
    return (limits.CORDON_OPEN_LIVE_M if open_live else limits.CORDON_AT_LEAST_M).cite


def _cordon_reasons(values: Values, least_m: float) -> Iterator[Reason]:
    if values["cordon_m"] < least_m:
        text = "The cordon stands {stands} m away; {least} m are asked for."
        yield because("cordon_near", text, _cordon_source(values), stands=values["cordon_m"], least=least_m)
    if not values["ring_closed"]:
        yield because("ring_open", "The cordon is not closed all round.", limits.CORDON_AT_LEAST_M.cite)


WORK_AREA: Final = Kind(
    name="work-area",
    asks="Is the bay cordoned, and can this person stand by as second person that day?",
    takes=(
        amount("cordon_m", "m", "least distance from vehicle to barrier"),
        yes_no("ring_closed", "closed all round, the wall side too"),
        yes_no("live_parts_may_be_open", "live parts may be open during the job"),
        day("on", "day of the job"),
        spare(amount("highest_dc_v", "V DC", "for the approach distances", "0 or more"), "no approach distances given"),
        *optional(*_PERSON),
    ),
    gives=(
        Gives("least_cordon_m", "m", "least distance from vehicle to barrier"),
        Gives("limited_approach_m", "m", "ordinary persons stay outside this, of open live parts"),
        Gives("restricted_approach_m", "m", "only skilled persons with protection nearer than this"),
    ),
    verdict_name="ok",
    example="""{"cordon_m": 1.0, "ring_closed": true, "live_parts_may_be_open": true, "on": "2026-10-05",
        "highest_dc_v": 420, "cleared_for_rescue": true, "instructed": true, "adult": true,
        "first_aid_through": "2026-10-05", "in_sight": true, "nothing_else_to_do": false, "hook_at_hand": true,
        "gloves_at_hand": true, "knows_the_switch_off": true}""",
    answer=_work_area,
)


# ---------------------------------------------------------------- protective equipment
def _ppe(values: Values) -> Answer:
    reasons = tuple(_ppe_reasons(values))
    marking, helmet = values["visor_marking"], values["helmet_class"]
    return Answer(
        ok=not reasons,
        verdict="not so to open HV parts" if reasons else "nothing here speaks against it",
        figures=without_none(
            {
                "visor_impact_m_s": figure_or_none(lambda: ppe.impact_m_s(marking)) if marking else None,
                "helmet_test_v": ppe.helmet_test_v(helmet) if helmet else None,
            }
        ),
        reasons=against("PPE", reasons),
        sources=("EN 166", "Regulation (EU) 2016/425", "NFPA 70E 130.7 (confirm in the standard)"),
        not_judged=("gloves, arc rating and fit on the wearer",),
    )


def _ppe_reasons(values: Values) -> Iterator[Reason]:
    arc, marks = "EN 166 field 8", "Regulation (EU) 2016/425, category III"
    if values["visor_marking"] is None:
        yield unknown("visor_marking", "The marking of visor or goggles is not known.", arc)
    elif not ppe.covers_small_arc(values["visor_marking"]):
        yield because("no_field_8", "It is not marked 8: it does not cover an electric arc.", arc)
    if values["worn_next_to_skin"] is None:
        yield unknown("fibres", "What is worn next to the skin is not known.", "NFPA 70E 130.7(C)")
    elif ppe.melts(values["worn_next_to_skin"]):
        yield because("melts", "Something worn next to the skin melts in an arc.", "NFPA 70E 130.7(C)")
    if values["metal_worn"] is None:
        yield unknown("metal", "Whether metal is worn is not known.", "common practice of the trade, no source")
    elif metal := ppe.metal_to_take_off(values["metal_worn"]):
        source = "common practice of the trade, no source"
        yield because("metal", "Take off: {metal}.", source, metal=", ".join(metal))
    if values["regime"] in ("EU", "DE") and not ppe.eu_marking_ok(
        ce_mark=values["ce_mark"] is True, notified_body=values["notified_body"] or ""
    ):
        yield because("eu_marking", "CE and the four digits of a notified body are not both there.", marks)


PPE: Final = Kind(
    name="ppe",
    asks="Does anything speak against this visor, clothing and what else is worn near open HV parts?",
    takes=(
        one_of("regime", REGIMES, "whose rules hold here"),
        *optional(
            Field(name="visor_marking", type="text", says="EN 166 marking of visor or goggles, such as 8 B T"),
            some_of(
                "worn_next_to_skin",
                sorted(ppe.MELTING_FIBRES | ppe.PLAIN_FIBRES),
                "fibres next to the skin",
            ),
            some_of("metal_worn", ppe.METAL_OFF, "metal on the body; an empty list when none"),
        ),
        spare(yes_no("ce_mark", "CE mark"), "counts against it in the EU"),
        spare(
            Field(name="notified_body", type="text", says="the four digits beside it"), "counts against it in the EU"
        ),
        spare(one_of("helmet_class", limits.HELMET_TEST_V, "class of the helmet"), "no helmet"),
    ),
    gives=(
        Gives("visor_impact_m_s", "m/s", "ball speed that the visor withstands"),
        Gives("helmet_test_v", "V", "voltage that the helmet was tested with; 0 protects from none"),
    ),
    verdict_name="ok",
    example="""{"regime": "EU", "visor_marking": "3 B T", "worn_next_to_skin": ["cotton"], "metal_worn": ["ring"],
        "ce_mark": true, "notified_body": "0123"}""",
    answer=_ppe,
)


# ---------------------------------------------------------------- validity
def _validity(values: Values) -> Answer:
    done_on, months, on = values["done_on"], values["months"], values["on"]
    rubber = values["family"] == "rubber"
    limit = calendar.rubber_limit(done_on, months) if rubber else calendar.through_day(done_on, months)
    valid = done_on <= on and (on < limit if rubber else on <= limit)
    source = "OSHA letter 2020-08-19" if rubber else "Reg. (EEC, Euratom) 1182/71 Art 3"
    figures: dict[str, Any] = {"first_day_out": limit} if rubber else {"last_valid_day": limit}
    if not rubber:
        figures["closes_at"] = calendar.close_of_day(limit, values["zone"])
    text = "Not valid on {on}: it counts from {done}, {family}."
    reason = because("not_valid", text, source, on=on, done=done_on, family=_COUNTS[values["family"]])
    return Answer(
        ok=valid,
        verdict="valid that day" if valid else "not valid that day",
        figures=figures,
        reasons=() if valid else against("validity", (reason,)),
        sources=(source,),
    )


_COUNTS: Final = {
    "rubber": "out of date on the same-numbered day",
    "anything else": "valid through the same-numbered day",
}

VALIDITY: Final = Kind(
    name="validity",
    asks="Until when is a check, test or paper good?",
    takes=(
        one_of("family", _COUNTS, "rubber goods are out of date ON the day, anything else is valid THROUGH it"),
        day("done_on", "the event it counts from, never an end already computed"),
        Field(name="months", type="whole number", unit="months", bounds="above 0", says="how many months it is good"),
        day("on", "day asked about"),
        otherwise(Field(name="zone", type="text", says="time zone of the workshop"), "UTC"),
    ),
    gives=(
        Gives("first_day_out", "day", "rubber: first day out of date"),
        Gives("last_valid_day", "day", "anything else: last day that still counts"),
        Gives("closes_at", "instant", "when that day is over at the workshop"),
    ),
    verdict_name="ok",
    example="""{"family": "anything else", "done_on": "2025-08-31", "months": 6, "on": "2026-02-28",
        "zone": "Europe/Berlin"}""",
    answer=_validity,
)
