"""Rubber insulating gloves: which class, until when, when to take them out of use.

The class table is in ``limits``. Dates follow OSHA's Table I-5 with the ceiling of the 2020 letter as default:
out of date on the earlier of issue + 6 months and test + 12 months (``strict_min``).
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Final, Literal, get_args

from training.core.trade import limits
from training.core.trade.calendar import rubber_limit
from training.core.trade.checks import not_negative, number, plain_date, positive, word
from training.core.trade.errors import NotIssuable, OutOfRange

GloveClass = Literal["00", "0", "1", "2", "3", "4"]
DueRule = Literal["strict_min", "issue_plus_6"]
RetestTrigger = Literal["suspect", "repaired", "used_without_protector"]
RubberType = Literal["I", "II"]

CLASSES: Final[tuple[GloveClass, ...]] = get_args(GloveClass)
SHOP_FLOOR: Final[GloveClass] = "0"  # makers' procedures ask for class 0 whatever the pack
RETEST_TRIGGERS: Final[tuple[RetestTrigger, ...]] = get_args(RetestTrigger)

# 29 CFR 1910.137(c)(2)(iii): any one of these takes the pair out of use.
REJECT_FLAGS: Final = frozenset(
    {"hole", "tear", "puncture", "cut", "ozone cutting", "ozone checking", "embedded object", "swelling", "softening"}
    | {"hardening", "sticky", "inelastic", "no legible class", "leaks air", "oil or solvent", "other defect"}
)
# 29 CFR 1910.137(c)(2)(vi): away from light, humidity, ozone and damage; ASTM F496 section 8: how the glove lies.
STORAGE_FAULTS: Final = {
    "light": "light falls on them",
    "humidity": "the place is damp",
    "ozone": "something near them makes ozone",
    "folded": "they are folded",
    "creased": "they are creased",
    "inside out": "they lie inside out",
    "under weight": "something lies on them",
    "with tools": "tools lie in the same box",
}
# IEC 60903: letters on a glove that resists more than electricity; M is legacy (composite gloves since 2014).
CATEGORY_LETTERS: Final = {
    "A": frozenset({"acid"}),
    "H": frozenset({"oil"}),
    "Z": frozenset({"ozone"}),
    "C": frozenset({"cold"}),
    "M": frozenset({"mechanical"}),
    "R": frozenset({"acid", "oil", "ozone"}),
}


# ---------------------------------------------------------------- class
def class_for(highest_dc_v: float, highest_ac_v: float) -> GloveClass:
    """The lowest class rated for both voltages (limits inclusive), whatever the shop floor asks. OutOfRange above 4."""
    for glove_class in CLASSES:
        if is_rated(glove_class, highest_dc_v, highest_ac_v):
            return glove_class
    raise OutOfRange(
        f"No glove class reaches {highest_dc_v:g} V DC and {highest_ac_v:g} V AC", "Check the highest working voltage"
    )


def class_needed(highest_dc_v: float, highest_ac_v: float, floor: GloveClass = SHOP_FLOOR) -> GloveClass:
    """The lowest class allowed in the workshop: rated for the job and never below the ``floor``."""
    return max(class_for(highest_dc_v, highest_ac_v), _class(floor), key=CLASSES.index)


def is_rated(glove_class: str, highest_dc_v: float, highest_ac_v: float) -> bool:
    """Whether the class may be used up to both voltages (V; pole to pole, anywhere in the HV system)."""
    dc_v = not_negative(highest_dc_v, "the highest DC voltage", "V")
    ac_v = not_negative(highest_ac_v, "the highest AC voltage", "V")
    known = _class(glove_class)
    return dc_v <= limits.GLOVE_DC_V[known].value and ac_v <= limits.GLOVE_AC_V[known].value


def at_least(glove_class: str, other_class: str) -> bool:
    """Whether a class is the same as another or higher."""
    return CLASSES.index(_class(glove_class)) >= CLASSES.index(_class(other_class))


def bare_limits_v(glove_class: str) -> tuple[float, float]:
    """(DC, AC) volts up to which a class may be used WITHOUT protectors, where a rule book allows that at all.

    The stricter of 29 CFR 1910.137(c)(2)(vii) and NFPA 70E 130.7(C)(7): half of class 00, else one class lower. The
    pair is blocked until retested afterwards. The default of the house is never.
    """
    known = _class(glove_class)
    if known == CLASSES[0]:
        return limits.BARE_CLASS_00_DC_V.value, limits.BARE_CLASS_00_AC_V.value
    lower = CLASSES[CLASSES.index(known) - 1]
    return limits.GLOVE_DC_V[lower].value, limits.GLOVE_AC_V[lower].value


# ---------------------------------------------------------------- dates (exclusive: allowed while day < limit)
def shelf_limit(tested_on: date) -> date:
    """The first day on which gloves tested but never issued may no longer be put into service."""
    return rubber_limit(tested_on, int(limits.GLOVE_SHELF_MONTHS.value))


def issuable(tested_on: date, on: date) -> bool:
    """Whether gloves tested on one day may be put into service on another."""
    return plain_date(tested_on, "the test date") <= plain_date(on, "the day of issue") < shelf_limit(tested_on)


def due(tested_on: date, issued_on: date, rule: DueRule = "strict_min") -> date:
    """The first day on which a pair in service is out of date.

    ``tested_on`` is the last electrical test passed, ``issued_on`` the first issue ever (a later swap never resets
    it). After a retest in service: six months from that retest. NotIssuable if the issue itself was not allowed.
    """
    word(rule, "the glove due rule", get_args(DueRule))
    in_service = int(limits.GLOVE_IN_SERVICE_MONTHS.value)
    if plain_date(tested_on, "the test date") > plain_date(issued_on, "the date of issue"):
        return rubber_limit(tested_on, in_service)
    if not issuable(tested_on, issued_on):
        raise NotIssuable(
            f"Gloves tested on {tested_on} could not be issued on {issued_on}", "Have them tested before issue"
        )
    from_issue = rubber_limit(issued_on, in_service)
    return min(from_issue, shelf_limit(tested_on)) if rule == "strict_min" else from_issue


def in_date(tested_on: date, issued_on: date, on: date, rule: DueRule = "strict_min") -> bool:
    """Whether a pair in service is within its test on that day (never before its issue or its last test)."""
    limit = due(tested_on, issued_on, rule)
    return max(tested_on, issued_on) <= plain_date(on, "the day asked about") < limit


def sleeve_or_blanket_due(tested_on: date) -> date:
    """The first day on which rubber sleeves or blankets are out of date; the same exclusive family as gloves."""
    return rubber_limit(tested_on, int(limits.SLEEVE_AND_BLANKET_MONTHS.value))


def needs_retest(events: Iterable[tuple[RetestTrigger, date]], tested_on: date) -> bool:
    """Whether anything has happened since the last test that asks for a new one. The day of the test itself counts."""
    return any(
        word(trigger, "the event", RETEST_TRIGGERS) and plain_date(happened_on, "the day of the event") >= tested_on
        for trigger, happened_on in events
    )


# ---------------------------------------------------------------- before each use
def cuff_gap_ok(glove_class: str, cuff_gap_mm: float, house_mm: float | None = None) -> bool:
    """Whether the protector's cuff ends far enough below the rubber cuff; a house rule may ask for more, not less."""
    asked = limits.CUFF_MM[_class(glove_class)].value
    if house_mm is not None:
        asked = max(asked, positive(house_mm, "the house's cuff gap", "mm"))
    return not_negative(cuff_gap_mm, "the cuff gap", "mm") >= asked


