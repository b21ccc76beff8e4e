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

import struct
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from training.core.memory.parameters import DEFAULT, Parameters

POINTS: Final = 15
REACH_SD: Final = 2.8
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
    """The 225 points, ability by ability then fade, and the prior's log weights; all of shape (225,)."""

    ability: NDArray[np.float64]
    fade: NDArray[np.float64]
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
    logits = grid.ability + easiness
    if ln_hold is not None:
        held = tau_over_hold(interval_days, ln_hold + grid.fade)
        logits = logits + (parameters.b - parameters.fade * np.log(1.0 + held))
    with np.errstate(over="ignore"):
        recalled = 1.0 / (1.0 + np.exp(-logits))
    chance = chance_floor + (1.0 - chance_floor - parameters.slip) * recalled
    likelihood = np.maximum(chance if right else 1.0 - chance, 1e-300)
    log_weights = np.frombuffer(belief.log_weights, dtype=_FLOATS) + np.log(likelihood)
    log_weights -= log_weights.max()
    after = _moments(log_weights, grid)
    gate = after if right else worse_of(belief.gate_moments, after)
    return Belief(log_weights.tobytes(), after, gate)


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
    return interval_days * np.exp(np.minimum(-ln_hold, 600.0))


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
    products = np.stack([ability, fade, ability * ability, fade * fade, ability * fade])
    return _Grid(ability, fade, products, (-0.5 * (across**2 + along**2)).astype(_FLOATS))


@lru_cache(maxsize=8)
def _prior(parameters: Parameters) -> Belief:
    grid = _grid(parameters)
    known = _moments(grid.log_prior, grid)
    return Belief(grid.log_prior.tobytes(), known, known)


def _moments(log_weights: NDArray[np.float64], grid: _Grid) -> PersonMoments:
    weights = np.exp(log_weights)
    ability, fade, ability2, fade2, both = (grid.products @ weights / weights.sum()).tolist()
    return PersonMoments(
        ability=ability,
        fade=fade,
        var_ability=max(ability2 - ability * ability, 0.0),
        var_fade=max(fade2 - fade * fade, 0.0),
        cov=both - ability * fade,
    )
