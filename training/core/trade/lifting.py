"""Vehicle lifts: what each pad carries, what a heavy part taken off does to it, and whether the arms bear it.

The verdict is the pad statics. Half the axle load is only an extra screen: pads sit inboard of the wheels, so a pad
may carry more than half its axle. x is metres behind the front axle; the lateral offset is metres to the left.
"""

from __future__ import annotations

from dataclasses import dataclass

from training.core.trade import limits
from training.core.trade.checks import not_negative, number, positive
from training.core.trade.errors import OutOfRange


@dataclass(frozen=True, slots=True)
class Load:
    """A mass (kg) and where its centre of gravity lies (m behind the front axle)."""

    mass_kg: float
    at_m: float

    def without(self, part: Load) -> Load:
        """What is left when ``part`` comes off: x' = (W x - m xm) / (W - m)."""
        left_kg = positive(self.mass_kg, "the mass", "kg") - positive(part.mass_kg, "the part's mass", "kg")
        if left_kg <= 0:
            raise OutOfRange(f"A part of {part.mass_kg:g} kg leaves nothing of {self.mass_kg:g} kg", "Check the masses")
        return Load(left_kg, (self.mass_kg * self.at_m - part.mass_kg * part.at_m) / left_kg)


@dataclass(frozen=True, slots=True)
class Pads:
    """Where the pads stand: front and rear lines (m behind the front axle), and the track between left and right."""

    front_m: float
    rear_m: float
    track_m: float | None = None


@dataclass(frozen=True, slots=True)
class PadLoads:
    """What each pad carries, in kg. A negative load means that the vehicle tips."""

    front_left_kg: float
    front_right_kg: float
    rear_left_kg: float
    rear_right_kg: float

    @property
    def each_kg(self) -> tuple[float, float, float, float]:
        """Front left, front right, rear left, rear right."""
        return self.front_left_kg, self.front_right_kg, self.rear_left_kg, self.rear_right_kg

    @property
    def front_kg(self) -> float:
        """The front pair together."""
        return self.front_left_kg + self.front_right_kg

    @property
    def rear_kg(self) -> float:
        """The rear pair together."""
        return self.rear_left_kg + self.rear_right_kg

    @property
    def tips(self) -> bool:
        """Whether any pad carries nothing or less: the centre of gravity is not inside the pads."""
        return min(self.each_kg) <= 0


def kilograms(pounds: float) -> float:
    """Pounds as kg, for plates and papers in pounds."""
    return not_negative(pounds, "the mass", "lb") * limits.KG_PER_LB.value


def centre_of_gravity_m(rear_axle_kg: float, total_kg: float, wheelbase_m: float) -> float:
    """x = rear axle load * wheelbase / total, in metres behind the front axle."""
    rear, total = positive(rear_axle_kg, "the rear axle load", "kg"), positive(total_kg, "the total mass", "kg")
    if rear >= total:
        raise OutOfRange(f"The rear axle carries {rear:g} kg of {total:g} kg", "Check the axle loads")
    return rear * positive(wheelbase_m, "the wheelbase", "m") / total


def pad_loads(load: Load, pads: Pads, left_offset_m: float = 0.0) -> PadLoads:
    """The four pad loads by statics. A lateral offset needs the pads' track."""
    mass_kg, at_m = positive(load.mass_kg, "the mass", "kg"), number(load.at_m, "the centre of gravity", "m")
    span_m = number(pads.rear_m, "the rear pads", "m") - number(pads.front_m, "the front pads", "m")
    if span_m <= 0:
        raise OutOfRange("The rear pads are not behind the front pads", "Give pad positions in m behind the front axle")
    rear_kg = mass_kg * (at_m - pads.front_m) / span_m
    front_kg = mass_kg - rear_kg
    left = 0.5 + _lateral_share(left_offset_m, pads)
    return PadLoads(front_kg * left, front_kg * (1 - left), rear_kg * left, rear_kg * (1 - left))


def loads_as_parts_come_off(
    load: Load, parts_off: tuple[Load, ...], pads: Pads, left_offset_m: float = 0.0
) -> tuple[PadLoads, ...]:
    """Pad loads before the job and after each part, in the order in which the parts come off."""
    stages = [pad_loads(load, pads, left_offset_m)]
    for part in parts_off:
        load = load.without(part)
        stages.append(pad_loads(load, pads, left_offset_m))
    return tuple(stages)


def arm_limit_kg(rated_kg: float, plate_kg: float | None = None) -> float:
    """What one arm may carry: as its plate says, else a quarter of the lift's rating."""
    if plate_kg is not None:
        return positive(plate_kg, "the arm's plate", "kg")
    return positive(rated_kg, "the lift's rating", "kg") / limits.ARMS.value


def axles_within_arms(front_axle_kg: float, rear_axle_kg: float, arm_kg: float) -> bool:
    """The extra screen: half of each axle load within one arm's limit. Never a yes on its own."""
    heavier = max(
        positive(front_axle_kg, "the front axle load", "kg"), positive(rear_axle_kg, "the rear axle load", "kg")
    )
    return heavier / 2 <= positive(arm_kg, "the arm's limit", "kg")


def pads_within_arms(stages: tuple[PadLoads, ...], arm_kg: float) -> bool:
    """Whether at every stage no pad tips and none is loaded beyond one arm's limit."""
    limit_kg = positive(arm_kg, "the arm's limit", "kg")
    return all(not stage.tips and max(stage.each_kg) <= limit_kg for stage in stages)


def _lateral_share(left_offset_m: float, pads: Pads) -> float:
    if number(left_offset_m, "the lateral offset", "m") == 0:
        return 0.0
    if pads.track_m is None:
        raise OutOfRange(
            "A lateral offset without the pads' track", "Give the distance between left and right pads in m"
        )
    return left_offset_m / positive(pads.track_m, "the pads' track", "m")
