"""Questions on lifting: what a pad carries, whether the arms bear the job as it will be left, and the lift table."""

from __future__ import annotations

import random

from training.core.questions.drawing import arrow, box, circle, line, measure, picture, text
from training.core.questions.kinds import Consequence, Kind, NumberAnswer, Topic
from training.core.questions.variants.drawn import MAKER, PRACTICE, Choice, DrawFailed, Drawn, by_verdict, figure
from training.core.trade import lifting, tables
from training.core.trade.lifting import Load, PadLoads, Pads

_VEHICLES = ("An electric delivery van", "A large electric car", "An electric pickup", "An electric estate car")
# Further from a limit than anybody's rounding.
_MARGIN_KG = 12.0
_TRIES = 2000


def rear_pad_load(chance: random.Random) -> Drawn:
    """What one rear pad carries."""
    load = Load(chance.randrange(1700, 2901, 50), chance.randrange(135, 166) / 100)
    pads = Pads(chance.choice((0.45, 0.5, 0.55)), chance.choice((2.2, 2.3, 2.4)))
    rear_kg = lifting.pad_loads(load, pads).rear_left_kg
    pair_kg = 2 * rear_kg
    return Drawn(
        topic=Topic.LIFTING,
        kind=Kind.WORK_OUT,
        consequence=Consequence.INJURY,
        situation=_on_pads(chance.choice(_VEHICLES), load, pads) + " Left and right carry the same.",
        stem="How many kg does one rear pad carry?",
        number=NumberAnswer(
            value=round(rear_kg, 1),
            unit="kg",
            tolerance=5.0,
            reason=(
                f"The rear pair carries {figure(load.mass_kg)} x ({load.at_m:.2f} - {pads.front_m:.2f}) /"
                f" ({pads.rear_m:.2f} - {pads.front_m:.2f}) = {figure(pair_kg, 1)} kg, one pad half of it:"
                f" {figure(rear_kg, 1)} kg."
            ),
        ),
        sources=("statics: moments about the front pads", PRACTICE),
        picture=_side_view(load, pads),
        picture_text=_side_text(load, pads),
    )


def arm_verdict(chance: random.Random) -> Drawn:
    """Whether a two-post lift bears the vehicle, and still does when the heavy part is off."""
    wanted = chance.choice(("lift", "over", "tips"))
    for _ in range(_TRIES):
        rated_kg, load, pads, part, part_name = _lift_job(chance, wanted)
        stages = lifting.loads_as_parts_come_off(load, (part,), pads)
        arm_kg = lifting.arm_limit_kg(rated_kg)
        if load.mass_kg <= rated_kg and _clear_of_limits(stages, arm_kg) and _arm_answer(stages, arm_kg) == wanted:
            break
    else:
        raise DrawFailed(f"No lift job found for the answer {wanted}")
    return Drawn(
        topic=Topic.LIFTING,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"{_on_pads(chance.choice(_VEHICLES), load, pads)} The two-post lift is rated {figure(rated_kg)} kg, the"
            f" arms alike. The job takes off the {part_name}: {figure(part.mass_kg)} kg, {part.at_m:.2f} m behind that"
            " axle."
        ),
        stem="What do the pad loads say about this job?",
        options=by_verdict(chance, wanted, _arm_choices(stages, arm_kg)),
        sources=("statics: moments about the pads", "lift maker: rated capacity over four arms", MAKER),
        picture=_side_view(load, pads, part),
        picture_text=f"{_side_text(load, pads)} The {part_name} sits {part.at_m:.2f} m behind the front axle.",
    )


_PARTS = (
    ("front drive unit", (150, 240), (0.0, 0.1)),
    ("rear drive unit", (130, 240), (2.8, 2.9)),
    ("pack", (420, 620), (1.4, 1.45, 1.5)),
)


def _lift_job(chance: random.Random, wanted: str) -> tuple[int, Load, Pads, Load, str]:
    """A lift's rating, a vehicle on its pads, and the part to come off; to tip, it needs short arms behind."""
    tips = wanted == "tips"
    load = Load(chance.randrange(1900, 3301, 50), chance.randrange(165 if tips else 130, 191) / 100)
    rear_m = chance.choice((1.9, 2.0)) if tips else chance.choice((1.9, 2.0, 2.2, 2.3, 2.4))
    pads = Pads(chance.choice((0.45, 0.5, 0.6, 0.8)), rear_m)
    part_name, masses, places = _PARTS[0] if tips else chance.choice(_PARTS)
    part = Load(chance.randrange(masses[0], masses[1] + 1, 10), chance.choice(places))
    return chance.choice((3000, 3200, 3500, 4000)), load, pads, part, part_name


def _arm_answer(stages: tuple[PadLoads, ...], arm_kg: float) -> str:
    if lifting.pads_within_arms(stages, arm_kg):
        return "lift"
    if any(stage.tips for stage in stages):
        return "tips"
    return "over"


def _clear_of_limits(stages: tuple[PadLoads, ...], arm_kg: float) -> bool:
    """Whether no pad is so near a limit that rounding decides, and only one thing is wrong."""
    loads = [load_kg for stage in stages for load_kg in stage.each_kg]
    clear = all(min(abs(load_kg), abs(load_kg - arm_kg)) > _MARGIN_KG for load_kg in loads)
    return clear and not (max(loads) > arm_kg and min(loads) <= 0)


