"""Lift tables under a pack: rating, how far off centre, and whether a push tips them.

Bare equilibrium (``tipping_offset_m``) is a teaching formula: long before it, one push is enough.
"""

from __future__ import annotations

from dataclasses import dataclass

from training.core.trade import limits
from training.core.trade.checks import not_negative, number, positive
from training.core.trade.reasons import Reason, because


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadedTable:
    """A table (its own mass, half its base) with a load on it whose centre of gravity is off its centre."""

    table_kg: float
    load_kg: float
    offset_m: float
    half_base_m: float

    @property
    def combined_offset_m(self) -> float:
        """x = Wl e / (Wt + Wl): where table and load together have their centre of gravity."""
        load_kg = positive(self.load_kg, "the load", "kg")
        total_kg = positive(self.table_kg, "the table's mass", "kg") + load_kg
        return load_kg * abs(number(self.offset_m, "the offset", "m")) / total_kg

    @property
    def restoring_nm(self) -> float:
        """(Wt + Wl) g (a - x) in N m about the edge; negative: it tips by itself."""
        arm_m = positive(self.half_base_m, "half the base", "m") - self.combined_offset_m
        return (self.table_kg + self.load_kg) * limits.GRAVITY_M_S2.value * arm_m

    def steadiness(self, push_n: float, height_m: float) -> float:
        """Restoring moment over the moment of a push at a height."""
        return self.restoring_nm / push_moment_nm(push_n, height_m)


def push_moment_nm(push_n: float, height_m: float) -> float:
    """F h in N m."""
    return positive(push_n, "the push", "N") * positive(height_m, "the height of the push", "m")


def tipping_offset_m(table_kg: float, load_kg: float, half_base_m: float) -> float:
    """e* = a (1 + Wt / Wl) in m: bare equilibrium, for teaching only."""
    ratio = positive(table_kg, "the table's mass", "kg") / positive(load_kg, "the load", "kg")
    return positive(half_base_m, "half the base", "m") * (1 + ratio)


def rating_covers(rated_kg: float, pack_kg: float, fixture_kg: float) -> bool:
    """Whether the table is rated for pack and fixture together."""
    load_kg = positive(pack_kg, "the pack's mass", "kg") + not_negative(fixture_kg, "the fixture's mass", "kg")
    return positive(rated_kg, "the table's rating", "kg") >= load_kg


def centred(offset_m: float) -> bool:
    """Whether the pack's centre of gravity is within 100 mm of the table's centre."""
    return abs(number(offset_m, "the offset", "m")) * 1000 <= limits.TABLE_CENTRE_MM.value


def steady_enough(loaded: LoadedTable) -> bool:
    """Whether the restoring moment is at least twice that of one person's push."""
    steadiness = loaded.steadiness(limits.TABLE_PUSH_N.value, limits.TABLE_PUSH_HEIGHT_M.value)
    return steadiness >= limits.TABLE_PUSH_MARGIN.value


def not_steady(loaded: LoadedTable, inside_chart: bool | None) -> tuple[Reason, ...]:
    """Why this load may not stand on this table; empty when it may.

    ``inside_chart`` is the table maker's own load chart: True inside, False outside, None when there is no chart; then
    the centre of gravity has to be within 100 mm. Either way a push must meet twice its moment.
    """
    reasons = []
    if inside_chart is None and not centred(loaded.offset_m):
        reasons.append(_off_centre(loaded.offset_m))
    elif inside_chart is not None and inside_chart is not True:
        reasons.append(because("outside_chart", "The load is outside the table maker's chart.", "the table's maker"))
    if not steady_enough(loaded):
        push = limits.TABLE_PUSH_MARGIN
        reasons.append(because("table_tips", "One push could tip table and pack.", push.cite))
    return tuple(reasons)


def _off_centre(offset_m: float) -> Reason:
    limit = limits.TABLE_CENTRE_MM
    text = "The pack is {offset} mm off the table's centre and there is no chart; at most {most} mm."
    return because("off_centre", text, limit.cite, offset=round(abs(offset_m) * 1000), most=limit.value)
