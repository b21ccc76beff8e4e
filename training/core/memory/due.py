"""When a question is due: the instant at which the drill's recall low meets the floor asked of it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Final

from training.core.memory.fold import Trace
from training.core.memory.parameters import DEFAULT, Parameters
from training.core.memory.posterior import PersonMoments
from training.core.memory.recall import days_to_low

EARLIEST: Final = datetime.min.replace(tzinfo=UTC)
LONGEST_DAYS: Final = 30.0 * 365.0


def due_at(trace: Trace | None, who: PersonMoments, floor: float, parameters: Parameters = DEFAULT) -> datetime:
    """Return the instant, in plain days after the last answer, when recall low falls to ``floor``.

    ``who`` are the drill's moments (``posterior.moments``). Never answered: ``EARLIEST``. A floor of 0 or below is
    never due sooner than 30 years on, one of 1 or above is due at the last answer. ValueError for a NaN floor.
    """
    if floor != floor:
        raise ValueError("a floor must be a number")
    if trace is None:
        return EARLIEST
    return trace.last_at + timedelta(days=_days_held(trace, who, floor, parameters))


def _days_held(trace: Trace, who: PersonMoments, floor: float, parameters: Parameters) -> float:
    if floor >= 1.0:
        return 0.0
    if floor <= 0.0:
        return LONGEST_DAYS
    days = days_to_low(
        floor,
        trace.ln_hold,
        who,
        easiness=trace.easiness,
        ln_hold_var=trace.ln_hold_var,
        easiness_var=trace.easiness_var,
        parameters=parameters,
    )
    return min(float(days), LONGEST_DAYS)
