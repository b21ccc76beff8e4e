"""The gate state: what may be relied on, kept apart from the drill state so that no wrong answer and no grinding
clears.

Binding source: DESIGN section 3. What it leaves open is settled here, always against the person:

* **Counting.** Only a right answer, slow enough to have been read, to a question last seen more than half a day ago (or
  never) moves the gate. Being seen includes answers that were wrong or too fast: their reasons were shown.
* **Increment.** The model's, from the gate's own hold, over the plain days since the question was last *seen* (not
  since the gate last moved: a reason read yesterday makes today's right answer easier).
* **Never above the drill state.** As long as every answer moved the gate (``clean``) the two are equal. After that
  the gate takes the least that the model gives over all holds at or above its ``base``. This keeps it at or below the
  drill state, and makes it monotone: ``x + increment(x)`` alone has a dip near R = .5 (the spacing effect), through
  which an added answer that does not count could have left a later right answer with more. ``base`` also pays c_w
  (0.067) for each wrong answer, the most by which a wrong answer can lower the drill state; the gate's own two fields
  stay as they were.
* **Wrong answers running, on different days.** A wrong answer adds one when the last one that was added is more than
  half a day back; at two the question counts 0. Only a right answer that moves the gate sets it back to none: a right
  answer in the same session, or one too fast, does not. A wrong answer that was too fast still counts against.
* **Reading.** Plain days since the gate last moved, at least 1. Before that instant, or never right: 0.
* **Belief.** Pass ``Belief.gate_moments`` here, never the drill's moments: see ``posterior.py``.

The bound falls with time: d low / d ln tau = -d (1 + 1.645 (cov + d var)(1 - d/f) / sd), and (cov + d var)^2 is at most
var_fade * sd^2, so it is negative while 1.645 sqrt(var_fade) < 1 (``Parameters`` refuses a prior outside that).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TypeGuard

from training.core.memory.parameters import BOUND_Z, DEFAULT, SESSION_DAYS, Parameters
from training.core.memory.posterior import PersonMoments
from training.core.memory.steps import (
    Hold,
    Shown,
    days_between,
    elapsed_ratio,
    first_hold,
    next_hold,
    recall_now,
    sigma,
)

LEAST_DAYS = 1.0
WRONG_RUN = 2
LONGEST = timedelta(days=30 * 365)
_SEARCH_REACH = 4.0
_SEARCH_STEP = 0.04
_RISING_ABOVE = 0.8
"""Above this recall a longer hold always comes out longer: a_r f R (1 - R) < 1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """One person's gate on one question. Days and natural logs; every default means "nothing proved".

    ``ln_hold`` None: never right when it counted. ``last_at``: the last right answer that counted. ``last_seen_at``:
    the last answer of any kind (None: as ``last_at``). ``wrong_running``: wrong answers since then, on different
    days, and ``last_wrong_at`` the latest that was added. ``clean``: every answer so far moved this gate. ``base``:
    the ln hold on which the next right answer builds (None: ``ln_hold`` itself).
    """

    ln_hold: float | None = None
    ln_hold_var: float = 0.0
    last_at: datetime | None = None
    wrong_running: int = 0
    easiness: float = 0.0
    easiness_var: float = DEFAULT.sd_easiness**2
    last_seen_at: datetime | None = None
    last_wrong_at: datetime | None = None
    clean: bool = True
    base: float | None = None


def is_first_of_session(last_seen_at: datetime | None, at: datetime) -> bool:
    """True when the question was never seen, or more than half a day ago."""
    return last_seen_at is None or days_between(last_seen_at, at) > SESSION_DAYS


def gate_after(
    gate: Gate, shown: Shown, at: datetime, *, too_fast: bool = False, parameters: Parameters = DEFAULT
) -> Gate:
    """Return the gate after one answer at ``at``, which must not be before the answer last seen."""
    counts = shown.right and not too_fast and is_first_of_session(_seen_at(gate), at)
    if counts:
        return _moved(gate, shown, at, parameters)
    seen = replace(gate, last_seen_at=at, clean=False, base=_base_after(gate, shown.right, parameters))
    if shown.right or not _adds_to_run(gate, at):
        return seen
    return replace(seen, wrong_running=gate.wrong_running + 1, last_wrong_at=at)


def gate_low(gate: Gate | None, who: PersonMoments, at: datetime, parameters: Parameters = DEFAULT) -> float:
    """Return the recall low that may be relied on at ``at``, rounded down to 3 decimals.

    0.0 for no gate, never right, two wrong answers running on different days, or ``at`` before the gate last moved.
    ``who`` are ``Belief.gate_moments``.
    """
    return _rounded_down(_low(gate, who, at, parameters))


def mean_gate_low(
    gates: Sequence[Gate | None], who: PersonMoments, at: datetime, parameters: Parameters = DEFAULT
) -> float:
    """Return the mean recall low of the gates, rounded down to 3 decimals once; None counts 0; 0.0 for no gates."""
    if not gates:
        return 0.0
    return _rounded_down(math.fsum(_low(gate, who, at, parameters) for gate in gates) / len(gates))


