"""The second solver on kit, places and verdicts: it reads marks and figures in the options as a technician does."""

from __future__ import annotations

import re

from tests.core.questions.solver_texts import Answer, days, later, numbers, the_one
from training.core.questions.kinds import Question


# ---------------------------------------------------------------- PPE other than gloves
def visor_choice(question: Question) -> Answer:
    """EN 166: field 8 is a small arc; an opened pack asks for an arc class (GS-ET 29)."""
    if "cover off" in question.situation:
        return the_one(question, lambda text: bool(re.search(r", arc class \d", text)))
    return the_one(question, lambda text: text.startswith("Marked 8 "))


def clothing_under_arc_coat(question: Question) -> Answer:
    """NFPA 70E 130.7(C)(11): nothing meltable next to the skin."""
    melting = re.compile("polyester|polycotton|fleece|nylon|acetate|spandex", re.I)
    return the_one(question, lambda text: not melting.search(text))


def metal_off(question: Question) -> Answer:
    bare = re.compile("wedding ring|steel|silver|brass", re.I)
    return [option.text for option in question.options if bare.search(option.text)]


def ppe_mark_eu(question: Question) -> Answer:
    """Regulation (EU) 2016/425, category III: CE and four digits."""
    return the_one(question, lambda text: bool(re.fullmatch(r"CE, and \d{4} beside it", text)))


def arc_coat_by_study(question: Question) -> Answer:
    (asked,) = numbers("names # cal", question.situation)
    ratings = [numbers("rated # cal", option.text)[0] for option in question.options]
    return f"Coat rated {min(rating for rating in ratings if rating >= asked):.0f} cal/cm2"


# ---------------------------------------------------------------- gloves
# ASTM F496: gap of the protector's cuff by class, and stretch by type.
_GAP_MM = {"00": 13, "0": 13, "1": 25}
_STRETCH = {"I": 1.5, "II": 1.25}


def protector_length(question: Question) -> Answer:
    glove_class = re.findall(r"class (00|0|1) ", question.situation)[0]
    (rubber_mm,) = numbers("is # mm long", question.situation)
    house = re.search(r"house asks for (\d+) mm", question.situation)
    gap_mm = max(_GAP_MM[glove_class], int(house[1]) if house else 0)
    lengths = [numbers("# mm", option.text)[0] for option in question.options]
    return f"{max(length for length in lengths if length <= rubber_mm - gap_mm):.0f} mm"


def air_test_stretch(question: Question) -> Answer:
    (rest_mm,) = numbers("palm is # mm wide", question.situation)
    most_mm = rest_mm * _STRETCH[re.findall(r"type (I+)", question.situation)[0]]
    widths = [numbers("# mm", option.text)[0] for option in question.options]
    return f"{max(width for width in widths if width <= most_mm):.0f} mm"


# ---------------------------------------------------------------- measuring
def _is_cat_iii_1000(text: str) -> bool:
    return bool(re.search(r"CAT (III|IV) 1 000 V", text))


def meter_choice(question: Question) -> Answer:
    (dc_v,) = numbers("up to # V DC", question.situation)
    assert 600 < dc_v <= 1000
    return the_one(question, _is_cat_iii_1000)


def lead_choice_uk(question: Question) -> Answer:
    """HSE GS38: at most 4 mm of bare tip."""
    return the_one(question, lambda text: _is_cat_iii_1000(text) and numbers("V, # mm", text)[0] <= 4)


def proving_source_choice(question: Question) -> Answer:
    """HSE GS38: a known source of the same kind of voltage; 12 V where this vehicle's procedure says so."""
    if "accepts the 12 V battery" in question.situation:
        return "The vehicle's 12 V battery"
    return "A unit that gives AC volts" if "for AC voltage" in question.situation else "A proving unit set to DC"


def insulation_test_volts(question: Question) -> Answer:
    """The maker's voltage; for a bare cable the lowest range at or above the system's (ISO 6469-3 8.2.2)."""
    named = re.search(r"maker says (\d+) V", question.situation)
    if named:
        return f"Set {named[1]} V, then test"
    if "unplugged at both ends" not in question.situation:
        return "Get the figure first"
    (dc_v,) = numbers("goes up to # V DC", question.situation)
    return "Set 500 V, then test" if dc_v <= 500 else "Set 1 000 V, then test"


