"""Every figure of the trade, once: its value, unit, source, and how sure we are of it.

The standard and clause are cited, not the page where a figure was read. ``confirm_in_standard`` marks figures to be
confirmed in a licensed copy before anybody calls them authoritative. No other module of the trade holds a figure.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

Status = Literal["seen", "from memory", "common practice, no source", "derived"]

SEEN: Final = "seen"
MEMORY: Final = "from memory"
PRACTICE: Final = "common practice, no source"
DERIVED: Final = "derived"


@dataclass(frozen=True, slots=True)
class Limit:
    """One figure. ``status`` says whether it was read, remembered, worked out, or is only the custom of the trade."""

    value: float
    unit: str
    source: str
    status: Status
    confirm_in_standard: bool = False

    @property
    def cite(self) -> str:
        """The source as people may read it, with its reservations."""
        reservations: list[str] = [self.status] if self.status in (MEMORY, DERIVED) else []
        reservations += ["confirm in the standard"] if self.confirm_in_standard else []
        return f"{self.source} ({', '.join(reservations)})" if reservations else self.source


def _table(
    figures: Mapping[str, float], unit: str, source: str, status: Status, confirm_in_standard: bool = False
) -> Mapping[str, Limit]:
    rows = {key: Limit(value, unit, source, status, confirm_in_standard) for key, value in figures.items()}
    return MappingProxyType(rows)


_CUSTOM: Final = "common practice of the trade, no source"

# ---------------------------------------------------------------- rubber insulating gloves
GLOVE_AC_V: Final = _table(
    {"00": 500, "0": 1000, "1": 7500, "2": 17_000, "3": 26_500, "4": 36_000},
    "V AC",
    "29 CFR 1910.137 Table I-4; ASTM D120",
    SEEN,
)
# The DC limits are ASTM's: OSHA's table has none, and IEC 60903:2014 keeps DC out of its normative part.
GLOVE_DC_V: Final = _table(
    {"00": 750, "0": 1500, "1": 11_250, "2": 25_500, "3": 39_750, "4": 54_000}, "V DC", "ASTM D120 / F496 Table 1", SEEN
)
GLOVE_PROOF_AC_V: Final = _table(
    {"00": 2500, "0": 5000, "1": 10_000, "2": 20_000, "3": 30_000, "4": 40_000}, "V AC", "ASTM D120", SEEN
)
CUFF_MM: Final = _table(
    {"00": 13, "0": 13, "1": 25, "2": 51, "3": 76, "4": 102}, "mm", "ASTM F496 section 8", MEMORY, True
)
INFLATION_RATIO: Final = _table({"I": 1.5, "II": 1.25}, "times normal size", "ASTM F496 section 7", MEMORY, True)
BARE_CLASS_00_AC_V: Final = Limit(250, "V AC", "29 CFR 1910.137(c)(2)(vii)(B)", SEEN)
BARE_CLASS_00_DC_V: Final = Limit(375, "V DC", "29 CFR 1910.137(c)(2)(vii)(B)", SEEN)
STORAGE_MOST_C: Final = MappingProxyType(
    {
        "EN": Limit(21, "degC", "EN 60903 annex", MEMORY, True),
        "ASTM": Limit(35, "degC", "ASTM F496", MEMORY, True),
    }
)
STORAGE_LEAST_C: Final = Limit(10, "degC", "EN 60903 annex", MEMORY, True)
GLOVE_IN_SERVICE_MONTHS: Final = Limit(6, "months from issue", "29 CFR 1910.137(c)(2)(viii) Table I-5", SEEN)
GLOVE_SHELF_MONTHS: Final = Limit(12, "months from test", "29 CFR 1910.137(c)(2)(viii) Table I-5, footnote 1", SEEN)
SLEEVE_AND_BLANKET_MONTHS: Final = Limit(12, "months", "29 CFR 1910.137(c)(2)(viii) Table I-5", SEEN)

# ---------------------------------------------------------------- voltage classes, dead, waiting
CLASS_B_ABOVE_DC_V: Final = Limit(60, "V DC", "UN R100 section 2; ISO 6469-3", SEEN)
CLASS_B_ABOVE_AC_V: Final = Limit(30, "V AC", "UN R100 section 2; ISO 6469-3", SEEN)
CLASS_B_UP_TO_DC_V: Final = Limit(1500, "V DC", "UN R100 section 2; ISO 6469-3", SEEN)
CLASS_B_UP_TO_AC_V: Final = Limit(1000, "V AC", "UN R100 section 2; ISO 6469-3", SEEN)
LESSON_WAIT_S: Final = Limit(600, "s", "a trade body's advice where the rate is not known; in lessons only", SEEN)

# ---------------------------------------------------------------- measuring
SHOP_METER_V: Final = Limit(1000, "V", f"shop floor CAT III 1000 V for meter, leads and tips; {_CUSTOM}", PRACTICE)
_IMPULSE: Final = "IEC 61010-2-030"
IMPULSE_V: Final = MappingProxyType(
    {
        "II": _table({"150": 1500, "300": 2500, "600": 4000, "1000": 6000}, "V peak", _IMPULSE, SEEN, True),
        "III": _table({"150": 2500, "300": 4000, "600": 6000, "1000": 8000}, "V peak", _IMPULSE, SEEN, True),
        "IV": _table({"150": 4000, "300": 6000, "600": 8000, "1000": 12_000}, "V peak", _IMPULSE, SEEN, True),
    }
)
PROBE_TIP_MM: Final = Limit(4, "mm", "HSE GS38", SEEN)
CALIBRATION_MONTHS: Final = Limit(12, "months", f"yearly calibration; {_CUSTOM}", PRACTICE)
DETECTOR_DC_V: Final = Limit(1500, "V DC", "IEC 61243-3 scope", SEEN)
DETECTOR_AC_V: Final = Limit(1000, "V AC", "IEC 61243-3 scope", SEEN)
DETECTOR_LIGHT_DC_V: Final = Limit(120, "V DC", "IEC 61243-3, indication above extra-low voltage", MEMORY, True)

# ---------------------------------------------------------------- insulation
OHM_PER_V: Final = _table(
    {"DC apart": 100, "AC apart": 500, "joined": 500, "joined, AC protected": 100},
    "ohm/V",
    "UN R100 5.1.3",
    SEEN,
)
TEACHING_PART_OHM: Final = Limit(10e6, "ohm", f"a disconnected cable, for teaching; {_CUSTOM}", PRACTICE)
TWO_VOLTAGE_METER_OHM: Final = Limit(10e6, "ohm", "AIS-156 Annex B 1.2.2", SEEN)
TWO_VOLTAGE_SUM: Final = Limit(0.05, "of the total voltage", f"agreement of the three readings; {_CUSTOM}", PRACTICE)
RESISTOR_BAND: Final = Limit(0.2, "of the nominal resistor", "UN R100 Annex 5A, note 1", SEEN)
TESTER_RANGES_V: Final = _table(
    {"50 V": 50, "100 V": 100, "250 V": 250, "500 V": 500, "1000 V": 1000}, "V DC", "ranges of shop testers", SEEN
)

# ---------------------------------------------------------------- bonding and discharge
BOND_BELOW_OHM: Final = Limit(0.1, "ohm", "UN R100 5.1.2.2", SEEN)
BOND_CURRENT_A: Final = Limit(0.2, "A", "UN R100 5.1.2.2", SEEN)
LOW_ENERGY_BELOW_J: Final = Limit(0.2, "J", "UN R94 5.2.8.1.2; GTR 20; FMVSS 305", MEMORY, True)

# ---------------------------------------------------------------- arc (teaching arithmetic)
ARC_COEFFICIENT: Final = Limit(0.01, "cal/(V A s)", "NFPA 70E Annex D.5, maximum-power method", MEMORY, True)
ARC_CURRENT_SHARE: Final = Limit(0.5, "of the fault current", "NFPA 70E Annex D.5, maximum-power method", MEMORY, True)
ARC_IN_BOX: Final = Limit(3, "times the open-air energy", "NFPA 70E Annex D.5 note", MEMORY, True)
ARC_UNKNOWN_CLEARING_S: Final = Limit(2, "s", "NFPA 70E Table 130.7(C)(15)(b) note", SEEN, True)
ARC_BURN_CAL_CM2: Final = Limit(1.2, "cal/cm2", "NFPA 70E 130.5", SEEN, True)
ARC_WORKING_CM: Final = Limit(45.72, "cm", "NFPA 70E Annex D.5, 18 in", MEMORY, True)
ARC_CATEGORY_CAL_CM2: Final = _table(
    {"1": 4, "2": 8, "3": 25, "4": 40}, "cal/cm2", "NFPA 70E Table 130.7(C)(15)(c)", SEEN, True
)

# ---------------------------------------------------------------- tools and PPE
TOOL_DC_V: Final = Limit(1500, "V DC", "IEC 60900:2018 scope", SEEN)
TOOL_AC_V: Final = Limit(1000, "V AC", "IEC 60900:2018 scope", SEEN)
EH_LEAKAGE_MA: Final = Limit(1.0, "mA", "ASTM F2413", SEEN, True)
MAT_CLASS_0_AC_V: Final = Limit(1000, "V AC", "IEC 61111 class 0", MEMORY, True)
MAT_CLASS_0_DC_V: Final = Limit(1500, "V DC", "IEC 61111 class 0", MEMORY, True)
HELMET_TEST_V: Final = _table({"E": 20_000, "G": 2200, "C": 0}, "V", "ANSI Z89.1", SEEN)
IMPACT_M_S: Final = _table({"S": 5.1, "F": 45, "B": 120, "A": 190}, "m/s", "EN 166", SEEN)

# ---------------------------------------------------------------- lifting and tables
ARMS: Final = Limit(4, "arms", "two-post lift: rated capacity over four arms unless the plate says else", SEEN)
LIFT_MONTHS: Final = MappingProxyType(
    {
        "US": Limit(12, "months", "ANSI/ALI ALOIM", SEEN, True),
        "EU": Limit(12, "months", "yearly check by a competent person, as in Germany", DERIVED, True),
        "DE": Limit(12, "months", "DGUV Grundsatz 308-002", MEMORY, True),
        "UK": Limit(6, "months", "LOLER reg. 9(3); six months is the practice of trade and insurers", SEEN),
    }
)
KG_PER_LB: Final = Limit(0.45359237, "kg/lb", "international avoirdupois pound (1959)", SEEN)
GRAVITY_M_S2: Final = Limit(9.81, "m/s2", "physics, rounded", DERIVED)
TABLE_CENTRE_MM: Final = Limit(100, "mm", f"pack centre of gravity from the table's centre; {_CUSTOM}", PRACTICE)
TABLE_PUSH_MARGIN: Final = Limit(2, "times the push moment", f"restoring moment; {_CUSTOM}", PRACTICE)
TABLE_PUSH_N: Final = Limit(200, "N", f"one person's push; {_CUSTOM}", PRACTICE)
TABLE_PUSH_HEIGHT_M: Final = Limit(1.2, "m", f"height of the push; {_CUSTOM}", PRACTICE)
TABLE_MONTHS: Final = Limit(12, "months", f"yearly check of the lift table; {_CUSTOM}", PRACTICE)

# ---------------------------------------------------------------- quarantine
QUARANTINE_M: Final = MappingProxyType(
    {
        "US": Limit(15.24, "m", "SAE J2990 practice, 50 ft on every side", SEEN, True),
        "DE": Limit(5, "m", "trade body's figure to fire loads, in a locked place", SEEN),
    }
)
EARLIEST_CHECK_DRY_H: Final = Limit(72, "h", f"first check of a dry damaged pack; {_CUSTOM}", PRACTICE)

# ---------------------------------------------------------------- work area and second person
CORDON_AT_LEAST_M: Final = Limit(1.0, "m", f"barrier to vehicle; {_CUSTOM}", PRACTICE)
CORDON_OPEN_LIVE_M: Final = Limit(1.07, "m", "NFPA 70E Table 130.4(E)(b), limited approach", SEEN, True)
RESTRICTED_M: Final = Limit(0.30, "m", "NFPA 70E Table 130.4(E)(b), restricted approach, 301 V to 1 kV DC", SEEN, True)
APPROACH_FROM_DC_V: Final = Limit(50, "V DC", "NFPA 70E Table 130.4(E)(b), since 2021", MEMORY, True)
RESTRICTED_ABOVE_DC_V: Final = Limit(300, "V DC", "NFPA 70E Table 130.4(E)(b)", SEEN, True)
APPROACH_UP_TO_DC_V: Final = Limit(1000, "V DC", "NFPA 70E Table 130.4(E)(b)", SEEN, True)
FIRST_AID_REACH_MIN: Final = Limit(4, "min", "29 CFR 1910.151(b), OSHA letters 1993-06-02 and 1994-02-09", SEEN)
FIRST_AIDERS_FEW: Final = Limit(20, "people", "DGUV Vorschrift 1 section 26", SEEN)
FIRST_AIDERS_FROM: Final = Limit(2, "people", "DGUV Vorschrift 1 section 26", SEEN)
FIRST_AIDERS_SHARE: Final = Limit(0.1, "of those present", "DGUV Vorschrift 1 section 26, workshops", SEEN)
HOOK_MONTHS: Final = Limit(12, "months", f"yearly check of hook, lock box, mat and visor; {_CUSTOM}", PRACTICE)
