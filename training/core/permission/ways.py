"""The ways to meet a sign-off: the ordinary one, and that of a small shop, which has too few mentors for it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from training.core.permission.counting import Asked, Seen, enough_through, short_on
from training.core.permission.evidence import SmallShop
from training.core.permission.validity import appointed_through, in_force


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One way: what it asks, and the small shop that opens it (None: the ordinary way)."""

    asked: Asked
    small_shop: SmallShop | None = None

    @property
    def last_day(self) -> date:
        """The last day on which the way is open."""
        return date.max if self.small_shop is None else appointed_through(self.small_shop)

    def is_met(self, attempts: Iterable[Seen], day: date) -> bool:
        """Whether these observations are enough on a day, by this way."""
        return day <= self.last_day and short_on(day, attempts, self.asked).attempts == 0

    def through(self, attempts: Sequence[Seen]) -> date | None:
        """The last day on which these observations are enough, by this way; None where they never are."""
        enough = enough_through(attempts, self.asked)
        return None if enough is None else min(enough, self.last_day)


def ways_of(asked: Asked, small_shop: SmallShop | None) -> tuple[Way, ...]:
    """The ordinary way first; where more than one mentor is asked for, that of the small shop besides.

    It does with one mentor, but asks for one observation more, and for one of them by a mentor from outside
    (trade-practice 4b).
    """
    ordinary = Way(asked=asked)
    if small_shop is None or asked.mentors <= 1:
        return (ordinary,)
    with_outside = replace(asked, observations=asked.observations + 1, mentors=1, outside=1)
    return ordinary, Way(asked=with_outside, small_shop=small_shop)


def small_shop_for(
    small_shops: Iterable[SmallShop], *, person: str, task: str, workshop: str, day: date
) -> SmallShop | None:
    """The exception that counts on a day for what one person is signed off for: the one lasting longest.

    What it opens is always the same, so that no other can last longer. Two sign it, and nobody for themselves.
    """
    counting = [
        one
        for one in small_shops
        if (one.tasks is None or task in one.tasks)
        and one.by != one.second_by
        and not {one.by, one.second_by} & {"", person}
        and in_force(one, workshop, day)
    ]
    return min(counting, key=lambda one: (-appointed_through(one).toordinal(), one.record), default=None)
