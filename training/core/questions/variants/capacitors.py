"""Questions on capacitors: the energy in one, and the resistor that empties it in time."""

from __future__ import annotations

import random

from training.core.questions.drawing import label, line, picture, text
from training.core.questions.kinds import Consequence, Kind, NumberAnswer, Topic
from training.core.questions.variants.drawn import MAKER, PRACTICE, Drawn, figure, plain
from training.core.trade import discharge

_BEARERS = ("an inverter", "a charger", "a DC/DC converter", "a heater's control unit")


def capacitor_energy(chance: random.Random) -> Drawn:
    """The energy in a charged capacitor."""
    capacitance_uf, charged_v = chance.choice((400, 500, 650, 800, 1000, 1200)), chance.randrange(340, 861, 10)
    energy_j = discharge.energy_j(capacitance_uf * 1e-6, charged_v)
    return Drawn(
        topic=Topic.ISOLATION,
        kind=Kind.WORK_OUT,
        consequence=Consequence.INJURY,
        situation=(
            f"The HV disconnect is open. The capacitor of {chance.choice(_BEARERS)} has {figure(capacitance_uf)}"
            f" \u00b5F and still stands at {figure(charged_v)} V."
        ),
        stem="How many joule of energy are in it?",
        number=NumberAnswer(
            value=round(energy_j, 1),
            unit="J",
            tolerance=max(1.0, round(0.02 * energy_j, 1)),
            reason=(
                f"E = C V V / 2 = {plain(capacitance_uf / 1e6)} F x {figure(charged_v)} V x {figure(charged_v)} V / 2 ="
                f" {figure(energy_j, 1)} J. Pulling the disconnect takes nothing out of it; waiting and measuring does."
            ),
        ),
        sources=("E = C V^2 / 2, physics", PRACTICE),
        picture=_capacitor([f"{figure(capacitance_uf)} \u00b5F", f"{figure(charged_v)} V"]),
        picture_text=f"A capacitor of {figure(capacitance_uf)} \u00b5F at {figure(charged_v)} V.",
    )


def discharge_resistor(chance: random.Random) -> Drawn:
    """The largest resistor that brings a capacitor down to the maker's value in time."""
    capacitance_uf, start_v = chance.choice((400, 500, 800, 1000, 1200)), chance.randrange(340, 861, 20)
    dead_v, within_s = chance.choice((5, 12, 30)), chance.choice((30, 60, 120, 300))
    most_kohm = discharge.resistor_for_ohm(start_v, dead_v, capacitance_uf * 1e-6, within_s) / 1000
    tau_s = discharge.largest_time_constant_s(start_v, dead_v, within_s)
    return Drawn(
        topic=Topic.ISOLATION,
        kind=Kind.WORK_OUT,
        consequence=Consequence.INJURY,
        situation=(
            f"On a training rig a capacitor of {figure(capacitance_uf)} \u00b5F is charged to {start_v} V. A fixed"
            f" resistor is to bring it to the rig's value for dead, {dead_v} V, within {within_s} s."
        ),
        stem="How many kohm may the resistor have at most?",
        number=NumberAnswer(
            value=round(most_kohm, 2),
            unit="kohm",
            tolerance=max(0.1, round(0.03 * most_kohm, 2)),
            reason=(
                f"R C may be {within_s} s / ln({start_v}/{dead_v}) = {figure(tau_s, 2)} s, and that over"
                f" {figure(capacitance_uf)} \u00b5F is {figure(most_kohm, 2)} kohm. A resistor can burn open: measure."
            ),
        ),
        sources=("R = t / (C ln(V0/V)), physics", MAKER),
        picture=_capacitor([f"{figure(capacitance_uf)} \u00b5F", f"{start_v} V", "R = ?"]),
        picture_text=f"A capacitor of {figure(capacitance_uf)} \u00b5F at {start_v} V with a resistor R across it.",
    )


def _capacitor(words: list[str]) -> str:
    plates = [line(60, 50, 110, 50), line(60, 60, 110, 60), line(85, 20, 85, 50), line(85, 60, 85, 90)]
    rails = [line(85, 20, 160, 20), line(85, 90, 160, 90), text(50, 46, "+", anchor="end")]
    return picture(104, [*plates, *rails, label(170, 20, 120, words)])
