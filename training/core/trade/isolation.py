"""Isolating the HV system: voltage class, order of the steps, the wait, and when a point is dead.

"Dead" is judged by the vehicle maker's own value. 60 V DC and 30 V AC are where voltage class B begins and a crash
criterion; a steady reading under them means a leaking contactor, wrong points, a second source or a failed discharge.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from training.core.trade import limits
from training.core.trade.checks import not_negative, number, positive, word
from training.core.trade.errors import Contradiction, MakerValueMissing
from training.core.trade.meters import Current, Step, TestPoint, live_dead_live
from training.core.trade.reasons import Reason, because

_CLASS_B_ABOVE: Final = {"DC": limits.CLASS_B_ABOVE_DC_V, "AC": limits.CLASS_B_ABOVE_AC_V}
_CLASS_B_UP_TO: Final = {"DC": limits.CLASS_B_UP_TO_DC_V, "AC": limits.CLASS_B_UP_TO_AC_V}


class VoltageClass(StrEnum):
    """ISO 6469-3 voltage class."""

    A = "A"
    B = "B"
    BEYOND_B = "beyond B"


def voltage_class(voltage_v: float, current: Current) -> VoltageClass:
    """Class A up to and including 60 V DC / 30 V AC, class B up to and including 1500 V DC / 1000 V AC."""
    kind = word(current, "the kind of voltage", _CLASS_B_ABOVE)
    level_v = abs(number(voltage_v, "the voltage", "V"))
    if level_v <= _CLASS_B_ABOVE[kind].value:
        return VoltageClass.A
    return VoltageClass.B if level_v <= _CLASS_B_UP_TO[kind].value else VoltageClass.BEYOND_B


# ---------------------------------------------------------------- order
ISOLATION_STEPS: Final = (
    "maker's procedure open",
    "bay cordoned, second person placed",
    "charge plug out, wheels chocked",
    "fault codes and contactor-weld flag read",
    "off, all keys locked away",
    "12 V off as told",
    "gloves proved, visor on",
    "HV disconnect open, own lock on",
    "maker's wait by the clock",
    "tester proved",
    "every pair measured",
    "tester proved again",
    "outlets capped",
    "dead points named, label and record",
)

# What opens the HV circuit. A control is never the sole isolation: 29 CFR 1910.333(b)(2)(ii).
ISOLATES: Final = {
    "service plug": True,
    "HV disconnect": True,
    "interlock loop": False,
    "contactor": False,
    "key out": False,
    "12 V off": False,
}

WAKE_SOURCES: Final = (
    "keys and cards",
    "phone key and app",
    "charge plug and charge timer",
    "pre-conditioning",
    "pack conditioning",
    "12 V top-up",
    "updates",
)

_COVER_AGAIN: Final = frozenset({"pack opened", "pack connector unplugged", "second pack", "solar roof"}) | frozenset(
    {"trailer or e-axle", "fuel cell", "charge plug in"}
)


def steps_in_order(done: Sequence[str]) -> bool:
    """Whether all isolation steps were done, each once, in order."""
    return tuple(word(step, "the step", ISOLATION_STEPS) for step in done) == ISOLATION_STEPS


def rules_needed(situation: Collection[str]) -> tuple[int, ...]:
    """Which of the five rules of EN 50110-1 this vehicle job asks for: disconnect, secure, verify; and rule 5, cover,
    as soon as something near stays live. A pack can be neither earthed nor shorted, so rule 4 never comes back."""
    covers = [word(each, "the situation", _COVER_AGAIN) for each in situation]
    return (1, 2, 3, 5) if covers else (1, 2, 3)  # the rules' own numbers


def rules_in_order(done: Sequence[int], situation: Collection[str] = ()) -> bool:
    """Whether the rules asked for were followed, complete and in their order."""
    return tuple(done) == rules_needed(situation)


def isolates(means: str) -> bool:
    """Whether this opens the HV circuit for work. A key, an interlock or a contactor never does."""
    return ISOLATES[word(means, "the means", ISOLATES)]


def wake_sources_left(off: Collection[str]) -> tuple[str, ...]:
    """What can still wake the vehicle by itself."""
    switched_off = {word(source, "the wake source", WAKE_SOURCES) for source in off}
    return tuple(source for source in WAKE_SOURCES if source not in switched_off)


def keys_controlled(*, all_accounted_for: bool, locked_away: bool, held_by_the_worker: bool) -> bool:
    """All keys accounted for, locked away, and held by the person working. Distance alone controls nothing."""
    return all_accounted_for and locked_away and held_by_the_worker


# ---------------------------------------------------------------- wait
def wait_left_s(elapsed_s: float, maker_wait_s: float | None) -> float:
    """Seconds still to wait after the disconnect. MakerValueMissing without the maker's figure: no isolation job."""
    if maker_wait_s is None:
        raise MakerValueMissing(
            "There is no wait for this vehicle", "Get the maker's procedure; without it no isolation"
        )
    waited_s = not_negative(elapsed_s, "the time waited", "s")
    return max(0.0, positive(maker_wait_s, "the maker's wait", "s") - waited_s)


