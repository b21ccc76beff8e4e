"""Seconds that a question takes, which answers came too fast to have been read, and when a drill's minutes are up."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median
from typing import Final

DEFAULT_SECONDS: Final = 35.0
"""[assumed] until a question has answers of its own."""
LONGEST_SECONDS: Final = 300.0
TOO_FAST_SHARE: Final = 0.10
"""[assumed] memory model, section 5: under 10 % of the question's median is no evidence."""


def typical_seconds(taken_s: Sequence[float], default_s: float = DEFAULT_SECONDS) -> float:
    """Return the median of the seconds taken, each cut at five minutes; ``default_s`` when there are none.

    ValueError for a negative or NaN time.
    """
    if not all(seconds >= 0.0 for seconds in taken_s):
        raise ValueError("seconds taken must be at least 0")
    return median(min(seconds, LONGEST_SECONDS) for seconds in taken_s) if taken_s else default_s


def with_one_to_spare(minutes: float, usual_s: float) -> float:
    """Return the minutes to choose questions for: one question more waits, should answers come faster than usual."""
    return minutes + usual_s / 60.0


def is_time_up(spent_s: float, minutes: float, usual_s: float) -> bool:
    """True when no further question begins: less than half of what one usually takes is left.

    So a drill lasts its minutes on average, and at one's usual pace passes them by no more than that half.
    """
    return spent_s + usual_s / 2.0 > minutes * 60.0


def is_too_fast(taken_s: float, typical_s: float) -> bool:
    """True when an answer came in under a tenth of the question's typical seconds."""
    return taken_s < TOO_FAST_SHARE * typical_s
