"""The work area: how far the cordon stands, how near one may come, and who may be second person."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

from training.core.trade import limits
from training.core.trade.checks import not_negative, plain_date, positive
from training.core.trade.errors import OutOfRange
from training.core.trade.reasons import Reason, because


def cordon_m(*, live_parts_may_be_open: bool) -> float:
    """The least distance (m) from vehicle to barrier."""
    least = limits.CORDON_AT_LEAST_M.value
    return max(least, limits.CORDON_OPEN_LIVE_M.value) if live_parts_may_be_open else least


def cordon_ok(distance_m: float, *, ring_closed: bool, live_parts_may_be_open: bool) -> bool:
    """Whether the cordon is closed all round and far enough away."""
    far_enough = positive(distance_m, "the distance", "m") >= cordon_m(live_parts_may_be_open=live_parts_may_be_open)
    return ring_closed and far_enough


@dataclass(frozen=True, slots=True)
class Approach:
    """Shock boundaries in m; ``restricted_m`` None means: avoid contact."""

    limited_m: float
    restricted_m: float | None


def dc_approach(voltage_v: float) -> Approach | None:
    """NFPA 70E shock boundaries for open live DC parts; None below 50 V. OutOfRange above 1 kV."""
    level_v = not_negative(voltage_v, "the voltage", "V")
    if level_v > limits.APPROACH_UP_TO_DC_V.value:
        raise OutOfRange(f"{level_v:g} V DC is beyond this table", "Look in NFPA 70E Table 130.4(E)(b)")
    if level_v < limits.APPROACH_FROM_DC_V.value:
        return None
    restricted = limits.RESTRICTED_M.value if level_v > limits.RESTRICTED_ABOVE_DC_V.value else None
    return Approach(limits.CORDON_OPEN_LIVE_M.value, restricted)


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondPerson:
    """Who stands by, as known; what is not known (None) counts against it."""

    cleared_for_rescue: bool | None = None
    instructed: bool | None = None
    adult: bool | None = None
    first_aid_through: date | None = None
    in_sight: bool | None = None
    nothing_else_to_do: bool | None = None
    hook_at_hand: bool | None = None
    gloves_at_hand: bool | None = None
    knows_the_switch_off: bool | None = None


_STANDS_BY = (
    ("cleared_for_rescue", "not_cleared_for_rescue", "The second person is not cleared for rescue."),
    ("instructed", "not_instructed", "The second person is not at least electrically instructed."),
    ("adult", "not_adult", "The second person is not known to be 18 or over."),
    ("in_sight", "out_of_sight", "The second person is not in sight."),
    ("nothing_else_to_do", "has_other_task", "The second person has something else to do."),
    ("hook_at_hand", "no_hook", "The hook is not at hand outside the cordon."),
    ("gloves_at_hand", "no_gloves", "The second person has no gloves at hand."),
    ("knows_the_switch_off", "switch_off_unknown", "The second person does not know where to switch off."),
)
_SECOND_PERSON_RULE = "German live-work rule DGUV Regel 103-011; common practice of the trade"


def not_second_person(person: SecondPerson, on: date) -> tuple[Reason, ...]:
    """Why this person cannot be second person that day; empty when they can. He need not hold the lead's clearance."""
    plain_date(on, "the day")
    reasons = [
        because(code, text, _SECOND_PERSON_RULE) for name, code, text in _STANDS_BY if getattr(person, name) is not True
    ]
    if person.first_aid_through is None or plain_date(person.first_aid_through, "the certificate's last day") < on:
        reasons.append(because("no_first_aid", "There is no first-aid certificate in date.", _SECOND_PERSON_RULE))
    return tuple(reasons)


def first_aider_needed_on_site(nearest_responder_min: float) -> bool:
    """Whether help from outside takes too long where a life-threatening injury can be expected."""
    return not_negative(nearest_responder_min, "the way of the responder", "min") > limits.FIRST_AID_REACH_MIN.value


def first_aiders_needed_de(present: int) -> int:
    """First aiders that German law asks of a workshop with this many people present."""
    people = not_negative(present, "the people present", "people")
    if people < limits.FIRST_AIDERS_FROM.value:
        return 0
    return (
        1 if people <= limits.FIRST_AIDERS_FEW.value else math.ceil(round(limits.FIRST_AIDERS_SHARE.value * people, 6))
    )
