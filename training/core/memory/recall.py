"""Recall over time, its lower bound, and the days until either falls to a target: over scalars and arrays alike.

Source of every equation: the memory model, section 5 (logit R = off + b - f ln(1 + tau / (S e^phi)), off = ability +
easiness). Arguments broadcast; a scalar call gives a numpy float, an array call an array of the same numbers. Units:
days, natural logs, logits. ``ln_hold`` is ln of the hold in days (S), or NaN for a question never seen.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from training.core.memory.blocks import Reals, over_blocks, recall_into, recall_low_into
from training.core.memory.parameters import BOUND_Z, DEFAULT, Parameters
from training.core.memory.posterior import PersonMoments, tau_over_hold

FIXED_POINT_STEPS = 6
SETTLED_SHARE = 1e-7
HALVINGS = 80


def recall(
    ln_hold: ArrayLike,
    interval_days: ArrayLike,
    *,
    off: ArrayLike = 0.0,
    fade: ArrayLike = 0.0,
    parameters: Parameters = DEFAULT,
) -> Reals:
    """Return the chance, 0 to 1, of recalling ``interval_days`` after the last answer; never seen (NaN): sigma(off)."""
    return over_blocks(recall_into(parameters), ln_hold, interval_days, off, fade)


def chance_right(recalled: ArrayLike, chance_floor: ArrayLike, parameters: Parameters = DEFAULT) -> Reals:
    """Return P(right) = g + (1 - g - slip) R, for a recall and a chance floor g (memory model, section 5)."""
    floor = np.asarray(chance_floor, dtype=np.float64)
    return floor + (1.0 - floor - parameters.slip) * np.asarray(recalled, dtype=np.float64)


def days_to(
    target: ArrayLike,
    ln_hold: ArrayLike,
    *,
    off: ArrayLike = 0.0,
    fade: ArrayLike = 0.0,
    parameters: Parameters = DEFAULT,
) -> Reals:
    """Return the days after the last answer at which recall falls to ``target`` (0 < target < 1); 0 if it starts below.

    Holds beyond e^600 days count as e^600; NaN in, NaN out.
    """
    spare = np.asarray(off, dtype=np.float64) + parameters.b - _logit(target)
    return _days(spare, ln_hold, fade, parameters)


def band_sd(
    ln_hold: ArrayLike,
    interval_days: ArrayLike,
    who: PersonMoments,
    *,
    ln_hold_var: ArrayLike = 0.0,
    easiness_var: ArrayLike = 0.0,
    parameters: Parameters = DEFAULT,
) -> Reals:
    """Return the sd of logit recall: person, pair, easiness and hold (memory model, section 5, band)."""
    slope = _fade_slope(ln_hold, interval_days, who.fade, parameters)
    extra = parameters.sd_pair**2 + np.asarray(easiness_var, dtype=np.float64)
    by_hold = who.var_fade + np.asarray(ln_hold_var, dtype=np.float64)
    variance = who.var_ability + 2.0 * slope * who.cov + slope * slope * by_hold + extra
    return np.sqrt(np.maximum(variance, 0.0))


def recall_low(
    ln_hold: ArrayLike,
    interval_days: ArrayLike,
    who: PersonMoments,
    *,
    easiness: ArrayLike = 0.0,
    ln_hold_var: ArrayLike = 0.0,
    easiness_var: ArrayLike = 0.0,
    parameters: Parameters = DEFAULT,
) -> Reals:
    """Return the lower 5 % bound of recall, sigma(m - 1.645 sd)."""
    work = recall_low_into(parameters, who.var_ability, who.var_fade, who.cov)
    off = who.ability + np.asarray(easiness, dtype=np.float64)
    return over_blocks(work, ln_hold, interval_days, off, who.fade, ln_hold_var, easiness_var)


def recall_mean(
    ln_hold: ArrayLike,
    interval_days: ArrayLike,
    who: PersonMoments,
    *,
    easiness: ArrayLike = 0.0,
    ln_hold_var: ArrayLike = 0.0,
    easiness_var: ArrayLike = 0.0,
    parameters: Parameters = DEFAULT,
) -> Reals:
    """Return the predictive mean of recall, sigma(m / sqrt(1 + pi v / 8))."""
    off = who.ability + np.asarray(easiness, dtype=np.float64)
    middle = _logit_recall(ln_hold, interval_days, off, who.fade, parameters)
    spread = band_sd(
        ln_hold, interval_days, who, ln_hold_var=ln_hold_var, easiness_var=easiness_var, parameters=parameters
    )
    return _sigma(middle / np.sqrt(1.0 + np.pi * spread * spread / 8.0))


def days_to_low(
    target: ArrayLike,
    ln_hold: ArrayLike,
    who: PersonMoments,
    *,
    easiness: ArrayLike = 0.0,
    ln_hold_var: ArrayLike = 0.0,
    easiness_var: ArrayLike = 0.0,
    parameters: Parameters = DEFAULT,
) -> Reals:
    """Return the days after the last answer at which the lower bound falls to ``target``; 0 if it starts below.

    Six fixed-point steps of the inverse with off - 1.645 sd(tau) (memory model, section 5). They may fail to settle
    where unsure answers have left a large ``ln_hold_var``; then by halving, since the bound only falls.
    """
    off = who.ability + np.asarray(easiness, dtype=np.float64)

    def days_with_band_of(days: Reals) -> Reals:
        spread = band_sd(ln_hold, days, who, ln_hold_var=ln_hold_var, easiness_var=easiness_var, parameters=parameters)
        return days_to(target, ln_hold, off=off - BOUND_Z * spread, fade=who.fade, parameters=parameters)

    longest = days_to(target, ln_hold, off=off, fade=who.fade, parameters=parameters)
    days = longest
    for _ in range(FIXED_POINT_STEPS):
        before, days = days, days_with_band_of(days)
    settled = np.abs(days - before) <= SETTLED_SHARE * days
    return days if np.all(settled) else np.where(settled, days, _halved(days_with_band_of, longest))[()]


def _halved(days_with_band_of: Callable[[Reals], Reals], longest: Reals) -> Reals:
    """Return the days that their own band leads back to, between 0 and ``longest``."""
    low, high = np.zeros_like(longest), longest
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        too_soon = days_with_band_of(middle) > middle
        low, high = np.where(too_soon, middle, low), np.where(too_soon, high, middle)
    return low


def _logit_recall(
    ln_hold: ArrayLike, interval_days: ArrayLike, off: ArrayLike, fade: ArrayLike, parameters: Parameters
) -> Reals:
    held = np.asarray(ln_hold, dtype=np.float64)
    elapsed = tau_over_hold(np.asarray(interval_days, dtype=np.float64), held + np.asarray(fade, dtype=np.float64))
    seen = parameters.b - parameters.fade * np.log(1.0 + elapsed)
    never = np.isnan(held)
    return np.asarray(off, dtype=np.float64) + (np.where(never, 0.0, seen) if never.any() else seen)


def _fade_slope(ln_hold: ArrayLike, interval_days: ArrayLike, fade: float, parameters: Parameters) -> Reals:
    """Return d logit / d phi = f x / (1 + x), 0 for a question never seen."""
    held = np.asarray(ln_hold, dtype=np.float64)
    elapsed = tau_over_hold(np.asarray(interval_days, dtype=np.float64), held + fade)
    # 1 - 1/(1+x), so that an overflowing x gives f rather than NaN
    slope = parameters.fade * (1.0 - 1.0 / (1.0 + elapsed))
    never = np.isnan(held)
    return np.where(never, 0.0, slope)[()] if never.any() else slope


def _days(spare: Reals, ln_hold: ArrayLike, fade: ArrayLike, parameters: Parameters) -> Reals:
    """Return S e^phi (exp(spare / f) - 1), 0 if negative, without overflow before the product."""
    held = np.asarray(ln_hold, dtype=np.float64) + np.asarray(fade, dtype=np.float64)
    with np.errstate(over="ignore"):
        grown = np.expm1(np.maximum(spare, 0.0) / parameters.fade)
        return (np.exp(np.minimum(held, 600.0)) * grown)[()]


def _logit(chance: ArrayLike) -> Reals:
    target = np.asarray(chance, dtype=np.float64)
    if np.any((target <= 0.0) | (target >= 1.0)):
        raise ValueError("a target recall must lie between 0 and 1, both excluded")
    return np.log(target) - np.log1p(-target)


def _sigma(logit: Reals) -> Reals:
    with np.errstate(over="ignore"):
        return (1.0 / (1.0 + np.exp(-logit)))[()]