_DC_PAIRS = ("plus-minus", "plus-body", "minus-body")
_AC_PAIRS = ("U-V", "V-W", "W-U", "U-body", "V-body", "W-body")


def pair_still_missing(question: Question) -> Answer:
    """Every DC pair at the inverter, the phases where they come off, the pack's own outlet where the pack does."""
    said = question.situation
    asked = {("at the inverter", pair) for pair in _DC_PAIRS}
    asked |= {("at the inverter", pair) for pair in _AC_PAIRS if "phases" in said}
    asked |= {("at pack outlet", pair) for pair in _DC_PAIRS if "pack is to come out" in said}
    sheet = said.split("so far: ")[1].rstrip(".")
    for side in sheet.split("; "):
        found = re.match("at the inverter|at pack outlet", side)
        assert found
        asked -= {(found[0], pair.strip()) for pair in side[found.end() :].split(",")}
    ((where, pair),) = asked
    name = f"Phases {pair}" if pair in _AC_PAIRS else pair.capitalize()
    return f"{name} {where}"


def ac_reading_verdict(question: Question) -> Answer:
    """UN R100: class B begins above 30 V AC; the maker's AC value says dead."""
    _, dead_v = numbers("dead are # V DC and # V AC", question.situation)
    before_v, now_v = numbers("read # V AC, and [0-9]+ min later # V AC", question.situation)
    if now_v <= dead_v:
        return "This pair is dead; go on"
    return "Stop, keep away and ask" if now_v > 30 or now_v >= before_v else "Wait, then measure again"


# ---------------------------------------------------------------- rescue and places
def hook_choice(question: Question) -> Answer:
    (today,) = days(question.situation)
    (dc_v,) = numbers("up to # V DC", question.situation)

    def holds(text: str) -> bool:
        (checked,) = days(text)
        return numbers("Rated # V", text)[0] >= dc_v and today <= later(checked, 12) and text.endswith("dry")

    return the_one(question, holds)


def clear_the_bay_signs(question: Question) -> Answer:
    signs = re.compile("vapour|smell|popping|gurgling|smoke|hot|sparks|bubbling", re.I)
    return [option.text for option in question.options if signs.search(option.text)]


def approach_verdict_us(question: Question) -> Answer:
    """NFPA 70E Table 130.4(E)(b), 301 V to 1 kV DC: 1.07 m and 0.30 m."""
    (distance_m,) = numbers("watch from # m", question.situation)
    if distance_m >= 1.07:
        return "Yes, as far off as that"
    return "Yes, with an escort beside" if distance_m > 0.3 else "No, not even with an escort"


_HELD_BACK = {
    "still rises": "It stays, for the temperature",
    "looked for gas yet": "It stays, for gas and noise",
    "isolation value is not read": "It stays, for the isolation",
    "cell values are not read": "It stays, for the cell values",
    "nobody cleared has signed": "It stays, for the signature",
}


def quarantine_release(question: Question) -> Answer:
    held = [said for words, said in _HELD_BACK.items() if words in question.situation]
    assert len(held) <= 1
    return held[0] if held else "Release it from quarantine"


def table_for_pack(question: Question) -> Answer:
    pack_kg, fixture_kg = numbers("pack of # kg .* fixture of # kg", question.situation)
    ratings = {numbers("# kg", option.text)[0]: option.text for option in question.options}
    return ratings[min(rated for rated in ratings if rated >= pack_kg + fixture_kg)]


SOLVERS = (
    visor_choice,
    clothing_under_arc_coat,
    metal_off,
    ppe_mark_eu,
    arc_coat_by_study,
    protector_length,
    air_test_stretch,
    meter_choice,
    lead_choice_uk,
    proving_source_choice,
    insulation_test_volts,
    pair_still_missing,
    ac_reading_verdict,
    hook_choice,
    clear_the_bay_signs,
    approach_verdict_us,
    quarantine_release,
    table_for_pack,
)