def gate_mean(gate: Gate | None, who: PersonMoments, at: datetime, parameters: Parameters = DEFAULT) -> float:
    """Return the predictive mean of recall behind a gate, to be shown beside its low and relied on by nobody.

    sigma(m / sqrt(1 + pi v / 8)) (memory model, section 5, band), rounded down to 3 decimals and never under the low;
    0.0 wherever ``gate_low`` is 0.0 by rule.
    """
    if not _proves(gate, at):
        return 0.0
    middle, variance = _band(gate, who, at, parameters)
    likely = sigma(middle / math.sqrt(1.0 + math.pi * variance / 8.0))
    return _rounded_down(max(likely, _low(gate, who, at, parameters)))


def last_minute_at_floor(
    gates: Sequence[Gate | None], who: PersonMoments, floor: float, at: datetime, parameters: Parameters = DEFAULT
) -> datetime | None:
    """Return the last whole minute, not before ``at``, at which ``mean_gate_low`` still meets the floor.

    None when it does not meet it at ``at``, or no longer at the first whole minute from then. At most 30 years on (a
    floor of 0 ends there too). A gate moved after ``at`` counts 0 throughout. By bisection: the mean never rises.
    """
    known = [gate if gate is None or gate.last_at is None or gate.last_at <= at else None for gate in gates]

    def meets(minute: datetime) -> bool:
        return mean_gate_low(known, who, minute, parameters) >= floor

    first = _whole_minute_from(at)
    if not known or not meets(at) or not meets(first):
        return None
    low, high = 0, LONGEST // timedelta(minutes=1)
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if meets(first + timedelta(minutes=middle)) else (low, middle - 1)
    return first + timedelta(minutes=low)


def _seen_at(gate: Gate) -> datetime | None:
    return gate.last_at if gate.last_seen_at is None else gate.last_seen_at


def _adds_to_run(gate: Gate, at: datetime) -> bool:
    return gate.last_wrong_at is None or days_between(gate.last_wrong_at, at) > SESSION_DAYS


def _base_after(gate: Gate, right: bool, parameters: Parameters) -> float:
    base = gate.ln_hold if gate.base is None else gate.base
    if base is None:
        return min(parameters.first_read, parameters.first_wrong)
    return base if right else base + min(parameters.wrong_base, 0.0)


def _moved(gate: Gate, shown: Shown, at: datetime, parameters: Parameters) -> Gate:
    hold = _hold_after(gate, shown, at, parameters)
    return replace(
        gate,
        ln_hold=hold.ln_hold,
        ln_hold_var=hold.var,
        last_at=at,
        wrong_running=0,
        last_seen_at=at,
        last_wrong_at=None,
        base=None,
    )


def _hold_after(gate: Gate, shown: Shown, at: datetime, parameters: Parameters) -> Hold:
    seen_at = _seen_at(gate)
    if seen_at is None:
        return first_hold(shown, parameters)
    interval_days = days_between(seen_at, at)
    if gate.ln_hold is None:
        own = first_hold(shown, parameters)
    else:
        own = next_hold(Hold(gate.ln_hold, gate.ln_hold_var), interval_days, shown, parameters)
    if gate.clean:
        return own
    base = gate.ln_hold if gate.base is None else gate.base
    if base is None:
        return own
    return Hold(min(own.ln_hold, _least_after(base, interval_days, shown, parameters)), own.var)


def _least_after(base: float, interval_days: float, shown: Shown, parameters: Parameters) -> float:
    """Return the least ln hold after this answer over all holds from ``base`` up (4 ln units hold any dip)."""
    least = next_hold(Hold(base), interval_days, shown, parameters).ln_hold
    for step in range(1, int(_SEARCH_REACH / _SEARCH_STEP) + 1):
        ln_hold = base + step * _SEARCH_STEP
        if recall_now(ln_hold, interval_days, shown.off, shown.fade, parameters) > _RISING_ABOVE:
            break
        least = min(least, next_hold(Hold(ln_hold), interval_days, shown, parameters).ln_hold)
    return least


def _low(gate: Gate | None, who: PersonMoments, at: datetime, parameters: Parameters) -> float:
    """Return the unrounded recall low, by scalar math."""
    if not _proves(gate, at):
        return 0.0
    middle, variance = _band(gate, who, at, parameters)
    return sigma(middle - BOUND_Z * math.sqrt(variance))


def _proves(gate: Gate | None, at: datetime) -> TypeGuard[Gate]:
    if gate is None or gate.ln_hold is None or gate.last_at is None or gate.wrong_running >= WRONG_RUN:
        return False
    return at >= gate.last_at


def _band(gate: Gate, who: PersonMoments, at: datetime, parameters: Parameters) -> tuple[float, float]:
    """Return mean and variance of the logit of recall, for a gate that proves something."""
    assert gate.ln_hold is not None
    assert gate.last_at is not None
    interval_days = max(days_between(gate.last_at, at), LEAST_DAYS)
    held = elapsed_ratio(gate.ln_hold, who.fade, interval_days)
    slope = parameters.fade * (1.0 - 1.0 / (1.0 + held))
    by_hold = slope * slope * (who.var_fade + gate.ln_hold_var)
    variance = who.var_ability + 2.0 * slope * who.cov + by_hold + parameters.sd_pair**2 + gate.easiness_var
    middle = who.ability + gate.easiness + parameters.b - parameters.fade * math.log1p(held)
    return middle, max(variance, 0.0)


def _rounded_down(low: float) -> float:
    return math.floor(low * 1000.0) / 1000.0


def _whole_minute_from(at: datetime) -> datetime:
    whole = at.replace(second=0, microsecond=0)
    return whole if whole == at else whole + timedelta(minutes=1)
