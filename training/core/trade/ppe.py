"""Protective equipment other than gloves: footwear, eye and face, helmets, clothing, and what must come off."""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

from training.core.trade import limits
from training.core.trade.checks import not_negative, positive, word

# EN 166 fields of use, and the letters of mechanical strength.
EN166_FIELDS: Final = {
    "3": "liquid",
    "4": "large dust",
    "5": "gas and fine dust",
    "8": "short-circuit electric arc",
    "9": "molten metal",
}
MELTING_FIBRES: Final = frozenset({"polyester", "nylon", "acetate", "spandex", "polycotton", "fleece"})
PLAIN_FIBRES: Final = frozenset({"cotton", "wool", "silk", "viscose", "arc-rated"})
METAL_OFF: Final = ("ring", "watch", "chain", "bracelet", "metal pen", "metal scale", "belt buckle")


def eh_footwear_ok(leakage_ma: float, *, dry: bool, whole: bool) -> bool:
    """Whether EH footwear holds as SECONDARY protection: within 1.0 mA, dry, not worn. Never instead of gloves."""
    return not_negative(leakage_ma, "the leakage", "mA") <= limits.EH_LEAKAGE_MA.value and dry and whole


def impact_m_s(marking: str) -> float:
    """The ball speed (m/s) that an EN 166 marking such as "8 B T" withstands; UnknownWord without a strength letter."""
    strengths = [mark for mark in marking.split() if mark in limits.IMPACT_M_S]
    return limits.IMPACT_M_S[word("".join(strengths), "the strength letter", limits.IMPACT_M_S)].value


def covers_small_arc(marking: str) -> bool:
    """Whether an EN 166 marking holds field 8, which covers a small arc only; opened packs ask for an arc class."""
    return "8" in marking.split()


def helmet_test_v(helmet_class: str) -> float:
    """The voltage that a helmet class was tested with; 0 for class C, which gives no electrical protection."""
    return limits.HELMET_TEST_V[word(helmet_class, "the helmet class", limits.HELMET_TEST_V)].value


def melts(fibres_next_to_skin: Collection[str]) -> bool:
    """Whether anything worn next to the skin melts in an arc."""
    known = MELTING_FIBRES | PLAIN_FIBRES
    return any([word(fibre, "the fibre", known) in MELTING_FIBRES for fibre in fibres_next_to_skin])


def metal_to_take_off(worn: Collection[str]) -> tuple[str, ...]:
    """What has to come off before going near open HV parts."""
    return tuple(word(each, "what is worn", METAL_OFF) for each in worn)


def eu_marking_ok(*, ce_mark: bool, notified_body: str) -> bool:
    """Whether electrical PPE is marked as category III: CE and the notified body's four digits (EU 2016/425)."""
    return ce_mark and len(notified_body) == len("0000") and notified_body.isdecimal()


def mat_reaches(mat_class: str, highest_dc_v: float, highest_ac_v: float) -> bool:
    """Whether an insulating mat (IEC 61111) is enough; higher classes are judged as class 0, which is all we need."""
    word(mat_class, "the mat's class", ("0", "1", "2", "3", "4"))
    dc_ok = not_negative(highest_dc_v, "the highest DC voltage", "V") <= limits.MAT_CLASS_0_DC_V.value
    return dc_ok and not_negative(highest_ac_v, "the highest AC voltage", "V") <= limits.MAT_CLASS_0_AC_V.value


def arc_rated_for(rating_cal_cm2: float, energy_cal_cm2: float) -> bool:
    """Whether clothing or visor is rated for the incident energy."""
    rated = positive(rating_cal_cm2, "the arc rating", "cal/cm2")
    return rated >= not_negative(energy_cal_cm2, "the incident energy", "cal/cm2")
