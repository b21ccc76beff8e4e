"""Questions on insulation and bonding: the vehicle's limit, a single part's limit, and the bond to the body."""

from __future__ import annotations

import random

from training.core.questions.drawing import label, line, picture, text
from training.core.questions.kinds import Consequence, Kind, NumberAnswer, Topic
from training.core.questions.variants.drawn import MAKER, PRACTICE, Choice, Drawn, by_verdict, figure, plain
from training.core.trade import bonding, insulation
from training.core.trade.errors import OutOfRange
from training.core.trade.insulation import PartVerdict

_PARTS = ("An HV cable", "The cable to the heater", "The cable to the compressor", "The cable from the charger")
_BONDED = ("inverter housing", "pack case", "compressor bracket", "charger housing")


def vehicle_isolation_limit(chance: random.Random) -> Drawn:
    """The least isolation resistance of a whole vehicle, from the maker's ohm per volt."""
    working_v, per_v = chance.randrange(340, 861, 10), chance.choice((100, 250, 500, 600))
    least_kohm = insulation.vehicle_limit_ohm(working_v, maker_ohm_per_v=per_v) / 1000
    return Drawn(
        topic=Topic.METERS,
        kind=Kind.WORK_OUT,
        consequence=Consequence.INJURY,
        situation=(
            f"The isolation monitor of a whole vehicle is checked. The maker asks for at least {per_v} ohm per volt."
            f" The highest working voltage is {figure(working_v)} V."
        ),
        stem="Which is the least resistance in kohm that will do for the whole vehicle?",
        number=NumberAnswer(
            value=least_kohm,
            unit="kohm",
            tolerance=max(0.5, round(0.01 * least_kohm, 1)),
            reason=(
                f"{per_v} ohm per volt times {figure(working_v)} V is {plain(least_kohm)} kohm. It holds for the whole"
                " vehicle; one cable at that value is a faulty part."
            ),
        ),
        sources=(MAKER, "UN R100 5.1.3"),
        picture=picture(62, [label(70, 6, 200, [f"{per_v} ohm/V", f"{figure(working_v)} V"])]),
        picture_text=f"A sheet: {per_v} ohm/V, {figure(working_v)} V.",
    )


def insulation_part_verdict(chance: random.Random) -> Drawn:
    """What the reading of a single disconnected part says: against the maker's figure, never against 500 ohm/V."""
    working_v = chance.randrange(360, 851, 10)
    vehicle_mohm = insulation.vehicle_limit_ohm(working_v) / 1e6
    wanted = chance.choice(("passes", "fails", "compare"))
    limit_mohm = chance.choice((5, 10, 20, 50))
    measured_mohm = _measured(chance, wanted, vehicle_mohm, limit_mohm)
    known_ohm = None if wanted == "compare" else limit_mohm * 1e6
    verdict = {PartVerdict.PASSES: "passes", PartVerdict.FAILS: "fails", PartVerdict.COMPARE: "compare"}[
        insulation.judge_part(measured_mohm * 1e6, known_ohm)
    ]
    maker = "is not at hand" if known_ohm is None else f"is {limit_mohm} Mohm"
    part = chance.choice(_PARTS)
    return Drawn(
        topic=Topic.METERS,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"{part} is unplugged at both ends and tested as the maker says. It reads {plain(measured_mohm)} Mohm. The"
            f" system's highest working voltage is {figure(working_v)} V. The maker's figure for this part {maker}."
        ),
        stem="What do you write on the sheet?",
        options=by_verdict(chance, verdict, _part_choices(measured_mohm, vehicle_mohm, maker)),
        sources=(MAKER, "UN R100 5.1.3 (500 ohm/V, whole vehicle)", PRACTICE),
        picture=picture(
            80, [label(110, 8, 120, [f"{plain(measured_mohm)} Mohm"]), line(110, 22, 40, 60), line(230, 22, 300, 60)]
        ),
        picture_text=f"An insulation tester on a loose cable: {plain(measured_mohm)} Mohm.",
    )


def _measured(chance: random.Random, wanted: str, vehicle_mohm: float, limit_mohm: int) -> float:
    """A reading in Mohm; one that fails lies above the limit of the whole vehicle, as the usual mistake has it."""
    if wanted == "passes":
        return float(limit_mohm * chance.choice((1, 2, 4, 11)))
    if wanted == "fails":
        return round(chance.uniform(vehicle_mohm * 1.05, limit_mohm * 0.8), 2)
    return round(chance.uniform(vehicle_mohm * 1.05, 30), 1 if vehicle_mohm < 0.3 else 2)


