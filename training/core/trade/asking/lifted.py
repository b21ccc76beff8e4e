"""Asking about lifting: what each pad carries as the job goes on, and whether a lift table stands firm under a pack."""

from __future__ import annotations

from datetime import date
from typing import Any, Final

from training.core.trade import lifting, limits, tables
from training.core.trade.asking.answer import Answer, Gives, Kind, against
from training.core.trade.asking.fields import Values, amount, objects, or_null, otherwise, spare, yes_no
from training.core.trade.fitness import Job, Lift, LiftTable
from training.core.trade.fitness.lifts import load_reasons, steadiness_reasons, table_rating_reasons
from training.core.trade.lifting import Load, PadLoads, Pads

_STATICS: Final = "statics: moments about the pad lines"
_NO_DAY: Final = date.min  # the load rules look at no day


# ---------------------------------------------------------------- pads of a two-post lift
def _pads(values: Values) -> Answer:
    job = _lifting_job(values)
    lift = Lift(rated_kg=values["rated_kg"], arm_kg=values["arm_kg"])
    reasons = tuple(load_reasons(lift, job, _NO_DAY))
    vehicle = _vehicle(values)
    stages = lifting.loads_as_parts_come_off(vehicle, job.parts_off, _positions(values), job.left_offset_m)
    return Answer(
        ok=not reasons,
        verdict="do not lift it so" if reasons else "every arm bears its pad at every stage",
        figures={
            "centre_of_gravity_m": vehicle.at_m,
            "arm_limit_kg": lifting.arm_limit_kg(values["rated_kg"], values["arm_kg"]),
            "heaviest_pad_kg": max(max(stage.each_kg) for stage in stages),
            "half_the_heavier_axle_kg": max(values["mass_kg"] - values["rear_axle_kg"], values["rear_axle_kg"]) / 2,
            "pads_kg": [_stage(stage, number) for number, stage in enumerate(stages)],
        },
        reasons=against("lift", reasons),
        sources=(_STATICS, limits.ARMS.cite),
        not_judged=(
            "the maker's lifting points and pack edges, straps before a heavy part comes off, arm locks, examination",
        ),
    )


def _vehicle(values: Values) -> Load:
    at_m = lifting.centre_of_gravity_m(values["rear_axle_kg"], values["mass_kg"], values["wheelbase_m"])
    return Load(values["mass_kg"], at_m)


def _positions(values: Values) -> Pads:
    return Pads(values["front_pads_m"], values["rear_pads_m"], values["track_m"])


def _lifting_job(values: Values) -> Job:
    return Job(
        mass_kg=values["mass_kg"],
        rear_axle_kg=values["rear_axle_kg"],
        wheelbase_m=values["wheelbase_m"],
        pads=_positions(values),
        left_offset_m=values["left_offset_m"],
        parts_off=tuple(Load(part["mass_kg"], part["at_m"]) for part in values["parts_off"]),
    )


def _stage(stage: PadLoads, parts_off: int) -> dict[str, Any]:
    return {
        "parts_off": parts_off,
        "front_left": stage.front_left_kg,
        "front_right": stage.front_right_kg,
        "rear_left": stage.rear_left_kg,
        "rear_right": stage.rear_right_kg,
        "tips": stage.tips,
    }


