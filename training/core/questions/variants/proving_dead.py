"""Questions on proving dead: which pair is still to be measured, how long is left to wait, what an AC reading says."""

from __future__ import annotations

import random

from training.core.questions.drawing import box, line, picture, text
from training.core.questions.kinds import Consequence, Kind, Topic
from training.core.questions.variants.drawn import MAKER, PRACTICE, Choice, Drawn, by_verdict, one_of, pick_one, plain
from training.core.questions.variants.shapes import clock, meter
from training.core.trade import isolation
from training.core.trade.isolation import MakerDead, Reading, read_point
from training.core.trade.meters import TestPoint, points_to_test

_VEHICLES = ("a delivery van", "a small electric car", "an electric estate car", "a hybrid car", "an electric pickup")


# ---------------------------------------------------------------- points
def pair_still_missing(chance: random.Random) -> Drawn:
    """Which pair of points the sheet still lacks for this job."""
    ac_side, pack_work = chance.choice(((True, False), (False, True), (False, False), (True, True)))
    asked = points_to_test(ac_side=ac_side, pack_work=pack_work)
    missing = chance.choice([point for point in asked if point.side == "pack" or not pack_work])
    done = [point for point in asked if point != missing]
    offered = [missing, *_other_pairs(chance, missing, done, asked)]
    job = _job(ac_side, pack_work)
    return Drawn(
        topic=Topic.ISOLATION,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"On {chance.choice(_VEHICLES)} {job}. The maker's procedure names no further points. Measured so far:"
            f" {_listed(done)}."
        ),
        stem="Which pair does this job still ask for?",
        options=one_of(chance, [(_pair(each, done, asked), each in asked and each not in done) for each in offered]),
        sources=("HSE GS38; HSG85", MAKER, PRACTICE),
        picture=_circuit(ac_side, pack_work),
        picture_text=f"Pack, contactors and inverter; {'with' if ac_side else 'without'} the motor's three phases.",
    )


def _other_pairs(
    chance: random.Random, missing: TestPoint, done: list[TestPoint], asked: tuple[TestPoint, ...]
) -> list[TestPoint]:
    """Two wrong pairs: for pack work the same pair on the vehicle side, else one done and one of another job."""
    same_pair = [point for point in done if _pair_of(point) == _pair_of(missing)]
    if same_pair:
        return [same_pair[0], chance.choice(_ac_points())]
    foreign = [point for point in points_to_test(ac_side=True, pack_work=True) if point not in asked]
    return [chance.choice(done), chance.choice([point for point in foreign if _pair_of(point) != _pair_of(missing)])]


def _ac_points() -> list[TestPoint]:
    return [point for point in points_to_test(ac_side=True, pack_work=False) if point.current == "AC"]


def _job(ac_side: bool, pack_work: bool) -> str:
    if pack_work:
        return "the pack is to come out" + (" and the motor's phases to come off" if ac_side else "")
    return "the motor's phases are to come off" if ac_side else "the inverter's DC cable is to come off"


_WHERE = {"vehicle": "at the inverter", "pack": "at pack outlet"}
_ENDS = {"HV+": "plus", "HV-": "minus"}


def _listed(points: list[TestPoint]) -> str:
    sides = [(where, [_pair_of(point) for point in points if point.side == side]) for side, where in _WHERE.items()]
    return "; ".join(f"{where} {', '.join(pairs)}" for where, pairs in sides if pairs)


def _pair_of(point: TestPoint) -> str:
    return f"{_ENDS.get(point.first, point.first)}-{_ENDS.get(point.second, point.second)}"


def _pair(point: TestPoint, done: list[TestPoint], asked: tuple[TestPoint, ...]) -> Choice:
    pair = _pair_of(point)
    words = f"{pair.capitalize() if point.current == 'DC' else f'Phases {pair}'} {_WHERE[point.side]}"
    if point in done:
        return Choice(words, f"The sheet has {pair} {_WHERE[point.side]} already.")
    if point not in asked:
        return Choice(words, "It belongs to another job; here nobody opens or touches that side.")
    if point.side == "pack":
        return Choice(words, "A welded contactor shows at the pack's own outlet, and there you will put your hands.")
    return Choice(words, f"The sheet lacks {pair}, and a fault may show at that pair alone.")


def _circuit(ac_side: bool, pack_work: bool) -> str:
    shapes = [box(12, 30, 70, 50), text(47, 59, "pack"), box(180, 30, 70, 50), text(215, 59, "inverter")]
    for y in (42, 68):
        shapes += [line(82, y, 115, y), line(115, y, 135, y - 9), line(138, y, 180, y)]
    shapes += [line(250, y, 288, y) for y in (40, 55, 70) if ac_side]
    shapes += [text(336, 59, "U V W", anchor="end")] if ac_side else []
    shapes += [text(98, 98, "outlet")] if pack_work else []
    return picture(104, shapes)