def _part_choices(measured_mohm: float, vehicle_mohm: float, maker: str) -> dict[str, Choice]:
    read = f"It reads {plain(measured_mohm)} Mohm; the maker's figure for the part {maker}."
    mistake = (
        f"500 ohm/V, here {plain(round(vehicle_mohm, 3))} Mohm, is the limit of the whole vehicle, not of one part."
    )
    return {
        "passes": Choice("Pass, by its own figure", f"{read} {mistake}"),
        "fails": Choice(
            "Fail, by its own figure",
            f"{read} A part below its figure is faulty even if the vehicle as a whole would pass.",
        ),
        "compare": Choice(
            "No verdict without a figure", f"{read} A verdict on a part needs that figure; without it, get it first."
        ),
    }


def bonding_resistance(chance: random.Random) -> Drawn:
    """The resistance of a bond from volts and amperes."""
    current_a, voltage_mv = chance.choice((0.2, 0.25, 0.5, 1.0)), chance.randrange(4, 41)
    milliohm = bonding.resistance_ohm(voltage_mv / 1000, current_a) * 1000
    return Drawn(
        topic=Topic.METERS,
        kind=Kind.WORK_OUT,
        consequence=Consequence.INJURY,
        situation=_bond_text(chance.choice(_BONDED), current_a, voltage_mv),
        stem="What is the resistance of the bond in milliohm?",
        number=NumberAnswer(
            value=round(milliohm, 1),
            unit="milliohm",
            tolerance=max(0.5, round(0.01 * milliohm, 1)),
            reason=f"R = U / I = {voltage_mv} mV / {plain(current_a)} A = {plain(round(milliohm, 1))} milliohm.",
        ),
        sources=("UN R100 5.1.2.2",),
        picture=_bond_view(current_a, voltage_mv),
        picture_text=f"A bond to the body, measured four-wire: {plain(current_a)} A, {voltage_mv} mV.",
    )


def bonding_verdict(chance: random.Random) -> Drawn:
    """Whether a bond is good, is not, or was measured with too little current."""
    wanted = chance.choice(("good", "bad", "again"))
    current_a = chance.choice((0.02, 0.05, 0.1)) if wanted == "again" else chance.choice((0.2, 0.25, 0.5, 1.0))
    # 0.1 ohm itself is not below 0.1 ohm, so it is drawn now and then.
    milliohm = chance.choice((100, 104, 120, 150)) if wanted == "bad" else chance.choice((12, 28, 42, 60, 88))
    voltage_mv = round(milliohm * current_a, 3)
    return Drawn(
        topic=Topic.METERS,
        kind=Kind.PICK_ONE,
        consequence=Consequence.INJURY,
        situation=_bond_text(chance.choice(_BONDED), current_a, voltage_mv) + " The maker gives no lower limit.",
        stem="What follows?",
        options=by_verdict(chance, _bond_answer(voltage_mv, current_a), _bond_choices(voltage_mv, current_a, milliohm)),
        sources=("UN R100 5.1.2.2 (below 0.1 ohm at 0.2 A or more)",),
        picture=_bond_view(current_a, voltage_mv),
        picture_text=f"A bond to the body, measured four-wire: {plain(current_a)} A, {plain(voltage_mv)} mV.",
    )


def _bond_answer(voltage_mv: float, current_a: float) -> str:
    try:
        return "good" if bonding.bonded(voltage_mv / 1000, current_a) else "bad"
    except OutOfRange:
        return "again"


def _bond_choices(voltage_mv: float, current_a: float, milliohm: int) -> dict[str, Choice]:
    worked = f"{plain(voltage_mv)} mV / {plain(current_a)} A = {milliohm} milliohm; it has to be below 100."
    enough = f"The test asks for 0.2 A or more, and {plain(current_a)} A flowed."
    return {
        "good": Choice("Good: leave it as it is", f"{worked} {enough}"),
        "bad": Choice("Bad: clean and bolt anew", f"{worked} {enough}"),
        "again": Choice("Measure with more current", enough),
    }


def _bond_text(part: str, current_a: float, voltage_mv: float) -> str:
    return (
        f"The bond from {part} to body is measured four-wire. {plain(current_a)} A flow and {plain(voltage_mv)} mV"
        " drop along it."
    )


def _bond_view(current_a: float, voltage_mv: float) -> str:
    shapes = [label(100, 8, 140, [f"{plain(current_a)} A", f"{plain(voltage_mv)} mV"]), line(40, 90, 300, 90)]
    ends = [line(100, 30, 60, 90), line(240, 30, 280, 90), text(60, 108, "part"), text(280, 108, "body")]
    return picture(118, [*shapes, *ends])
