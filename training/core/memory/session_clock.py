"""Effective days by the session clock: only for evaluation on published answers, never shown or gated."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from training.core.memory.parameters import DEFAULT, Parameters

BETWEEN_SESSIONS_DAYS = 1.0 / 24.0
"""A gap over one hour between a person's successive answers lies between sessions (memory model, section 2)."""


def effective_days(days: Sequence[float], parameters: Parameters = DEFAULT) -> tuple[float, ...]:
    """Return each instant's effective days since the first, for one person's instants in order (days, ascending).

    Between sessions a day counts as a day; within one, time counts ``session_clock`` times. ValueError if out of order.
    """
    reached = [0.0] if days else []
    for earlier, later in pairwise(days):
        gap_days = later - earlier
        if gap_days < 0.0:
            raise ValueError("the instants must be in order")
        within = gap_days <= BETWEEN_SESSIONS_DAYS
        reached.append(reached[-1] + gap_days * (parameters.session_clock if within else 1.0))
    return tuple(reached)
