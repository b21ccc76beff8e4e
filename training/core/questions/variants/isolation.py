"""Questions on isolating: the order of the steps, what a reading says, and how fast a capacitor gives up its charge."""

from __future__ import annotations

import random

from training.core.questions.drawing import label, line, path, picture, text
from training.core.questions.kinds import Consequence, Kind, NumberAnswer, Topic
from training.core.questions.variants.drawn import MAKER, PRACTICE, Choice, Drawn, by_verdict, figure, in_order, plain
from training.core.trade import discharge
from training.core.trade.isolation import ISOLATION_STEPS, MakerDead, Reading, read_point

_VEHICLES = ("a delivery van", "a small electric car", "an electric estate car", "a hybrid car", "an electric pickup")
# Steps whose order nobody disputes: the first, one of the second row, and three of what follows.
_FIRST = "maker's procedure open"
_BEFORE = ("bay cordoned, second person placed", "off, all keys locked away", "gloves proved, visor on")
_AFTER = (
    "HV disconnect open, own lock on",
    "maker's wait by the clock",
    "every pair measured",
    "tester proved again",
    "dead points named, label and record",
)
_STEPS = {
    _FIRST: Choice("Open the maker's procedure for this vehicle", "It names disconnect, wait, points and dead value."),
    _BEFORE[0]: Choice("Cordon the bay and place the second person", "Both stand before anything HV is opened."),
    _BEFORE[1]: Choice("Switch off and lock all keys away", "A vehicle that can wake closes its contactors again."),
    _BEFORE[2]: Choice("Prove the gloves and put the visor on", "Until proved dead every HV point counts as live."),
    _AFTER[0]: Choice(
        "Open the HV disconnect and hang your own lock", "From here on the pack is parted from the rest."
    ),
    _AFTER[1]: Choice("Wait the maker's time by the clock", "The capacitors give up their charge meanwhile."),
    _AFTER[2]: Choice("Measure every pair of points", "The clock proves nothing; the values do."),
    _AFTER[3]: Choice("Prove the tester again", "Only now do you know that the readings were true."),
    _AFTER[4]: Choice("Write the values down and name the dead points", "Others rely on the points named, no others."),
}


def isolation_order(chance: random.Random) -> Drawn:
    """Five steps of an isolation, to be put in order."""
    chosen = {_FIRST, chance.choice(_BEFORE), *chance.sample(_AFTER, 3)}
    steps = [step for step in ISOLATION_STEPS if step in chosen]
    vehicle, minutes = chance.choice(_VEHICLES), chance.choice((5, 8, 10, 15))
    return Drawn(
        topic=Topic.ISOLATION,
        kind=Kind.PUT_IN_ORDER,
        consequence=Consequence.LIFE,
        situation=f"You isolate {vehicle}. The maker's wait is {minutes} min.",
        stem="Put these steps in order, first to last.",
        options=in_order(_STEPS[step] for step in steps),
        sources=("EN 50110-1 6.2 (rules 1 to 3)", "HSE GS38", MAKER),
        picture=picture(60, [label(90, 6, 160, ["maker's wait", f"{minutes} min"])]),
        picture_text=f"A card from the maker's procedure: wait {minutes} min.",
    )


def dead_verdict(chance: random.Random) -> Drawn:
    """What a reading says against the maker's own value: dead here, wait, or stop and ask."""
    dead_v = chance.choice((3, 5, 12, 30))
    reading_v, earlier_v = _readings(chance, dead_v)
    answer = read_point(reading_v, "DC", MakerDead(dc_v=dead_v), earlier_v)
    verdict = {Reading.DEAD: "dead", Reading.WAIT: "wait"}.get(answer, "stop")
    minutes, now, before = chance.choice((5, 10)), plain(reading_v), plain(earlier_v)
    return Drawn(
        topic=Topic.ISOLATION,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"On {chance.choice(_VEHICLES)} the maker's value for dead is {dead_v} V DC. After the maker's wait"
            f" HV+ to HV- read {before} V, and {minutes} min later {now} V. The tester is proved."
        ),
        stem="What follows from these two readings?",
        options=by_verdict(chance, verdict, _dead_choices(answer, dead_v, now, before)),
        sources=(MAKER, "UN R100 section 2 (60 V DC is where voltage class B begins)", PRACTICE),
        picture=picture(100, [label(110, 10, 120, [f"first {before} V", f"then {now} V"]), *_leads()]),
        picture_text=f"A meter between HV+ and HV-: first {before} V, then {now} V.",
    )


def _readings(chance: random.Random, dead_v: int) -> tuple[float, float]:
    """A reading and the one before it, for one of the four answers."""
    kind = chance.choice(("dead", "falling", "steady", "live"))
    if kind == "dead":
        reading_v = float(chance.choice((dead_v, round(dead_v * chance.uniform(0.1, 0.9), 1))))
        return reading_v, round(reading_v + chance.uniform(0.5, 4), 1)
    if kind == "live":
        reading_v = float(chance.randint(64, 430))
        return reading_v, reading_v + chance.randint(0, 12)
    reading_v = float(chance.randint(dead_v + 2, 58))
    change_v = chance.randint(4, 30) if kind == "falling" else -chance.choice((0, 0, 1))
    return reading_v, reading_v + change_v


