"""Questions on pad loads: off the middle, after a part came off, and why half an axle load is no pad load."""

from __future__ import annotations

import itertools
import random

from training.core.questions.drawing import arrow, box, circle, label, line, picture, text
from training.core.questions.kinds import Consequence, Kind, NumberAnswer, Topic
from training.core.questions.variants.drawn import PRACTICE, Choice, DrawFailed, Drawn, figure, pick_one
from training.core.questions.variants.shapes import lift_plan
from training.core.trade import lifting
from training.core.trade.lifting import Load, Pads

_VEHICLES = ("An electric delivery van", "A large electric car", "An electric pickup", "An electric estate car")
_STATICS = "statics: moments about the pads"
_APART_KG = 15.0
_TRIES = 2000


def offset_pad_load(chance: random.Random) -> Drawn:
    """What the heaviest pad carries when the centre of gravity is off the middle."""
    load = Load(chance.randrange(1800, 2901, 50), chance.randrange(140, 166) / 100)
    pads = Pads(chance.choice((0.45, 0.5, 0.55)), chance.choice((2.2, 2.3, 2.4)), chance.choice((1.3, 1.4, 1.5)))
    off_mm, side = chance.randrange(20, 71, 10), chance.choice((1, -1))
    loads = lifting.pad_loads(load, pads, side * off_mm / 1000)
    heaviest_kg, track_m = max(loads.each_kg), pads.track_m or 0.0
    pair_kg, end = max((loads.rear_kg, "rear"), (loads.front_kg, "front"))
    where = "left" if side > 0 else "right"
    return Drawn(
        topic=Topic.LIFTING,
        kind=Kind.WORK_OUT,
        consequence=Consequence.INJURY,
        situation=(
            f"{chance.choice(_VEHICLES)} weighs {figure(load.mass_kg)} kg. G lies {load.at_m:.2f} m behind the front"
            f" axle and {off_mm} mm {where} of the middle. The pads are {pads.front_m:.2f} m and {pads.rear_m:.2f} m"
            f" behind that axle, {track_m:.2f} m apart from left to right."
        ),
        stem="How many kg does the heaviest pad carry?",
        number=NumberAnswer(
            value=round(heaviest_kg, 1),
            unit="kg",
            tolerance=5.0,
            reason=(
                f"The {end} pair carries {figure(pair_kg, 1)} kg. Of it the {where} pad has 0.5 + {off_mm / 1000:.2f} /"
                f" {track_m:.2f} = {0.5 + off_mm / 1000 / track_m:.3f}: {figure(heaviest_kg, 1)} kg."
            ),
        ),
        sources=(_STATICS, PRACTICE),
        picture=lift_plan(load.at_m, pads.front_m, pads.rear_m, side * off_mm),
        picture_text=f"A vehicle on four pads from above; G is {off_mm} mm {where} of the middle.",
    )


_PARTS = (
    ("pack", (400, 620), (140, 156)),
    ("rear drive unit", (110, 220), (275, 296)),
    ("front motor", (90, 200), (0, 16)),
)


def part_off_centre(chance: random.Random) -> Drawn:
    """Where the centre of gravity lies once a heavy part is off."""
    load = Load(chance.randrange(1900, 2901, 50), chance.randrange(138, 170) / 100)
    part_name, masses, places = chance.choice(_PARTS)
    part = Load(chance.randrange(masses[0], masses[1] + 1, 10), chance.randrange(*places) / 100)
    left = load.without(part)
    way = "rearwards" if left.at_m > load.at_m else "forwards" if left.at_m < load.at_m else "nowhere"
    return Drawn(
        topic=Topic.LIFTING,
        kind=Kind.WORK_OUT,
        consequence=Consequence.INJURY,
        situation=(
            f"{chance.choice(_VEHICLES)} of {figure(load.mass_kg)} kg is on the lift. G lies {load.at_m:.2f} m behind"
            f" the front axle. Off comes the {part_name}: {figure(part.mass_kg)} kg, {part.at_m:.2f} m behind that"
            " axle."
        ),
        stem="How many m behind the front axle does G lie then?",
        number=NumberAnswer(
            value=round(left.at_m, 3),
            unit="m",
            tolerance=0.02,
            reason=(
                f"({figure(load.mass_kg)} x {load.at_m:.2f} - {figure(part.mass_kg)} x {part.at_m:.2f}) /"
                f" {figure(left.mass_kg)} = {left.at_m:.3f} m: it moves {way}. Check that it stays between the pads,"
                " and strap the vehicle before the first bolt."
            ),
        ),
        sources=(_STATICS, PRACTICE),
        picture=_from_the_side(load, part),
        picture_text=(
            f"A vehicle from the side: G {load.at_m:.2f} m and the {part_name} {part.at_m:.2f} m behind the front axle."
        ),
    )


