"""The order of things: events of the past, each at its own instant, written through the chain from first to last."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from training.records.actions import Entry, append_many
from training.records.facts import Fact
from training.records.queries import head_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """Days before the moment of loading, as a workshop's calendar has them."""

    now: datetime
    zone: ZoneInfo

    def day(self, days_ago: int) -> date:
        """The local day so many days ago; negative: days ahead."""
        return self.now.astimezone(self.zone).date() - timedelta(days=days_ago)

    def at(self, days_ago: int, clock: time) -> datetime:
        """The instant of a local time of day, in UTC, never after now."""
        local = datetime.combine(self.day(days_ago), clock, tzinfo=self.zone)
        return min(local.astimezone(UTC), self.now)


@dataclass(eq=False, slots=True, kw_only=True)
class Event:
    """One fact to come. A fact that names earlier records is made from their numbers (``of``)."""

    at: datetime
    about: str
    fact: Fact | Callable[..., Fact]
    names: tuple[str, ...] = ()
    of: tuple[Event, ...] = ()


def write(events: Iterable[Event], *, chain_id: int) -> int:
    """Append all events in order of their instants, inside the caller's transaction; how many there were."""
    ordered = sorted(events, key=lambda event: event.at)
    first = head_of(chain_id).number + 1
    numbers = {id(event): first + place for place, event in enumerate(ordered)}
    entries = [_entry(event, numbers) for event in ordered]
    return len(append_many(entries, chain_id=chain_id))


def _entry(event: Event, numbers: dict[int, int]) -> Entry:
    fact = event.fact if isinstance(event.fact, Fact) else event.fact(*(numbers[id(one)] for one in event.of))
    return Entry(fact=fact, about=event.about, at=event.at, names=event.names)