def over_inflated(rubber_type: str, ratio: float) -> bool:
    """Whether an air test stretched the glove too far; ``ratio`` is inflated over normal size."""
    return positive(ratio, "the inflation", "times") > limits.INFLATION_RATIO[_rubber(rubber_type)].value


def must_leave_service(flags: Iterable[str]) -> bool:
    """Whether the flags seen at inspection take the pair out of use: any of REJECT_FLAGS does."""
    return bool([word(flag, "what was seen", REJECT_FLAGS) for flag in flags])


def not_stored_well(*, temperature_c: float, standard: Literal["ASTM", "EN"], found: Iterable[str]) -> tuple[str, ...]:
    """What is wrong with how gloves are kept, in plain words; empty where nothing is.

    ``temperature_c`` of the place in degrees Celsius, ``found`` words of STORAGE_FAULTS. EN 60903 recommends a band,
    ASTM F496 only a top. Raises UnknownWord for a fault or a standard that is not known, NotANumber for no temperature.
    """
    word(standard, "the standard", tuple(limits.STORAGE_MOST_C))
    degrees = number(temperature_c, "the temperature", "degC")
    faults = [STORAGE_FAULTS[word(fault, "what was found", STORAGE_FAULTS)] for fault in found]
    if degrees > limits.STORAGE_MOST_C[standard].value:
        faults.append("the place is too warm")
    if standard == "EN" and degrees < limits.STORAGE_LEAST_C.value:
        faults.append("the place is too cold")
    return tuple(faults)


def category_resists(letters: str) -> frozenset[str]:
    """What a glove marked with these IEC 60903 letters resists beside electricity ("RC": acid, oil, ozone, cold)."""
    return frozenset().union(*(CATEGORY_LETTERS[word(letter, "the category", CATEGORY_LETTERS)] for letter in letters))


def _class(glove_class: str) -> GloveClass:
    word(glove_class, "the glove class", CLASSES)
    return next(known for known in CLASSES if known == glove_class)


def _rubber(rubber_type: str) -> str:
    return word(rubber_type, "the rubber type", get_args(RubberType))