def _dead_choices(answer: Reading, dead_v: int, now: str, before: str) -> dict[str, Choice]:
    against = f"{now} V is at or under" if answer is Reading.DEAD else f"{now} V is over"
    dead = f"{against} the maker's {dead_v} V. It holds for this pair only; 60 V is where class B begins, not dead."
    wait = {
        Reading.DEAD: f"There is nothing to wait for: {now} V is at or under the maker's {dead_v} V.",
        Reading.WAIT: f"{now} V is over the maker's {dead_v} V but falls from {before} V; measure until it is under.",
        Reading.NOT_FALLING: f"{before} V, then {now} V does not fall: a second source or a welded contactor feeds it.",
        Reading.LIVE: f"{now} V is over 60 V after the maker's wait: the point is live.",
    }[answer]
    stop = {
        Reading.DEAD: f"{now} V is at or under the maker's {dead_v} V, so go on to the next pair.",
        Reading.WAIT: f"{now} V still falls, from {before} V; waiting and measuring comes before giving up.",
        Reading.NOT_FALLING: f"{now} V does not fall, so something feeds it. Time will not make it dead.",
        Reading.LIVE: f"{now} V is live: back off, keep the cordon, and have somebody cleared for live work judge it.",
    }[answer]
    return {
        "dead": Choice("This pair is dead; go on", dead),
        "wait": Choice("Wait, then measure again", wait),
        "stop": Choice("Stop, keep away and ask", stop),
    }


def _leads() -> list[str]:
    return [line(110, 40, 40, 40), line(230, 40, 300, 40), text(40, 60, "HV+"), text(300, 60, "HV-")]


def discharge_voltage(chance: random.Random) -> Drawn:
    """The voltage left after some time constants."""
    capacitance_uf, resistance_kohm, start_v = _circuit(chance)
    tau_s = capacitance_uf * resistance_kohm / 1000
    elapsed_s = tau_s * chance.choice((1, 2, 3))
    left_v = discharge.voltage_after_v(start_v, capacitance_uf * 1e-6, resistance_kohm * 1e3, elapsed_s)
    return Drawn(
        topic=Topic.ISOLATION,
        kind=Kind.WORK_OUT,
        consequence=Consequence.INJURY,
        situation=f"{_circuit_text(capacitance_uf, resistance_kohm, start_v)} {plain(elapsed_s)} s have gone by.",
        stem="By calculation, what voltage is left?",
        number=NumberAnswer(
            value=round(left_v, 1),
            unit="V",
            tolerance=round(max(1.0, 0.03 * left_v), 1),
            reason=(
                f"R times C is {plain(tau_s)} s. Each such time leaves 37 in 100, and {plain(elapsed_s / tau_s)} of"
                f" them have gone by: {figure(left_v, 1)} V. A sum proves nothing; measure."
            ),
        ),
        sources=("V = V0 exp(-t/RC), physics", PRACTICE),
        picture=_curve(start_v),
        picture_text=f"A voltage that falls from {figure(start_v)} V, fast at first and then ever more slowly.",
    )


def discharge_time(chance: random.Random) -> Drawn:
    """How long a capacitor takes down to the maker's value."""
    capacitance_uf, resistance_kohm, start_v = _circuit(chance)
    dead_v = chance.choice((5, 12, 30))
    needed_s = discharge.seconds_to(start_v, dead_v, capacitance_uf * 1e-6, resistance_kohm * 1e3)
    tau_s = capacitance_uf * resistance_kohm / 1000
    return Drawn(
        topic=Topic.ISOLATION,
        kind=Kind.WORK_OUT,
        consequence=Consequence.INJURY,
        situation=_circuit_text(capacitance_uf, resistance_kohm, start_v)
        + f" The maker's value for dead is {dead_v} V.",
        stem="By calculation, how many seconds does it take to come down to the maker's value?",
        number=NumberAnswer(
            value=round(needed_s, 1),
            unit="s",
            tolerance=round(max(1.0, 0.03 * needed_s), 1),
            reason=(
                f"t = R C ln(V0/V) = {plain(tau_s)} s times ln({figure(start_v)}/{dead_v}) = {figure(needed_s, 1)} s."
                " The maker's wait is longer, and you measure after it all the same."
            ),
        ),
        sources=("t = RC ln(V0/V), physics", MAKER),
        picture=_curve(start_v),
        picture_text=f"A voltage that falls from {figure(start_v)} V towards {dead_v} V, ever more slowly.",
    )


def _circuit(chance: random.Random) -> tuple[int, int, int]:
    """Capacitance in microfarad, resistance in kilo-ohm, starting volts."""
    capacitance_uf = chance.choice((500, 800, 1000, 1200, 1500))
    return capacitance_uf, chance.choice((10, 20, 30, 40, 50)), chance.randrange(360, 861, 20)


def _circuit_text(capacitance_uf: int, resistance_kohm: int, start_v: int) -> str:
    return (
        f"An inverter's capacitor of {figure(capacitance_uf)} \u00b5F, charged to {figure(start_v)} V, discharges"
        f" through a resistor of {resistance_kohm} kohm."
    )


def _curve(start_v: int) -> str:
    points = [(40 + 0.9 * step, 110 - 90 * 0.37 ** (step / 75)) for step in range(0, 301, 10)]
    shapes = [line(40, 12, 40, 110), line(40, 110, 320, 110), path(points)]
    return picture(130, [*shapes, text(46, 18, f"{figure(start_v)} V", anchor="start"), text(300, 126, "time")])
