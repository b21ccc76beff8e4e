"""The gate state: what may be relied on, kept apart from the drill state (DESIGN section 3).

Stub of the signatures; the arithmetic follows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from training.core.memory.parameters import DEFAULT, Parameters
from training.core.memory.posterior import PersonMoments


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """One person's gate on one question. Days and natural logs; every default means "nothing proved".

    ``ln_hold`` None: never right when it counted. ``last_at``: the last right answer that counted. ``last_seen_at``: the
    last answer of any kind (None: as ``last_at``). ``wrong_running``: wrong answers since then, on different days (each
    more than half a day after the one counted before), ``last_wrong_at`` the latest of these. ``clean``: every answer so
    far moved this gate. ``base``: the ln_hold on which the next right answer builds (None: ``ln_hold`` itself).
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


def gate_low(gate: Gate | None, who: PersonMoments, at: datetime, parameters: Parameters = DEFAULT) -> float:
    """Return the recall low that may be relied on at ``at``, rounded down to 3 decimals."""
    raise NotImplementedError


def mean_gate_low(
    gates: Sequence[Gate | None], who: PersonMoments, at: datetime, parameters: Parameters = DEFAULT
) -> float:
    """Return the mean recall low of the gates, rounded down once; None counts 0; 0.0 for no gates."""
    raise NotImplementedError


def last_minute_at_floor(
    gates: Sequence[Gate | None], who: PersonMoments, floor: float, at: datetime, parameters: Parameters = DEFAULT
) -> datetime | None:
    """Return the last whole minute, not before ``at``, at which the mean gate low still meets the floor."""
    raise NotImplementedError
