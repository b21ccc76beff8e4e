"""What a person's counted answers say of their ability and fade: a 15 x 15 grid, and the moments that bands read.

**Why gates read other moments than drills.** A wrong answer pulls the posterior down along its own direction, but it
also narrows it, and where ability and fade are strongly anti-correlated it can even raise one of the two. So the
plain lower bound of some other question could rise after a wrong answer. Gates therefore read ``gate_moments``: after
a right answer the moments of the grid as they are; after a wrong one the worse of before and after in every part
(lower means, larger variances, larger covariance). A band's variance is ``var_ability + 2 d cov + d^2 var_fade +
...`` with d >= 0, so none of these parts can lower it, and the bound falls with a falling fade while ``1.645 *
sd_fade < 1``. Hence no wrong answer raises the lower bound of any question at any later instant, whatever its
easiness or hold.

What this does not claim: a *later right answer* is weighed against what came before it, so after a wrong one it may be
worth more, for other questions too, than it would have been without. That gain is the right answer's own.
"""

from __future__ import annotations

import math
import struct
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from training.core.memory.parameters import DEFAULT, MOST_LN_HOLD, Parameters

POINTS: Final = 15
REACH_SD: Final = 2.8
LEAST_LIKELIHOOD: Final = 1e-300
_LAYOUT: Final = struct.Struct(f"<B{POINTS * POINTS * 8}s10d")
_LAYOUT_NUMBER: Final = 1
_FLOATS: Final = np.dtype("<f8")


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonMoments:
    """Posterior means, variances and covariance of ability (logits) and fade (ln days). Defaults: nothing known."""

    ability: float = 0.0
    fade: float = 0.0
    var_ability: float = DEFAULT.sd_ability**2
    var_fade: float = DEFAULT.sd_fade**2
    cov: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class _Grid:
    """The 225 points, ability by ability then fade, and the prior's log weights; all of shape (225,).

    ``against`` is e^-ability, ``shorter`` e^-fade; ``products`` (6, 225) are what the moments are sums of, and 1.
    """

    ability: NDArray[np.float64]
    fade: NDArray[np.float64]
    against: NDArray[np.float64]
    shorter: NDArray[np.float64]
    products: NDArray[np.float64]
    log_prior: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Belief:
    """Log weights of the grid (225 packed floats, largest 0), its moments, and those that gates read. Immutable."""

    log_weights: bytes
    moments: PersonMoments
    gate_moments: PersonMoments

    def to_bytes(self) -> bytes:
        """Return 1,881 bytes that ``from_bytes`` reads back to an equal belief."""
        return _LAYOUT.pack(_LAYOUT_NUMBER, self.log_weights, *_parts(self.moments), *_parts(self.gate_moments))

    @classmethod
    def from_bytes(cls, packed: bytes) -> Belief:
        """Read back ``to_bytes``; ValueError when the bytes are of another layout (then fold the answers again)."""
        if len(packed) != _LAYOUT.size or packed[0] != _LAYOUT_NUMBER:
            raise ValueError("these bytes hold no belief of this layout: fold the person's answers again")
        _, log_weights, *parts = _LAYOUT.unpack(packed)
        return cls(log_weights, _of_parts(parts[:5]), _of_parts(parts[5:]))


def prior(parameters: Parameters = DEFAULT) -> Belief:
    """Return the belief about someone who has answered nothing."""
    return _prior(parameters)


def moments(belief: Belief) -> PersonMoments:
    """Return the grid's means, variances and covariance: what drills read."""
    return belief.moments


