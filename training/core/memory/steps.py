"""What one answer does to the hold: by scalar ``math``, for drill and gate alike, so that replay gives equal bytes.

Source: the memory model, section 5 (update, chance floor and slip, vL). Natural logs, days.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

from training.core.memory.parameters import DEFAULT, Parameters

SECONDS_PER_DAY = 86_400.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What an answer shows, apart from the hold before it: right or wrong, its chance floor g, and the person's point.

    ``off`` = ability + easiness and ``fade``, both posterior means from before the answer. ``k1`` and ``k0`` are
    P(this commitment | recalled / not recalled): 1 in the product, where commitment never enters recall.
    """

    right: bool
    chance_floor: float
    off: float = 0.0
    fade: float = 0.0
    k1: float = 1.0
    k0: float = 1.0

    def __post_init__(self) -> None:
        if not 0.0 <= self.chance_floor < 1.0:
            raise ValueError(f"chance floor {self.chance_floor} must be at least 0 and below 1")


@dataclass(frozen=True, slots=True)
class Hold:
    """ln hold_days and the variance that unsure answers have left in it (vL)."""

    ln_hold: float
    var: float = 0.0


def days_between(earlier: datetime, later: datetime) -> float:
    """Return plain days from one instant to another; both must carry a zone (TypeError otherwise)."""
    return (later - earlier).total_seconds() / SECONDS_PER_DAY


def sigma(logit: float) -> float:
    """Return 1 / (1 + exp(-logit)) without overflow."""
    if logit >= 0.0:
        return 1.0 / (1.0 + math.exp(-logit))
    grown = math.exp(logit)
    return grown / (1.0 + grown)


def elapsed_ratio(ln_hold: float, fade: float, interval_days: float) -> float:
    """Return x = tau / (S e^phi), finite for any hold."""
    return interval_days * math.exp(min(-(ln_hold + fade), 600.0))


def recall_now(
    ln_hold: float | None, interval_days: float, off: float, fade: float, parameters: Parameters = DEFAULT
) -> float:
    """Return recall as ``recall.recall`` does, for one question; None: never seen."""
    if ln_hold is None:
        return sigma(off)
    held = elapsed_ratio(ln_hold, fade, interval_days)
    return sigma(off + parameters.b - parameters.fade * math.log1p(held))


def share_recalled(recalled: float, shown: Shown, slip: float) -> float:
    """Return r = P(recalled | this answer), by Bayes over chance floor, slip and commitment."""
    floor = shown.chance_floor
    if shown.right:
        known, unknown = recalled * (1.0 - slip) * shown.k1, (1.0 - recalled) * floor * shown.k0
    else:
        known, unknown = recalled * slip * shown.k1, (1.0 - recalled) * (1.0 - floor) * shown.k0
    if known + unknown == 0.0:
        return float(shown.right)
    return known / (known + unknown)


def first_hold(shown: Shown, parameters: Parameters = DEFAULT) -> Hold:
    """Return the hold after the first answer ever: r L1r + (1 - r) L1w."""
    share = share_recalled(sigma(shown.off), shown, parameters.slip)
    return _mixed(0.0, 0.0, share, parameters.first_right, parameters.first_wrong)


def next_hold(before: Hold, interval_days: float, shown: Shown, parameters: Parameters = DEFAULT) -> Hold:
    """Return the hold after a later answer: ln S += r (c_r + a_r q) + (1 - r)(c_w + a_w q), q = 1 - R just before."""
    recalled = recall_now(before.ln_hold, interval_days, shown.off, shown.fade, parameters)
    doubt = 1.0 - recalled
    by_right = parameters.right_base + parameters.right_gain * doubt
    by_wrong = parameters.wrong_base + parameters.wrong_gain * doubt
    share = share_recalled(recalled, shown, parameters.slip)
    return _mixed(before.ln_hold, before.var, share, by_right, by_wrong)


def _mixed(ln_hold: float, var: float, share: float, by_right: float, by_wrong: float) -> Hold:
    moved = ln_hold + share * by_right + (1.0 - share) * by_wrong
    return Hold(moved, var + share * (1.0 - share) * (by_right - by_wrong) ** 2)
