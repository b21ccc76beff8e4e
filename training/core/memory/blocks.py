"""Recall and its lower bound over large arrays, in place, block by block, so that every pass stays in the cache.

With S the hold and y = tau + S e^phi, ln(1 + tau / (S e^phi)) is ln y - ln S - phi and its slope by phi is -tau / y:
one exponential and one logarithm serve both, b and phi go into a constant, and float64 stays throughout. A pass is one
numpy call over one block; recall takes about ten, the bound about twice as many. Equation and symbols: the memory
model, section 5.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from training.core.memory.parameters import BOUND_Z, MOST_LN_HOLD, Parameters

Floats: TypeAlias = NDArray[np.float64]
Reals: TypeAlias = np.float64 | Floats

BLOCK = 32_768
"""Numbers a block: 256 KiB an array, so that the three that recall works on fit a second-level cache of 1 MiB."""

SPARES = 3
"""Arrays of one block that a work may write to as it likes, beside its result."""

MOST_SHIFT = 50.0
"""Fades beyond this many ln days, either way, are added to each hold before anything is raised to a power."""

LEAST_DAYS = 1e-300
"""A hold too short for float64, asked for at its very instant, counts as this."""


def over_blocks(work: Callable[..., None], *arguments: ArrayLike) -> Reals:
    """Return what ``work(out, spares, *blocks)`` writes over the arguments broadcast together; scalars in, scalar out.

    Blocks are float64; an argument that is one number stays one (shape ()).
    """
    arrays = [np.asarray(argument, dtype=np.float64) for argument in arguments]
    out = np.empty(np.broadcast(*arrays).shape)
    with np.errstate(over="ignore", divide="ignore"):
        if out.size <= BLOCK:
            work(out, np.empty((SPARES, *out.shape)), *arrays)
        else:
            _by_part(work, out, arrays)
    return out[()]


def recall_into(parameters: Parameters) -> Callable[..., None]:
    """Return the work that writes recall from blocks of ln hold (NaN: never seen), days, off and fade."""

    def work(out: Floats, spares: Floats, held: Floats, days: Floats, off: Floats, fade: Floats) -> None:
        held_for = _elapsed_into(out, held, days, fade, spares[0, ...])
        _sigma_of_elapsed(out, held_for, off, parameters)
        if held_for.never is not None:
            np.copyto(out, 1.0 / (1.0 + np.exp(-off)), where=held_for.never)

    return work


def recall_low_into(parameters: Parameters, var_ability: float, var_fade: float, cov: float) -> Callable[..., None]:
    """Return the work that writes the lower bound from blocks of ln hold, days, off, fade, and two variances.

    The variances are those of ln hold and of easiness.
    """
    steady = var_ability + parameters.sd_pair**2

    def work(
        out: Floats,
        spares: Floats,
        held: Floats,
        days: Floats,
        off: Floats,
        fade: Floats,
        hold_var: Floats,
        easiness_var: Floats,
    ) -> None:
        slope, margin = spares[1, ...], spares[2, ...]
        held_for = _elapsed_into(out, held, days, fade, spares[0, ...])
        if not np.minimum.reduce(out, axis=None, initial=1.0) > 0.0:
            np.maximum(out, LEAST_DAYS, out=out)
        np.divide(days, out, slope)
        np.multiply(slope, parameters.fade, slope)
        if held_for.never is not None:
            np.copyto(slope, 0.0, where=held_for.never)
        np.add(hold_var, var_fade, margin)
        _turn_into_variance(margin, slope, cov, easiness_var, steady)
        np.sqrt(margin, margin)
        np.multiply(margin, BOUND_Z, margin)
        _sigma_of_elapsed(out, held_for, off, parameters, margin)
        if held_for.never is not None:
            np.copyto(out, 1.0 / (1.0 + np.exp(margin - off)), where=held_for.never)

    return work


def _by_part(work: Callable[..., None], out: Floats, arrays: list[Floats]) -> None:
    """Do the work along the first axis, about ``BLOCK`` numbers at a time."""
    whole = [array if array.ndim == 0 else np.broadcast_to(array, out.shape) for array in arrays]
    rows = max(1, BLOCK // (out.size // len(out)))
    spares = np.empty((SPARES, rows, *out.shape[1:]))
    for part in _slices(len(out), rows):
        target = out[part]
        work(target, spares[:, : len(target)], *(array if array.ndim == 0 else array[part] for array in whole))


def _slices(length: int, step: int) -> Iterator[slice]:
    return (slice(start, start + step) for start in range(0, length, step))


@dataclass(frozen=True, slots=True, eq=False)
class _HeldFor:
    """The hold with fade as ``ln_hold + shift``, and which questions were never seen (None: none)."""

    ln_hold: Floats
    shift: float
    never: NDArray[np.bool_] | None


def _elapsed_into(out: Floats, held: Floats, days: Floats, fade: Floats, spare: Floats) -> _HeldFor:
    """Write y = tau + S e^phi; a fade that is one number is a factor, which saves a pass over another array."""
    shift = float(fade) if fade.ndim == 0 and abs(fade) < MOST_SHIFT else 0.0
    ln_hold, never = _guarded(held if fade.ndim == 0 and shift == fade else np.add(held, fade, spare))
    np.exp(ln_hold, out)
    if shift:
        np.multiply(out, math.exp(shift), out)
    np.add(out, days, out)
    return _HeldFor(ln_hold, shift, never)


def _guarded(ln_hold: Floats) -> tuple[Floats, NDArray[np.bool_] | None]:
    """Return holds that cannot overflow, and which were never seen (None: none); mostly the holds as they are."""
    if np.maximum.reduce(ln_hold, axis=None, initial=0.0) < MOST_LN_HOLD:
        return ln_hold, None
    never = np.isnan(ln_hold)
    return np.asarray(np.where(never, 0.0, np.minimum(ln_hold, MOST_LN_HOLD))), never


def _sigma_of_elapsed(
    out: Floats, held_for: _HeldFor, off: Floats, parameters: Parameters, margin: Floats | None = None
) -> None:
    """Turn y in ``out`` into sigma(off + b - f (ln y - ln hold - shift) - margin)."""
    np.log(out, out)
    np.subtract(out, held_for.ln_hold, out)
    np.multiply(out, parameters.fade, out)
    if margin is not None:
        np.add(out, margin, out)
    constant = parameters.b + parameters.fade * held_for.shift
    if off.ndim == 0 and abs(off) < MOST_LN_HOLD - constant:
        constant += float(off)
    else:
        np.subtract(out, off, out)
    grown = math.exp(constant)
    np.exp(out, out)
    np.add(out, grown, out)
    np.divide(grown, out, out)


def _turn_into_variance(by_hold: Floats, slope: Floats, cov: float, easiness_var: Floats, steady: float) -> None:
    """Turn ``by_hold`` in place into steady + easiness_var + 2 slope cov + slope^2 by_hold, not below 0."""
    np.multiply(by_hold, slope, by_hold)
    if cov:
        np.add(by_hold, 2.0 * cov, by_hold)
    np.multiply(by_hold, slope, by_hold)
    if easiness_var.ndim:
        np.add(by_hold, easiness_var, by_hold)
        np.add(by_hold, steady, by_hold)
    else:
        np.add(by_hold, easiness_var + steady, by_hold)
    if cov < 0.0:
        np.maximum(by_hold, 0.0, out=by_hold)
