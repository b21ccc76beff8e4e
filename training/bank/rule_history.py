"""What became of the rule books of a workshop: a fold of the records that propose, confirm, withdraw, put in force."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime

from training.bank.facts import RuleBookConfirmed, RuleBookInForce, RuleBookProposed, RuleBookWithdrawn
from training.core.trade.calendar import local_day
from training.people.models import Workshop
from training.records.actions import CLOCK_SLACK
from training.records.facts import Fact
from training.records.queries import Written, facts_of

KINDS: tuple[type[Fact], ...] = (RuleBookInForce, RuleBookProposed, RuleBookConfirmed, RuleBookWithdrawn)


@dataclass(frozen=True, slots=True, kw_only=True)
class BookWritten:
    """A rule book as it was written. ``record`` is its record; ``text`` None: it cannot be read any more.

    ``since`` is when it came into force by a record, ``confirmed`` the record and the key of whoever confirmed it.
    """

    record: int
    version: int
    text: str | None
    from_day: date
    by: str
    written_at: datetime
    reason: str = ""
    confirmed: int = 0
    confirmed_by: str = ""
    since: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """Where the rule books of a workshop stand: in force, confirmed for a later day, proposed.

    ``past`` are those that were in force before, ``dropped`` those withdrawn or overtaken by a newer version.
    ``unreadable`` names confirmations that cannot be read: what they put in force is unknown, so they block everybody.
    """

    in_force: BookWritten | None = None
    coming: tuple[BookWritten, ...] = ()
    proposed: tuple[BookWritten, ...] = ()
    past: tuple[BookWritten, ...] = ()
    dropped: tuple[BookWritten, ...] = ()
    unreadable: tuple[int, ...] = ()

    def everything(self) -> list[BookWritten]:
        """Every rule book ever written here, oldest first."""
        standing = (self.in_force,) if self.in_force else ()
        return sorted((*standing, *self.coming, *self.proposed, *self.past, *self.dropped), key=lambda one: one.record)

    def next_version(self) -> int:
        """A version number that no rule book here has yet."""
        return max((one.version for one in self.everything()), default=0) + 1


def rules_of(workshop: Workshop, *, known_at: int | None = None, at: datetime | None = None) -> Rules:
    """Where the rule books stand as known at a record number, after all that had happened by ``at`` (None: by now).

    The clock's slack of an append counts in here too: a machine whose clock is behind by less misses no record.
    """
    rows = facts_of(KINDS, chain_id=workshop.group.chain_id, about=workshop.key, known_at=known_at)
    return folded([row for row in rows if at is None or row.happened_at <= at + CLOCK_SLACK], workshop.zone)


def folded(rows: Iterable[Written[Fact]], zone: str) -> Rules:
    """What these records, in the order they were written, come to."""
    rules = Rules()
    for row in rows:
        match row.kind:
            case RuleBookInForce.kind:
                rules = _put_in_force(rules, _first(row, zone), row)
            case RuleBookProposed.kind:
                rules = replace(rules, proposed=(*rules.proposed, _proposed(row, zone)))
            case RuleBookConfirmed.kind:
                rules = _confirmed(rules, row, zone)
            case RuleBookWithdrawn.kind:
                rules = _withdrawn(rules, row)
    return rules


def _first(row: Written[Fact], zone: str) -> BookWritten:
    fact = row.fact if isinstance(row.fact, RuleBookInForce) else None
    return BookWritten(
        record=row.number,
        version=fact.version if fact else 0,
        text=fact.book if fact else None,
        from_day=local_day(row.happened_at, zone),
        by=fact.by if fact else "",
        written_at=row.happened_at,
    )


def _proposed(row: Written[Fact], zone: str) -> BookWritten:
    fact = row.fact if isinstance(row.fact, RuleBookProposed) else None
    return BookWritten(
        record=row.number,
        version=fact.version if fact else 0,
        text=fact.book if fact else None,
        from_day=fact.from_day if fact else local_day(row.happened_at, zone),
        by=fact.by if fact else "",
        written_at=row.happened_at,
        reason=fact.reason if fact else "",
    )


def _confirmed(rules: Rules, row: Written[Fact], zone: str) -> Rules:
    """The first confirmation is a second person's; on or after the first day any confirmation puts it in force."""
    fact = row.fact
    if not isinstance(fact, RuleBookConfirmed):
        return replace(rules, unreadable=(*rules.unreadable, row.number))
    on = min(fact.confirmed_on, local_day(row.recorded_at, zone))
    for book in (one for one in rules.coming if one.record == fact.proposal and on >= one.from_day):
        return _put_in_force(rules, replace(book, confirmed=row.number, confirmed_by=fact.by), row)
    for book in (one for one in rules.proposed if one.record == fact.proposal and fact.by not in ("", one.by)):
        seen = replace(book, confirmed=row.number, confirmed_by=fact.by)
        if on >= book.from_day:
            return _put_in_force(rules, seen, row)
        return replace(rules, proposed=_without(rules.proposed, book), coming=(*rules.coming, seen))
    return rules


def _withdrawn(rules: Rules, row: Written[Fact]) -> Rules:
    """Only what nobody has confirmed yet is withdrawn; one that cannot be read withdraws nothing."""
    fact = row.fact
    named = [one for one in rules.proposed if isinstance(fact, RuleBookWithdrawn) and one.record == fact.proposal]
    kept = tuple(one for one in rules.proposed if one not in named)
    return replace(rules, proposed=kept, dropped=(*rules.dropped, *named))


def _put_in_force(rules: Rules, book: BookWritten, row: Written[Fact]) -> Rules:
    """A book takes the place of the one before, and of every lower version that was still to come or proposed."""
    lower = [
        one for one in (*rules.coming, *rules.proposed) if one.version <= book.version and one.record != book.record
    ]
    return replace(
        rules,
        in_force=replace(book, since=row.happened_at),
        coming=tuple(one for one in rules.coming if one.version > book.version),
        proposed=tuple(one for one in rules.proposed if one.version > book.version),
        past=(*rules.past, *((rules.in_force,) if rules.in_force else ())),
        dropped=(*rules.dropped, *lower),
    )


def _without(books: Iterable[BookWritten], gone: BookWritten) -> tuple[BookWritten, ...]:
    return tuple(one for one in books if one.record != gone.record)