def _from_the_side(load: Load, part: Load) -> str:
    def across(metres: float) -> float:
        return 50 + 80 * metres

    body = [line(20, 56, 325, 56), circle(across(0), 64, 16), circle(across(2.9), 64, 16), box(34, 28, 272, 28)]
    marks = [arrow(across(load.at_m), 8, across(load.at_m), 50), text(across(load.at_m) + 6, 20, "G", anchor="start")]
    off = [box(across(part.at_m) - 16, 84, 32, 16), text(across(part.at_m) + 20, 97, "off", anchor="start")]
    return picture(106, [*body, *marks, *off])


def heaviest_pad(chance: random.Random) -> Drawn:
    """What the heaviest pad carries, from the axle loads; half of the axle load is the usual mistake."""
    for _ in range(_TRIES):
        front_kg, rear_kg = (chance.randrange(820, 1441, 10) for _ in range(2))
        wheelbase_m, pads = chance.choice((2.7, 2.8, 2.9)), Pads(chance.choice((0.5, 0.6)), chance.choice((2.2, 2.3)))
        loads = _pads_of(front_kg, rear_kg, wheelbase_m, pads)
        figures = [max(loads), (front_kg + rear_kg) / 4, max(front_kg, rear_kg) / 2, max(front_kg, rear_kg)]
        if min(loads) > 0 and _apart(figures):
            break
    else:
        raise DrawFailed("No vehicle found whose heaviest pad differs from half its axle load")
    heaviest_kg, quarter_kg, half_kg, axle_kg = figures
    at_m = lifting.centre_of_gravity_m(rear_kg, front_kg + rear_kg, wheelbase_m)
    also = chance.choice(
        (
            Choice(
                f"{figure(quarter_kg)} kg",
                "A quarter each would ask for G midway between the pads, and it is not there.",
            ),
            Choice(f"{figure(axle_kg)} kg", "That is what a whole axle carries, on two wheels."),
        )
    )
    half = Choice(
        f"{figure(half_kg)} kg", "Half the axle load is what a wheel carries; the pads stand inboard of the wheels."
    )
    worked = (
        f"G lies {at_m:.2f} m behind the front axle. By moments about the pads the heaviest one carries"
        f" {heaviest_kg:.0f} kg; hold that against the arm's plate."
    )
    return Drawn(
        topic=Topic.LIFTING,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"{chance.choice(_VEHICLES)} has {figure(front_kg)} kg on the front axle and {figure(rear_kg)} kg on the"
            f" rear one, {wheelbase_m:.2f} m apart. The pads stand {pads.front_m:.2f} m and {pads.rear_m:.2f} m behind"
            " the front axle. Left and right carry the same."
        ),
        stem="How much does the heaviest pad carry?",
        options=pick_one(chance, Choice(f"{figure(heaviest_kg)} kg", worked), [half, also]),
        sources=(_STATICS, "lift maker: half an axle load as a screen alone", PRACTICE),
        picture=_on_axles(front_kg, rear_kg, pads, wheelbase_m),
        picture_text=f"A vehicle: {figure(front_kg)} kg in front, {figure(rear_kg)} kg behind, pads inboard.",
    )


def _apart(figures: list[float]) -> bool:
    """Whether no two of these are so near that rounding decides between them."""
    return min(high - low for low, high in itertools.pairwise(sorted(figures))) > _APART_KG


def _pads_of(front_kg: float, rear_kg: float, wheelbase_m: float, pads: Pads) -> tuple[float, float, float, float]:
    total_kg = front_kg + rear_kg
    at_m = lifting.centre_of_gravity_m(rear_kg, total_kg, wheelbase_m)
    return lifting.pad_loads(Load(total_kg, at_m), pads).each_kg


def _on_axles(front_kg: int, rear_kg: int, pads: Pads, wheelbase_m: float) -> str:
    def across(metres: float) -> float:
        return 60 + 76 * metres

    wheels = [circle(across(place), 60, 16) for place in (0, wheelbase_m)]
    weights = [label(across(0) - 45, 84, 90, [f"{figure(front_kg)} kg"])]
    weights += [label(across(wheelbase_m) - 45, 84, 90, [f"{figure(rear_kg)} kg"])]
    arms = [arrow(across(place), 80, across(place), 54) for place in (pads.front_m, pads.rear_m)]
    return picture(116, [box(44, 22, 250, 28), *wheels, *weights, *arms])
