"""Unsafe answers in the simulation: open until talked through and answered right later, watched for a week after."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from training.core.memory.honesty import NEXT_SESSION_DAYS, WEEK_LATER_DAYS

MEDIAN_TALK_DAYS: Final = 0.9
SPREAD_TALK: Final = 0.9
"""From an unsafe answer to its talk-through: half within a day, nine in ten within three (ln spread) [assumed]."""


@dataclass(slots=True)
class Watch:
    """One question of one person, in days; ``talked_at`` may lie ahead, since it is drawn when the answer falls.

    ``openings`` are the days of the unsafe answers that no right answer has followed yet.
    """

    openings: list[float] = field(default_factory=list)
    talked_at: float = 0.0
    closed_at: float | None = None
    watched: bool = False

    def is_open(self, day: float) -> bool:
        """True while an answer blocks."""
        return bool(self.openings) or (self.closed_at is not None and day < self.closed_at)

    def back_at(self, day: float) -> float | None:
        """Return the day from which the question comes back by this rule; None: it does not."""
        if self.openings:
            return self.openings[-1] + NEXT_SESSION_DAYS
        if self.watched and self.closed_at is not None and self.closed_at <= day:
            return self.closed_at + WEEK_LATER_DAYS
        return None

    def wrong(self, day: float, *, unsafe: bool, talk_days: float) -> None:
        """Take in a wrong answer: it opens when it was unsafe, or while the question is watched."""
        if unsafe or self.watched:
            self.openings.append(day)
            self.talked_at, self.closed_at, self.watched = day + talk_days, None, True

    def right(self, day: float) -> list[float]:
        """Take in a right answer; return the days that each opening stood open, for those that it closes."""
        if self.openings:
            if day - self.openings[-1] < NEXT_SESSION_DAYS:
                return []
            self.closed_at = max(day, self.talked_at)
            stood, self.openings = [self.closed_at - opened for opened in self.openings], []
            return stood
        if self.closed_at is not None and day - self.closed_at >= WEEK_LATER_DAYS:
            self.watched = False
        return []