def _arm_choices(stages: tuple[PadLoads, ...], arm_kg: float) -> dict[str, Choice]:
    heaviest = max(max(stage.each_kg) for stage in stages)
    lightest = min(min(stage.each_kg) for stage in stages)
    limit = f"one arm bears {figure(arm_kg)} kg"
    over = f"The heaviest pad carries {figure(heaviest, 1)} kg and {limit}."
    tips = (
        f"The lightest pad ends at {figure(lightest, 1)} kg: below zero the vehicle tips off."
        if lightest <= 0
        else f"The lightest pad keeps {figure(lightest, 1)} kg, so the centre of gravity stays between the pads."
    )
    return {
        "lift": Choice("The arms bear it at every stage", f"{over} {tips} The rating of the whole lift is not enough."),
        "over": Choice("A pad is over its arm's limit", over),
        "tips": Choice("It tips when the part comes off", tips),
    }


def _on_pads(vehicle: str, load: Load, pads: Pads) -> str:
    return (
        f"{vehicle} weighs {figure(load.mass_kg)} kg. Its centre of gravity lies {load.at_m:.2f} m behind the front"
        f" axle, the pads {pads.front_m:.2f} m and {pads.rear_m:.2f} m."
    )


def _side_view(load: Load, pads: Pads, part: Load | None = None) -> str:
    def across(at_m: float) -> float:
        return 50 + 80 * at_m

    shapes = [line(20, 50, 325, 50), circle(across(0), 58, 16), circle(across(2.9), 58, 16), box(34, 22, 272, 28)]
    for at_m, words in ((pads.front_m, "pad"), (pads.rear_m, "pad")):
        shapes += [arrow(across(at_m), 96, across(at_m), 54), text(across(at_m), 110, f"{words} {at_m:.2f} m")]
    shapes += [arrow(across(load.at_m), 8, across(load.at_m), 46), text(across(load.at_m) + 6, 18, "G", anchor="start")]
    if part is not None:
        shapes.append(box(across(part.at_m) - 16, 30, 32, 14))
    return picture(120, shapes)


def _side_text(load: Load, pads: Pads) -> str:
    return (
        f"A vehicle from the side: G {load.at_m:.2f} m behind the front axle, pads at {pads.front_m:.2f} m and"
        f" {pads.rear_m:.2f} m."
    )


def lift_table_verdict(chance: random.Random) -> Drawn:
    """Whether a pack may stand on a lift table: rating with fixture, and how far off centre."""
    wanted = chance.choice(("stand", "rating", "centre"))
    pack_kg, fixture_kg = chance.randrange(380, 761, 10), chance.randrange(25, 61, 5)
    spare_kg = -chance.randrange(5, fixture_kg, 5) if wanted == "rating" else chance.randrange(40, 241, 20)
    rated_kg = pack_kg + fixture_kg + spare_kg
    offset_mm = chance.randrange(130, 261, 10) if wanted == "centre" else chance.randrange(20, 91, 10)
    loaded = tables.LoadedTable(
        table_kg=chance.randrange(220, 361, 20),
        load_kg=pack_kg + fixture_kg,
        offset_m=offset_mm / 1000,
        half_base_m=chance.choice((0.4, 0.45, 0.5)),
    )
    verdict = _table_answer(rated_kg, pack_kg, fixture_kg, loaded)
    return Drawn(
        topic=Topic.BATTERY,
        kind=Kind.PICK_ONE,
        consequence=Consequence.LIFE,
        situation=(
            f"A pack of {figure(pack_kg)} kg lies on a fixture of {fixture_kg} kg. The lift table is rated"
            f" {figure(rated_kg)} kg and has no load chart. The pack's centre of gravity is {offset_mm} mm off"
            f" the table's centre; half the base is {loaded.half_base_m * 1000:.0f} mm, the table weighs"
            f" {loaded.table_kg:.0f} kg."
        ),
        stem="What do you say before it takes the weight?",
        options=by_verdict(chance, verdict, _table_choices(rated_kg, pack_kg, fixture_kg, loaded)),
        sources=("the table maker's load chart", "statics", PRACTICE),
        picture=_table_view(offset_mm, loaded.half_base_m * 1000),
        picture_text=f"A lift table from the side, the pack's centre of gravity {offset_mm} mm off its centre.",
    )


def _table_answer(rated_kg: float, pack_kg: float, fixture_kg: float, loaded: tables.LoadedTable) -> str:
    if not tables.rating_covers(rated_kg, pack_kg, fixture_kg):
        return "rating"
    return "centre" if tables.not_steady(loaded, inside_chart=None) else "stand"


def _table_choices(rated_kg: float, pack_kg: float, fixture_kg: float, loaded: tables.LoadedTable) -> dict[str, Choice]:
    both = f"Pack and fixture are {figure(pack_kg + fixture_kg)} kg on a table for {figure(rated_kg)} kg."
    off_mm = loaded.offset_m * 1000
    bare_mm = tables.tipping_offset_m(loaded.table_kg, loaded.load_kg, loaded.half_base_m) * 1000
    centre = f"Without a chart at most 100 mm off centre will do; this pack is {off_mm:.0f} mm off."
    return {
        "stand": Choice(
            "Rating and centre are both right",
            f"{both} {centre} The bare balance of {bare_mm:.0f} mm is no limit: a push comes on top.",
        ),
        "rating": Choice("The table is rated too low", both),
        "centre": Choice("The pack is too far off centre", centre),
    }


def _table_view(offset_mm: float, half_base_mm: float) -> str:
    base_px = half_base_mm * 0.2
    shift_px = offset_mm * 0.2
    shapes = [box(170 - base_px, 100, 2 * base_px, 10), line(170, 60, 170, 100, dashed=True), line(90, 60, 250, 60)]
    shapes += [box(80 + shift_px, 34, 180, 24), arrow(170 + shift_px, 10, 170 + shift_px, 44)]
    return picture(135, [*shapes, measure(170, 170 + shift_px, 80, ""), text(250, 84, f"{offset_mm:.0f} mm off")])
