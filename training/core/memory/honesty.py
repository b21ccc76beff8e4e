"""What each outcome costs a person in minutes and when its question comes back: why saying what you think is cheapest.

Of two commitments the honest one costs least: with a chance p of being right, *act* costs (1 - p) x unsafe and *ask*
costs p x careful + (1 - p) x held back. They meet at one p*, so acting is cheapest exactly above it. Not priced: that
an unsafe answer to a life question also keeps the person from jobs until it is closed, which can only raise p*.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from typing import Final

from training.core.memory.pace import DEFAULT_SECONDS
from training.core.memory.parameters import SESSION_DAYS


class After(StrEnum):
    """The outcomes after which a question comes back by rule and not only by recall."""

    UNSAFE = "unsafe"
    HELD_BACK = "held back"
    CAREFUL = "careful"


TALK_MINUTES: Final = 6.0
"""Three minutes (trade practice, C34: common practice) of two people."""
SHARE_TALKED_THROUGH: Final[Mapping[str, float]] = {"life": 1.0, "injury": 1 / 2, "damage": 1 / 3}
"""A life question cannot close without a talk-through; the others are talked through when a mentor asks [assumed]."""
RETURN_MINUTES: Final = DEFAULT_SECONDS / 60.0
"""One more question in a later drill, reasons read."""
RETURNS: Final[Mapping[After, int]] = {After.UNSAFE: 2, After.HELD_BACK: 1, After.CAREFUL: 1}
"""Returns that a sound answer would not have brought: unsafe next day and about a week later, held back next day, and
one more for careful, since its question comes back one step sooner."""
NEXT_SESSION_DAYS: Final = SESSION_DAYS + 1.0 / 1440.0
"""The soonest that an answer counts again, in days; at the same hour of the next day it is over."""
STEP: Final = 1.6
"""About how many times longer each right answer on its day makes the gap (1.64 by the default parameters)."""
WEEK_LATER_DAYS: Final = 6.0
"""About a week later, counted from when the first return was answered right [assumed]."""


def cost_minutes(after: After, consequence: str) -> float:
    """Return the minutes that one answer with this outcome costs; a sound answer costs none. KeyError otherwise."""
    talk = TALK_MINUTES * SHARE_TALKED_THROUGH[consequence]
    return RETURNS[after] * RETURN_MINUTES + (talk if after is After.UNSAFE else 0.0)


def expected_minutes(chance_right: float, consequence: str, *, acts: bool) -> float:
    """Return the minutes to be expected of saying "I'd act" or "I'd ask" with this chance of being right.

    ValueError unless 0 <= chance_right <= 1; KeyError for a consequence that is not life, injury or damage.
    """
    if not 0.0 <= chance_right <= 1.0:
        raise ValueError(f"chance {chance_right} must lie between 0 and 1")
    wrong = 1.0 - chance_right
    if acts:
        return wrong * cost_minutes(After.UNSAFE, consequence)
    careful, held_back = cost_minutes(After.CAREFUL, consequence), cost_minutes(After.HELD_BACK, consequence)
    return chance_right * careful + wrong * held_back


def break_even(consequence: str) -> float:
    """Return p*, the chance of being right above which to act costs least and below which to ask does."""
    spared = cost_minutes(After.UNSAFE, consequence) - cost_minutes(After.HELD_BACK, consequence)
    return spared / (spared + cost_minutes(After.CAREFUL, consequence))


def days_until_back(after: After | None, held_days: float) -> float:
    """Return the days from an answer to its question's return; None: the answer was sound.

    ``held_days`` is when recall alone would bring it back. A wrong answer comes in the next session, a careful one a
    step sooner than recall asks: as though it had not lengthened the gap.
    """
    if after is None:
        return max(held_days, NEXT_SESSION_DAYS)
    days = held_days / STEP if after is After.CAREFUL else 0.0
    return max(days, NEXT_SESSION_DAYS)
