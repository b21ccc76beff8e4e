"""A second solver: reads a drawn question as a technician does, from its text, and answers it by its own arithmetic.

It shares no code with the trade core; every figure in it was copied anew from the sources named beside it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from datetime import date

from tests.core.questions import solver_kit, solver_sums
from tests.core.questions.solver_texts import Answer, days, later, numbers, printed
from training.core.questions.kinds import Question

# ASTM D120 / F496 Table 1: class, highest V DC, highest V AC.
_CLASSES = [("class 00", 750, 500), ("class 0", 1500, 1000), ("class 1", 11250, 7500)]


def glove_class_for_bus(question: Question) -> Answer:
    dc_v, ac_v = numbers("up to # V DC and # V AC", question.situation)
    return next(name for name, most_dc, most_ac in _CLASSES if dc_v <= most_dc and ac_v <= most_ac)


def _glove_limit(tested: date, issued: date) -> date:
    """OSHA letter 2020-08-19: six months from issue, never past twelve months from test."""
    return min(later(issued, 6), later(tested, 12))


def glove_due_date(question: Question) -> Answer:
    return printed(_glove_limit(*days(question.situation)))


def glove_fit_today(question: Question) -> Answer:
    today, tested, issued = days(question.situation)
    (dc_v,) = numbers("up to # V DC", question.situation)
    marked = re.search(r"class 00?", question.situation)
    assert marked
    if today >= _glove_limit(tested, issued):
        return "Not fit: the date has passed"
    most_v = {"class 00": 750, "class 0": 1500}[marked[0]]
    return "Fit: class and date both hold" if dc_v <= most_v else "Not fit: the class is too low"


def meter_chain_weakest(question: Question) -> Answer:
    parts = re.findall(r"CAT (II|III|IV) ([\d ]+) V", question.situation)
    category = min((roman for roman, _ in parts), key=["II", "III", "IV"].index)
    volts = min(int(volts.replace(" ", "")) for _, volts in parts)
    return f"CAT {category} {volts:,} V".replace(",", " ")


def proving_order(question: Question) -> Answer:
    """HSE GS38: proved on a known source before and after; a self-test is no source."""
    texts = [option.text.casefold() for option in question.options]
    sound = [text for text in texts if re.match(r"proved on the proving unit, measured, proved", text)]
    assert len(sound) == 1
    return sound[0].capitalize()


_ISOLATION = (
    "procedure",
    "Cordon",
    "Switch off",
    "gloves",
    "disconnect",
    "Wait",
    "every pair",
    "tester again",
    "Write",
)


def isolation_order(question: Question) -> Answer:
    return [option.text for word in _ISOLATION for option in question.options if word in option.text]


def dead_verdict(question: Question) -> Answer:
    (dead_v,) = numbers("dead is # V DC", question.situation)
    before_v, now_v = numbers("read # V, and [0-9]+ min later # V", question.situation)
    if now_v <= dead_v:
        return "This pair is dead; go on"
    # UN R100: voltage class B begins above 60 V DC.
    return "Stop, keep away and ask" if now_v > 60 or now_v >= before_v else "Wait, then measure again"


def _circuit(question: Question) -> tuple[float, float]:
    """Time constant in seconds, starting volts."""
    micro, start_v, kilo = numbers("of # \u00b5F, charged to # V, .* of # kohm", question.situation)
    return micro * kilo / 1000, start_v


def discharge_voltage(question: Question) -> Answer:
    tau_s, start_v = _circuit(question)
    (elapsed_s,) = numbers("kohm\\. # s have gone", question.situation)
    left_v = start_v
    for _ in range(round(elapsed_s / tau_s)):
        left_v /= math.e
    return left_v


def discharge_time(question: Question) -> Answer:
    tau_s, start_v = _circuit(question)
    (dead_v,) = numbers("dead is # V", question.situation)
    return tau_s * (math.log(start_v) - math.log(dead_v))


def _vehicle(question: Question) -> tuple[float, float, float, float]:
    return tuple(  # type: ignore[return-value]
        numbers("weighs # kg.* lies # m behind the front axle, the pads # m and # m", question.situation)
    )


def _pads(mass_kg: float, at_m: float, front_m: float, rear_m: float) -> tuple[float, float]:
    """One front and one rear pad by moments about the other pair."""
    span_m = rear_m - front_m
    return mass_kg * (rear_m - at_m) / span_m / 2, mass_kg * (at_m - front_m) / span_m / 2


def rear_pad_load(question: Question) -> Answer:
    return _pads(*_vehicle(question))[1]


def arm_verdict(question: Question) -> Answer:
    mass_kg, at_m, front_m, rear_m = _vehicle(question)
    (rated_kg,) = numbers("rated # kg", question.situation)
    part_kg, part_m = numbers("takes off the [a-z ]+: # kg, # m behind", question.situation)
    left_kg = mass_kg - part_kg
    after = _pads(left_kg, (mass_kg * at_m - part_kg * part_m) / left_kg, front_m, rear_m)
    loads = (*_pads(mass_kg, at_m, front_m, rear_m), *after)
    if min(loads) <= 0:
        return "It tips when the part comes off"
    return "A pad is over its arm's limit" if max(loads) > rated_kg / 4 else "The arms bear it at every stage"


def lift_table_verdict(question: Question) -> Answer:
    pack_kg, fixture_kg, rated_kg = numbers("pack of # kg .* fixture of # kg.* rated # kg", question.situation)
    offset_mm, half_mm, table_kg = numbers("is # mm off .* is # mm, the table weighs # kg", question.situation)
    load_kg = pack_kg + fixture_kg
    if load_kg > rated_kg:
        return "The table is rated too low"
    restoring_nm = 9.81 * ((table_kg + load_kg) * half_mm - load_kg * offset_mm) / 1000
    # Trade practice C10: within 100 mm, and twice the moment of 200 N at 1.2 m.
    steady = offset_mm <= 100 and restoring_nm >= 2 * 200 * 1.2
    return "Rating and centre are both right" if steady else "The pack is too far off centre"


def vehicle_isolation_limit(question: Question) -> Answer:
    (per_v,) = numbers("at least # ohm per volt", question.situation)
    (working_v,) = numbers("voltage is # V", question.situation)
    return per_v * working_v / 1000


def insulation_part_verdict(question: Question) -> Answer:
    if "is not at hand" in question.situation:
        return "No verdict without a figure"
    read, asked = numbers("reads # Mohm.* this part is # Mohm", question.situation)
    return "Pass, by its own figure" if read >= asked else "Fail, by its own figure"


def _bond(question: Question) -> tuple[float, float]:
    """Amperes and milliohm."""
    current_a, drop_mv = numbers("four-wire\\. # A flow and # mV", question.situation)
    return current_a, drop_mv / current_a


def bonding_resistance(question: Question) -> Answer:
    return _bond(question)[1]


def bonding_verdict(question: Question) -> Answer:
    """UN R100 5.1.2.2: below 0.1 ohm, at 0.2 A or more."""
    current_a, milliohm = _bond(question)
    if current_a < 0.2:
        return "Measure with more current"
    return "Good: leave it as it is" if round(milliohm, 6) < 100 else "Bad: clean and bolt anew"


def _open_sides(question: Question) -> list[float]:
    return numbers("sides have # m, # m and # m", question.situation)


def quarantine_place_us(question: Question) -> Answer:
    """SAE J2990 practice: 50 ft, outdoors."""
    if min(_open_sides(question)) < 50 * 0.3048:
        return "No, a side is too near"
    return "It will do, as asked" if "open yard" in question.situation else "No, it stands indoors"


def quarantine_place_eu(question: Question) -> Answer:
    """Trade practice C11: in Germany 5 m to fire loads, and locked."""
    if min(_open_sides(question)) < 5:
        return "No, a side is too near"
    return "It will do, as asked" if "gate is locked" in question.situation else "No, it is not locked"


def cordon_verdict(question: Question) -> Answer:
    """NFPA 70E Table 130.4(E)(b): 1.07 m where live parts may be open; else a metre by custom."""
    (distance_m,) = numbers("stands # m from", question.situation)
    if distance_m < (1.07 if "open and live" in question.situation else 1.0):
        return "It is too near"
    return "It has a hole" if "open towards the wall" in question.situation else "It will do"


_OBSTACLES = {
    "fetch parts": "You have other work",
    "store room": "You have no hook here",
    "office": "You are out of sight",
    "where to switch off": "You know no switch-off",
}


def second_person_verdict(question: Question) -> Answer:
    today, first_aid = days(question.situation)
    if first_aid < today:
        return "Your first aid lapsed"
    return next((said for words, said in _OBSTACLES.items() if words in question.situation), "You may stand by now")


def insulated_tool_choice(question: Question) -> Answer:
    """IEC 60900: double triangle, 1000 V, standard number, maker, reference, year."""
    marks = ("double triangle", "1000 V", "IEC 60900", "maker's name", "part number", "year of make")
    whole = [option.text for option in question.options if all(mark in option.text for mark in marks)]
    assert len(whole) == 1
    return whole[0]


SOLVERS: dict[str, Callable[[Question], Answer]] = {
    solver.__name__: solver
    for solver in (
        glove_class_for_bus,
        glove_due_date,
        glove_fit_today,
        meter_chain_weakest,
        proving_order,
        isolation_order,
        dead_verdict,
        discharge_voltage,
        discharge_time,
        rear_pad_load,
        arm_verdict,
        lift_table_verdict,
        vehicle_isolation_limit,
        insulation_part_verdict,
        bonding_resistance,
        bonding_verdict,
        quarantine_place_us,
        quarantine_place_eu,
        cordon_verdict,
        second_person_verdict,
        insulated_tool_choice,
        *solver_kit.SOLVERS,
        *solver_sums.SOLVERS,
    )
}
