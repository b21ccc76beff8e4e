"""Pad loads against the worked vectors, and against three equations solved by numpy."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from training.core.trade import lifting
from training.core.trade.errors import BadInput
from training.core.trade.lifting import Load, Pads

PADS = Pads(0.45, 2.30, 1.5)
CAR = Load(2200, 1.508)
PACK, REAR_DRIVE, FRONT_DRIVE = Load(480, 1.45), Load(130, 2.90), Load(180, 0.0)

VECTORS = [
    # trade-facts section 6, pad vectors: load, pads, left offset, front, rear, FL, FR, RL, RR
    (CAR, PADS, 0.0, 941.84, 1258.16, 470.92, 470.92, 629.08, 629.08, "1"),
    (CAR, PADS, 0.03, 941.84, 1258.16, 489.76, 452.08, 654.24, 603.92, "2 lateral offset"),
    (CAR.without(PACK), PADS, 0.0, 721.30, 998.70, 360.65, 360.65, 499.35, 499.35, "3 pack off"),
    (CAR.without(PACK).without(REAR_DRIVE), PADS, 0.0, 763.46, 826.54, 381.73, 381.73, 413.27, 413.27, "4 drive off"),
    (CAR.without(PACK).without(FRONT_DRIVE), PADS, 0.0, 497.51, 1042.49, 248.76, 248.76, 521.24, 521.24, "5"),
    (Load(3000, 1.55), Pads(0.5, 2.4), 0.0, 1342.11, 1657.89, 671.05, 671.05, 828.95, 828.95, "6"),
    (Load(2500, 2.45), Pads(0.5, 2.3), 0.0, -208.33, 2708.33, -104.17, -104.17, 1354.17, 1354.17, "7 tips"),
]


@pytest.mark.parametrize("row", VECTORS, ids=[f"vector {row[-1]}" for row in VECTORS])
def test_the_pad_vectors_come_out(row: tuple) -> None:  # type: ignore[type-arg]
    load, pads, offset, front, rear, *each, _ = row
    loads = lifting.pad_loads(load, pads, offset)
    assert (loads.front_kg, loads.rear_kg) == pytest.approx((front, rear), abs=0.006)
    assert loads.each_kg == pytest.approx(tuple(each), abs=0.011)


@pytest.mark.parametrize(
    ("load", "parts", "mass_kg", "at_m"),
    [(CAR, [PACK], 1720, 1.52419), (CAR, [PACK, REAR_DRIVE], 1590, 1.41170), (CAR, [PACK, FRONT_DRIVE], 1540, 1.70234)],
    ids=["vector 3", "vector 4", "vector 5"],
)
def test_a_part_taken_off_moves_the_centre_of_gravity(
    load: Load, parts: list[Load], mass_kg: float, at_m: float
) -> None:
    for part in parts:
        load = load.without(part)
    assert (load.mass_kg, load.at_m) == pytest.approx((mass_kg, at_m), abs=5e-6)


def test_the_centre_of_gravity_follows_from_the_axles() -> None:
    assert lifting.centre_of_gravity_m(1144, 2200, 2.9) == pytest.approx(1.508)  # L13


def test_a_centre_of_gravity_behind_the_pads_tips() -> None:
    tipping = lifting.pad_loads(Load(2500, 2.45), Pads(0.5, 2.3))  # L15, vector 7
    assert tipping.tips
    assert not lifting.pads_within_arms((tipping,), 5000)


@pytest.mark.parametrize(("rated_kg", "expected"), [(3500, True), (3200, False)])  # vector 6: 875 and 800 kg an arm
def test_the_arms_decide_by_the_heaviest_pad(rated_kg: float, expected: bool) -> None:
    loads = lifting.pad_loads(Load(3000, 1.55), Pads(0.5, 2.4))
    assert lifting.pads_within_arms((loads,), lifting.arm_limit_kg(rated_kg)) is expected


def test_the_axle_rule_alone_would_pass_an_overloaded_arm() -> None:
    # C9: half the rear axle is 572 kg, the rear pad carries 629 kg, on arms of 600 kg
    assert lifting.axles_within_arms(1056, 1144, 600)
    assert not lifting.pads_within_arms((lifting.pad_loads(CAR, PADS),), 600)


def test_the_axle_rule_in_pounds_comes_out_as_published() -> None:
    arm_kg = lifting.arm_limit_kg(lifting.kilograms(10_000))  # L11, L12: 2500 lb an arm
    assert arm_kg == pytest.approx(lifting.kilograms(2500))
    assert not lifting.axles_within_arms(lifting.kilograms(3000), lifting.kilograms(6000), arm_kg)
    wider_kg = lifting.arm_limit_kg(lifting.kilograms(12_000))
    assert lifting.axles_within_arms(lifting.kilograms(3000), lifting.kilograms(6000), wider_kg)


def test_pounds_are_the_international_pound() -> None:
    assert lifting.kilograms(9063) == pytest.approx(4110.9, abs=0.05)  # L23


def test_the_arms_own_plate_stands_above_a_quarter_of_the_rating() -> None:
    assert lifting.arm_limit_kg(4000, plate_kg=800) == 800


def test_every_stage_of_the_job_is_judged() -> None:
    stages = lifting.loads_as_parts_come_off(CAR, (PACK, FRONT_DRIVE), PADS)
    assert [round(stage.front_kg + stage.rear_kg) for stage in stages] == [2200, 1720, 1540]
    assert lifting.pads_within_arms(stages, 630)
    assert not lifting.pads_within_arms(stages, 629)  # the first stage is the heaviest


MASS, PLACE = st.floats(500, 5000), st.floats(0.6, 2.2)
OFFSET = st.floats(-0.2, 0.2)


@given(MASS, PLACE, OFFSET)
def test_the_pads_carry_the_mass_and_hold_every_moment(mass_kg: float, at_m: float, offset_m: float) -> None:
    loads = lifting.pad_loads(Load(mass_kg, at_m), PADS, offset_m)
    assert sum(loads.each_kg) == pytest.approx(mass_kg)
    assert PADS.front_m * loads.front_kg + PADS.rear_m * loads.rear_kg == pytest.approx(mass_kg * at_m)
    left_kg, right_kg = loads.front_left_kg + loads.rear_left_kg, loads.front_right_kg + loads.rear_right_kg
    assert (left_kg - right_kg) * 1.5 / 2 == pytest.approx(mass_kg * offset_m, abs=1e-6)


@given(MASS, PLACE, OFFSET)
def test_numpy_solves_the_same_loads(mass_kg: float, at_m: float, offset_m: float) -> None:
    # forces, moments about both axes, and left to right alike at both ends
    equations = np.array([[1, 1, 1, 1], [0.45, 0.45, 2.3, 2.3], [0.75, -0.75, 0.75, -0.75], [0, 0, 0, 0]], float)
    share = 0.5 + offset_m / 1.5
    equations[3] = [1 - share, -share, 0, 0]
    solved = np.linalg.solve(equations, np.array([mass_kg, mass_kg * at_m, mass_kg * offset_m, 0]))
    assert lifting.pad_loads(Load(mass_kg, at_m), PADS, offset_m).each_kg == pytest.approx(tuple(solved), abs=1e-6)


@given(MASS, PLACE, st.floats(10, 400), st.floats(0, 3))
def test_a_part_put_back_restores_the_vehicle(mass_kg: float, at_m: float, part_kg: float, part_m: float) -> None:
    left = Load(mass_kg, at_m).without(Load(part_kg, part_m))
    again_m = (left.mass_kg * left.at_m + part_kg * part_m) / (left.mass_kg + part_kg)
    assert (left.mass_kg + part_kg, again_m) == pytest.approx((mass_kg, at_m), rel=1e-9)


@given(MASS, st.floats(-1, 4))
def test_it_tips_exactly_when_the_centre_of_gravity_is_not_between_the_pads(mass_kg: float, at_m: float) -> None:
    inside = PADS.front_m < at_m < PADS.rear_m
    loads = lifting.pad_loads(Load(mass_kg, at_m), PADS)
    if abs(at_m - PADS.front_m) > 1e-9 and abs(at_m - PADS.rear_m) > 1e-9:
        assert loads.tips is not inside


@pytest.mark.parametrize(
    "call",
    [
        lambda: lifting.pad_loads(Load(0, 1.5), PADS),
        lambda: lifting.pad_loads(Load(2000, float("nan")), PADS),
        lambda: lifting.pad_loads(CAR, Pads(2.3, 0.45)),
        lambda: lifting.pad_loads(CAR, Pads(0.45, 2.3), 0.03),
        lambda: lifting.pad_loads(CAR, Pads(0.45, 2.3, 0), 0.03),
        lambda: CAR.without(Load(2200, 1)),
        lambda: CAR.without(Load(0, 1)),
        lambda: lifting.centre_of_gravity_m(2200, 2200, 2.9),
        lambda: lifting.arm_limit_kg(-1),
        lambda: lifting.kilograms(-1),
    ],
)
def test_loads_that_cannot_be_are_refused(call) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(BadInput):
        call()