def grid_points(
    parameters: Parameters = DEFAULT,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return ability (logits), fade (ln days) and log prior weight of the 225 points, for many people at once."""
    grid = _grid(parameters)
    return grid.ability, grid.fade, grid.log_prior


def observe(
    belief: Belief,
    *,
    right: bool,
    chance_floor: float,
    ln_hold: float | None,
    interval_days: float,
    easiness: float = 0.0,
    parameters: Parameters = DEFAULT,
) -> Belief:
    """Return the belief after one counted answer (memory model, section 5: first answer to a question in a session).

    ``ln_hold`` is the state before the answer (None: never seen) and ``interval_days`` the plain days since then.
    """
    grid = _grid(parameters)
    recalled = _recalled_at_points(grid, ln_hold, interval_days, easiness, parameters)
    # chance of the answer: g + k R when right, 1 - g - k R when wrong, in place
    scale = 1.0 - chance_floor - parameters.slip
    recalled *= scale if right else -scale
    recalled += chance_floor if right else 1.0 - chance_floor
    np.maximum(recalled, LEAST_LIKELIHOOD, out=recalled)
    np.log(recalled, recalled)
    recalled += np.frombuffer(belief.log_weights, dtype=_FLOATS)
    recalled -= np.maximum.reduce(recalled)
    after = _moments(recalled, grid)
    gate = after if right else worse_of(belief.gate_moments, after)
    return Belief(recalled.tobytes(), after, gate)


def _recalled_at_points(
    grid: _Grid, ln_hold: float | None, interval_days: float, easiness: float, parameters: Parameters
) -> NDArray[np.float64]:
    """Return recall at each of the 225 points, (225,): 1 / (1 + e^-ability e^(-easiness - b) (1 + x)^f)."""
    if ln_hold is None:
        against = grid.against * math.exp(-easiness)
    else:
        against = grid.shorter * (interval_days * math.exp(min(-ln_hold, MOST_LN_HOLD)))
        against += 1.0
        np.log(against, against)
        against *= parameters.fade
        against -= grid.ability
        against -= easiness + parameters.b
        np.minimum(against, MOST_LN_HOLD, out=against)
        np.exp(against, against)
    against += 1.0
    return np.reciprocal(against, against)


def worse_of(before: PersonMoments, after: PersonMoments) -> PersonMoments:
    """Return moments whose lower bound is above neither of the two, for any question at any instant."""
    return PersonMoments(
        ability=min(before.ability, after.ability),
        fade=min(before.fade, after.fade),
        var_ability=max(before.var_ability, after.var_ability),
        var_fade=max(before.var_fade, after.var_fade),
        cov=max(before.cov, after.cov),
    )


def tau_over_hold(interval_days: float | NDArray[np.float64], ln_hold: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return interval / exp(ln_hold), finite for any hold."""
    return interval_days * np.exp(np.minimum(-ln_hold, MOST_LN_HOLD))


def _parts(known: PersonMoments) -> tuple[float, float, float, float, float]:
    return (known.ability, known.fade, known.var_ability, known.var_fade, known.cov)


def _of_parts(parts: Sequence[float]) -> PersonMoments:
    ability, fade, var_ability, var_fade, cov = parts
    return PersonMoments(ability=ability, fade=fade, var_ability=var_ability, var_fade=var_fade, cov=cov)


@lru_cache(maxsize=8)
def _grid(parameters: Parameters) -> _Grid:
    steps = np.linspace(-REACH_SD, REACH_SD, POINTS)
    across, along = (axis.ravel() for axis in np.meshgrid(steps, steps, indexing="ij"))
    ability, fade = across * parameters.sd_ability, along * parameters.sd_fade
    products = np.stack([ability, fade, ability * ability, fade * fade, ability * fade, np.ones_like(ability)])
    log_prior = (-0.5 * (across**2 + along**2)).astype(_FLOATS)
    return _Grid(ability, fade, np.exp(-ability), np.exp(-fade), products, log_prior)


@lru_cache(maxsize=8)
def _prior(parameters: Parameters) -> Belief:
    grid = _grid(parameters)
    known = _moments(grid.log_prior, grid)
    return Belief(grid.log_prior.tobytes(), known, known)


def _moments(log_weights: NDArray[np.float64], grid: _Grid) -> PersonMoments:
    *sums, total = (grid.products @ np.exp(log_weights)).tolist()
    ability, fade, ability2, fade2, both = (part / total for part in sums)
    return PersonMoments(
        ability=ability,
        fade=fade,
        var_ability=max(ability2 - ability * ability, 0.0),
        var_fade=max(fade2 - fade * fade, 0.0),
        cov=both - ability * fade,
    )