def lesson_wait_s() -> float:
    """Ten minutes: the fallback inside lessons only, never for a real vehicle."""
    return limits.LESSON_WAIT_S.value


# ---------------------------------------------------------------- dead
class Reading(StrEnum):
    """What one reading says. The middle answer is to wait; a second reading that has not fallen ends the waiting."""

    DEAD = "dead at this point"
    WAIT = "not dead yet: wait, then measure again"
    NOT_FALLING = "not falling: stop and ask"
    LIVE = "live: stop, keep away, escalate"


@dataclass(frozen=True, slots=True, kw_only=True)
class MakerDead:
    """The maker's value for "dead" on this vehicle, per kind of voltage; None where it is not at hand."""

    dc_v: float | None = None
    ac_v: float | None = None

    def of(self, current: Current) -> float:
        """The value for one kind, checked; MakerValueMissing when it is not at hand."""
        value = {"DC": self.dc_v, "AC": self.ac_v}[word(current, "the kind of voltage", _CLASS_B_ABOVE)]
        if value is None:
            raise MakerValueMissing(f"There is no dead value for {current} on this vehicle", "Get the maker's value")
        if positive(value, "the maker's dead value", "V") > _CLASS_B_ABOVE[current].value:
            raise Contradiction(f"A dead value of {value:g} V {current} is class B", "Read the maker's value again")
        return value


def read_point(reading_v: float, current: Current, maker: MakerDead, earlier_v: float | None = None) -> Reading:
    """What a reading says against the maker's value for this kind; ``earlier_v`` is the reading before, if any."""
    dead_v = maker.of(current)
    level_v = abs(number(reading_v, "the reading", "V"))
    if level_v <= dead_v:
        return Reading.DEAD
    if level_v > _CLASS_B_ABOVE[current].value:
        return Reading.LIVE
    if earlier_v is not None and level_v >= abs(number(earlier_v, "the earlier reading", "V")):
        return Reading.NOT_FALLING
    return Reading.WAIT


def not_proved_dead(
    points: Sequence[TestPoint], readings_v: Mapping[TestPoint, float], maker: MakerDead, steps: Sequence[Step]
) -> tuple[Reason, ...]:
    """Why these points are not proved dead; empty when they are. MakerValueMissing without the maker's values.

    Proved dead = the tester proved before and after, every point measured, each reading at or under the maker's value.
    It holds for these points only: pack terminals, plug socket and the inside of the pack stay live.
    """
    reasons = [] if live_dead_live(steps) else [_NOT_LIVE_DEAD_LIVE]
    if not points:
        reasons.append(_NO_POINTS)
    for point in points:
        dead_v = maker.of(point.current)
        if point not in readings_v:
            reasons.append(because("not_measured", "{point} was not measured.", _GS38, point=point))
            continue
        answer = read_point(readings_v[point], point.current, maker)
        if answer is not Reading.DEAD:
            reasons.append(_not_dead(point, readings_v[point], dead_v, answer))
    return tuple(reasons)


_GS38: Final = "HSE GS38; HSG85"
_NO_POINTS: Final = because("no_points", "No point was named to be measured.", _GS38)
_NOT_LIVE_DEAD_LIVE: Final = because(
    "not_live_dead_live", "The tester was not proved before and after: everything measured is void.", _GS38
)


def _not_dead(point: TestPoint, reading_v: float, dead_v: float, answer: Reading) -> Reason:
    return because(
        "not_dead",
        "{point} reads {reading} V; the maker's value is {dead} V: {answer}.",
        "the vehicle maker's value",
        point=point,
        reading=float(reading_v),
        dead=float(dead_v),
        answer=answer.value,
    )
