"""Damaged vehicles and packs: how far away, when to look first, and what releases them. Time never does."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final, Literal

from training.core.trade import limits
from training.core.trade.checks import not_negative, positive, word
from training.core.trade.errors import NotADate, RuleMissing
from training.core.trade.reasons import Reason, because

Regime = Literal["US", "EU", "DE", "UK"]
Damage = Literal["dry", "flooded"]

ALARM_SIGNS: Final = frozenset(
    {"smoke", "sparks", "flame", "gurgling", "bubbling", "popping", "heat", "sweet smell", "white vapour"}
)
WHITE_VAPOUR: Final = "White vapour is flammable, toxic gas, not steam: leave, close doors, call; nobody goes back."
_GUIDANCE: Final = "NHTSA interim guidance on damaged HV batteries; common practice of the trade"


def distance_m(regime: str, on_the_spot_m: float | None = None) -> float:
    """The distance (m) to anything that burns, per regime; fire service or insurer may ask for more, never for less.

    RuleMissing where the regime has no figure and nobody on the spot has given one.
    """
    known = limits.QUARANTINE_M.get(word(regime, "the regime", ("US", "EU", "DE", "UK")))
    if on_the_spot_m is None and known is None:
        raise RuleMissing(f"There is no distance for {regime}", "Ask the fire service or the insurer")
    asked_m = 0.0 if on_the_spot_m is None else positive(on_the_spot_m, "the distance asked for", "m")
    return max(asked_m, known.value if known else 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a damaged vehicle stands. ``open_sides_m`` are the distances on each side without a fire-proof barrier."""

    regime: str
    open_sides_m: tuple[float, ...]
    indoors: bool | None = None
    locked: bool | None = None
    marked: bool | None = None
    on_the_spot_m: float | None = None


def not_a_place(place: Place) -> tuple[Reason, ...]:
    """Why a damaged vehicle may not stand there; empty when it may. RuleMissing as in ``distance_m``."""
    least_m = distance_m(place.regime, place.on_the_spot_m)
    nearest_m = min((not_negative(side, "the distance", "m") for side in place.open_sides_m), default=least_m)
    reasons = [] if nearest_m >= least_m else [_too_near(nearest_m, least_m)]
    asked = (
        (place.indoors is False, "indoors", "It does not stand outdoors for certain."),
        (place.regime != "DE" or place.locked is True, "not_locked", "The place is not locked for certain."),
        (place.marked is True, "not_marked", "It is not marked as a damaged HV vehicle."),
    )
    return (*reasons, *(because(code, text, _GUIDANCE) for holds, code, text in asked if not holds))


def _too_near(nearest_m: float, least_m: float) -> Reason:
    text = "An open side has {nearest} m; {least} m are asked for."
    return because("too_near", text, _GUIDANCE, nearest=nearest_m, least=least_m)


def must_evacuate(signs: Collection[str]) -> bool:
    """Whether anything seen, heard or smelt means: out, call the fire service. Any one sign does."""
    return bool([word(sign, "the sign", ALARM_SIGNS) for sign in signs])


def earliest_check(damage: Damage, since: datetime) -> datetime | None:
    """The earliest instant to look at it: 72 h after dry damage; None when flooded (stays out until it is judged).

    It is a time to look, never to release.
    """
    if not isinstance(since, datetime) or since.utcoffset() is None:
        raise NotADate(f"{since!r} is no instant", "Give a date and time with its offset from UTC")
    if word(damage, "the damage", ("dry", "flooded")) == "flooded":
        return None
    return since + timedelta(hours=limits.EARLIEST_CHECK_DRY_H.value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """What somebody cleared for it has found. There is no field for the days gone by: they release nothing."""

    damage: Damage
    temperature_not_rising: bool | None = None
    no_gas_no_noise: bool | None = None
    isolation_value_good: bool | None = None
    cell_values_good: bool | None = None
    signed_by_cleared_person: bool | None = None
    pack_out_or_maker_asked: bool | None = None


def not_released(found: Judgement) -> tuple[Reason, ...]:
    """Why it stays in quarantine; empty when it may be released."""
    flooded = word(found.damage, "the damage", ("dry", "flooded")) == "flooded"
    asked = (
        (found.temperature_not_rising, "temperature", "The temperature trend is not known to be flat."),
        (found.no_gas_no_noise, "gas_or_noise", "Gas, smell or noise is not ruled out."),
        (found.isolation_value_good, "isolation_value", "There is no good isolation value."),
        (found.cell_values_good, "cell_values", "There are no good cell values."),
        (found.signed_by_cleared_person, "signature", "Nobody cleared for judging it has signed."),
        (found.pack_out_or_maker_asked or not flooded, "flooded", "Flooded: pack not out, maker's advice not had."),
    )
    return tuple(because(code, text, _GUIDANCE) for holds, code, text in asked if holds is not True)