PADS: Final = Kind(
    name="pads",
    asks="What does each pad of a two-post lift carry as the job goes on, and do the arms bear it?",
    takes=(
        amount("mass_kg", "kg", "this vehicle with what is in it"),
        amount("rear_axle_kg", "kg", "rear axle load"),
        amount("wheelbase_m", "m", "wheelbase"),
        amount("front_pads_m", "m", "front pads behind the front axle", "any"),
        amount("rear_pads_m", "m", "rear pads behind the front axle", "any"),
        amount("rated_kg", "kg", "the lift's rating"),
        spare(amount("arm_kg", "kg", "the arm's own plate"), "a quarter of the lift's rating"),
        spare(amount("track_m", "m", "left pads to right pads"), "only needed with a lateral offset"),
        otherwise(amount("left_offset_m", "m", "centre of gravity to the left of the middle", "any"), 0.0),
        otherwise(
            objects(
                "parts_off",
                (
                    amount("mass_kg", "kg", "heavy part"),
                    amount("at_m", "m", "its centre of gravity behind the front axle", "any"),
                ),
                "heavy parts in the order in which they come off",
            ),
            (),
        ),
    ),
    gives=(
        Gives("centre_of_gravity_m", "m", "behind the front axle"),
        Gives("arm_limit_kg", "kg", "what one arm bears"),
        Gives("heaviest_pad_kg", "kg", "the heaviest pad at any stage"),
        Gives("half_the_heavier_axle_kg", "kg", "extra screen only: a pad may carry more than this"),
        Gives("pads_kg", "kg", "each pad before the job and after each part"),
    ),
    verdict_name="ok",
    example="""{"mass_kg": 2200, "rear_axle_kg": 1144, "wheelbase_m": 2.9, "front_pads_m": 0.5, "rear_pads_m": 2.25,
        "rated_kg": 2400, "parts_off": [{"mass_kg": 420, "at_m": 1.4}]}""",
    answer=_pads,
)


# ---------------------------------------------------------------- lift table
def _table(values: Values) -> Answer:
    offset_m = values["offset_mm"] / 1000
    job = Job(
        pack_kg=values["pack_kg"],
        fixture_kg=values["fixture_kg"],
        pack_offset_m=offset_m,
        inside_table_chart=values["inside_chart"],
    )
    kit = LiftTable(rated_kg=values["rated_kg"], table_kg=values["table_kg"], half_base_m=values["half_base_m"])
    reasons = (*table_rating_reasons(kit, job, _NO_DAY), *steadiness_reasons(kit, job, _NO_DAY))
    loaded = tables.LoadedTable(
        table_kg=values["table_kg"], load_kg=values["pack_kg"], offset_m=offset_m, half_base_m=values["half_base_m"]
    )
    bare_m = tables.tipping_offset_m(loaded.table_kg, loaded.load_kg, loaded.half_base_m)
    push_n, height_m = limits.TABLE_PUSH_N, limits.TABLE_PUSH_HEIGHT_M
    return Answer(
        ok=not reasons,
        verdict="not on this table, not so" if reasons else "it bears the pack and one push does not tip it",
        figures={
            "combined_offset_m": loaded.combined_offset_m,
            "restoring_nm": loaded.restoring_nm,
            "push_nm": tables.push_moment_nm(push_n.value, height_m.value),
            "times_the_push": loaded.steadiness(push_n.value, height_m.value),
            "bare_equilibrium_mm": 1000 * bare_m,
        },
        reasons=against("table", reasons),
        sources=("the table maker's load chart", limits.TABLE_CENTRE_MM.cite, limits.TABLE_PUSH_MARGIN.cite),
        not_judged=("pads that lift off while the table takes the weight: the second person watches them",),
    )


TABLE: Final = Kind(
    name="table",
    asks="Does this lift table bear the pack and stand firm?",
    takes=(
        amount("rated_kg", "kg", "the table's rating"),
        amount("table_kg", "kg", "the table's own mass"),
        amount("half_base_m", "m", "half its base on the narrow side"),
        amount("pack_kg", "kg", "the pack"),
        amount("fixture_kg", "kg", "fixture and adapters; 0 when there are none", "0 or more"),
        amount("offset_mm", "mm", "the pack's centre of gravity from the table's centre", "any"),
        or_null(yes_no("inside_chart", "inside the table maker's load chart; null: there is no chart")),
    ),
    gives=(
        Gives("combined_offset_m", "m", "centre of gravity of table and pack together, off centre"),
        Gives("restoring_nm", "N m", "moment that holds it up"),
        Gives("push_nm", "N m", "moment of one person's push"),
        Gives("times_the_push", "times", "restoring moment over push; at least twice is asked for"),
        Gives("bare_equilibrium_mm", "mm", "offset at which it tips by itself: for teaching, no limit to work by"),
    ),
    verdict_name="ok",
    example="""{"rated_kg": 800, "table_kg": 150, "half_base_m": 0.4, "pack_kg": 480, "fixture_kg": 40,
        "offset_mm": 160, "inside_chart": null}""",
    answer=_table,
)