# ---------------------------------------------------------------- wait
def wait_left(chance: random.Random) -> Drawn:
    """How long is still to wait: from the disconnect on, by the maker's time."""
    wait_min = chance.choice((5, 8, 10, 12, 15))
    start = chance.randint(7 * 60 + 5, 16 * 60)
    off, opened = start, start + chance.randint(3, 9)
    now = opened + chance.randint(1, wait_min - 2)
    left_min = round(isolation.wait_left_s((now - opened) * 60, wait_min * 60) / 60)
    counted = f"The disconnect opened at {_time(opened)}; {wait_min} min end at {_time(opened + wait_min)}."
    low = [
        Choice(_minutes(wait_min - (now - off)), f"{counted} Switching off does not part the pack; it starts nothing."),
        Choice(_minutes(0), f"{counted} A meter read too early tempts you to work on a charged capacitor."),
        Choice(_minutes(5 - (now - opened)), f"{counted} Five minutes are a habit; this maker says {wait_min}."),
    ]
    high = [
        Choice(_minutes(wait_min), f"{counted} What has gone by since then counts."),
        Choice(_minutes(wait_min + 10), f"{counted} Ten minutes on top do nothing that the meter would not tell."),
    ]
    wrong = chance.choice((low + high, high + low, [low[0], *high, *low[1:]]))
    return Drawn(
        topic=Topic.ISOLATION,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"{chance.choice(_VEHICLES).capitalize()} was switched off at {_time(off)}. You opened the HV disconnect"
            f" and hung your lock on it at {_time(opened)}. It is {_time(now)}. The maker's wait is {wait_min} min."
        ),
        stem="How long do you still wait before the first reading?",
        options=pick_one(
            chance,
            Choice(_minutes(left_min), f"{counted} Then measure: the clock proves nothing."),
            wrong,
        ),
        sources=(MAKER, PRACTICE),
        picture=picture(110, [*_clock(60, off, "off"), *_clock(170, opened, "disconnect"), *_clock(280, now, "now")]),
        picture_text=f"Three clocks: off {_time(off)}, disconnect {_time(opened)}, now {_time(now)}.",
    )


def _clock(x: float, minutes: int, words: str) -> list[str]:
    return clock(x, 44, minutes // 60, minutes % 60, f"{words} {_time(minutes)}")


def _time(minutes: int) -> str:
    return f"{minutes // 60}:{minutes % 60:02d}"


def _minutes(left: int) -> str:
    return f"{max(0, left)} min"


# ---------------------------------------------------------------- AC
def ac_reading_verdict(chance: random.Random) -> Drawn:
    """What an AC reading says: against the AC value, never against the DC one."""
    dead_ac_v, dead_dc_v = chance.choice((2, 3, 5)), chance.choice((12, 20, 30))
    reading_v, earlier_v = _ac_readings(chance, dead_ac_v)
    maker = MakerDead(dc_v=dead_dc_v, ac_v=dead_ac_v)
    answer = read_point(reading_v, "AC", maker, earlier_v)
    verdict = {Reading.DEAD: "dead", Reading.WAIT: "wait"}.get(answer, "stop")
    pair, minutes = chance.choice(("U to V", "V to W", "W to U", "U to body")), chance.choice((5, 10))
    now, before = plain(reading_v), plain(earlier_v)
    return Drawn(
        topic=Topic.ISOLATION,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"On {chance.choice(_VEHICLES)} the maker's values for dead are {dead_dc_v} V DC and {dead_ac_v} V AC. At"
            f" the inverter {pair} read {before} V AC, and {minutes} min later {now} V AC. The tester is proved on AC."
        ),
        stem="What follows from these two readings?",
        options=by_verdict(chance, verdict, _ac_choices(answer, maker, now, before)),
        sources=(MAKER, "UN R100 section 2 (30 V AC is where voltage class B begins)", PRACTICE),
        picture=picture(
            124, [*meter(20, 8, [f"{before} V AC", f"{now} V AC"]), line(130, 50, 220, 50), text(270, 54, pair)]
        ),
        picture_text=f"A meter on {pair}: first {before} V AC, then {now} V AC.",
    )


def _ac_readings(chance: random.Random, dead_v: int) -> tuple[float, float]:
    """A reading and the one before it, for one of the four answers."""
    kind = chance.choice(("dead", "falling", "falling", "steady", "live"))
    if kind == "dead":
        reading_v = round(dead_v * chance.uniform(0.1, 1.0), 1)
        return reading_v, round(reading_v + chance.uniform(0.5, 6), 1)
    if kind == "live":  # over 30 V AC and mostly under 60 V, so that the DC figure misleads
        reading_v = float(chance.randint(32, 58))
        return reading_v, reading_v + chance.randint(3, 40)
    reading_v = float(chance.randint(dead_v + 2, 28))
    return reading_v, reading_v + (chance.randint(3, 20) if kind == "falling" else 0)


def _ac_choices(answer: Reading, maker: MakerDead, now: str, before: str) -> dict[str, Choice]:
    dead_ac, dead_dc = plain(maker.of("AC")), plain(maker.of("DC"))
    told = f"{now} V AC is {'at or under' if answer is Reading.DEAD else 'over'} the AC value of {dead_ac} V"
    wait = {
        Reading.DEAD: f"{told}: there is nothing to wait for.",
        Reading.WAIT: f"{told} but falls from {before} V; measure until it is under.",
        Reading.NOT_FALLING: f"{told} and does not fall from {before} V: something turns or feeds it.",
        Reading.LIVE: f"{told}. Class B begins above 30 V AC, so this is live, falling or not.",
    }[answer]
    stop = {
        Reading.DEAD: f"{told}, so go on to the next pair.",
        Reading.WAIT: f"{told} and still falls, from {before} V; waiting and measuring come first.",
        Reading.NOT_FALLING: f"{told}, and time will not make it dead: it stays at {now} V.",
        Reading.LIVE: f"{told} and over 30 V AC: live, whatever the 60 V for DC say. Back off and ask.",
    }[answer]
    return {
        "dead": Choice(
            "This pair is dead; go on", f"{told}; the {dead_dc} V are for DC. It holds for this pair alone."
        ),
        "wait": Choice("Wait, then measure again", wait),
        "stop": Choice("Stop, keep away and ask", stop),
    }
