"""Small-shop exceptions: a fold of the records of one workshop, as known at a record number."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from training.core.permission.evidence import SmallShop
from training.core.trade.calendar import local_day
from training.people.facts import SmallShopConfirmed, SmallShopProposed, SmallShopSigned, SmallShopWithdrawn
from training.people.models import Person, Workshop
from training.people.second_signers import may_sign_second
from training.records.facts import Fact
from training.records.queries import Written, facts_of

KINDS: tuple[type[Fact], ...] = (SmallShopProposed, SmallShopSigned, SmallShopConfirmed, SmallShopWithdrawn)


@dataclass(frozen=True, slots=True, kw_only=True)
class SmallShops:
    """The exceptions of a workshop, oldest first, and which of their records cannot be read: those block everybody."""

    all: tuple[SmallShop, ...] = ()
    unreadable: tuple[int, ...] = ()

    def counting(self) -> tuple[SmallShop, ...]:
        """Those that may carry a signature: none while a record of theirs cannot be read."""
        return () if self.unreadable else self.all

    def numbered(self, record: int) -> SmallShop | None:
        """The exception that a record number names."""
        return next((one for one in self.all if one.record == record), None)


def small_shops_of(workshop: Workshop, *, known_at: int | None = None) -> SmallShops:
    """Every small-shop exception of a workshop, with all that was added to it."""
    return folded(workshop.key, written_of(workshop, known_at=known_at))


def written_of(workshop: Workshop, *, known_at: int | None = None) -> list[Written[Fact]]:
    """All records about small-shop exceptions of a workshop, oldest first."""
    return facts_of(KINDS, chain_id=workshop.group.chain_id, about=workshop.key, known_at=known_at)


def folded(workshop: str, rows: Iterable[Written[Any]]) -> SmallShops:
    """What these records, in the order they were written, come to. What names no exception before it changes none."""
    found: dict[int, SmallShop] = {}
    unreadable = []
    for row in rows:
        fact = row.fact
        if fact is None:
            unreadable.append(row.number)
        elif isinstance(fact, SmallShopProposed):
            found[row.number] = _proposed(row.number, workshop, fact)
        elif fact.record in found:
            found[fact.record] = _added(found[fact.record], fact)
    return SmallShops(all=tuple(found.values()), unreadable=tuple(unreadable))


def _proposed(record: int, workshop: str, fact: SmallShopProposed) -> SmallShop:
    return SmallShop(
        record=record,
        tasks=None if fact.tasks is None else frozenset(fact.tasks),
        workshop=workshop,
        from_day=fact.from_day,
        through_day=fact.through_day,
        entered_on=fact.entered_on,
        by=fact.by,
        second_by="",
    )


def _added(one: SmallShop, fact: SmallShopSigned | SmallShopConfirmed | SmallShopWithdrawn) -> SmallShop:
    """The first signature by somebody else counts, the first confirmation, and the earliest withdrawal.

    It is written once both have signed: what starts later than that has to be confirmed.
    """
    if isinstance(fact, SmallShopWithdrawn):
        return replace(one, withdrawn_from=min(fact.from_day, one.withdrawn_from or fact.from_day))
    if isinstance(fact, SmallShopConfirmed):
        return replace(one, confirmed_on=one.confirmed_on or fact.confirmed_on)
    if one.second_by or fact.by in ("", one.by):
        return one
    return replace(one, second_by=fact.by, entered_on=max(one.entered_on, fact.signed_on))


def waiting_for(signer: Person, *, at: datetime) -> list[Workshop]:
    """The workshops of a group where an exception waits for a second signature which this person may give."""
    workshops = Workshop.objects.filter(group_id=signer.group_id).select_related("group").order_by("name")
    return [
        workshop
        for workshop in workshops
        if any(_waits(one, signer, local_day(at, workshop.zone)) for one in small_shops_of(workshop).all)
        and may_sign_second(signer, workshop)
    ]


def _waits(one: SmallShop, signer: Person, today: date) -> bool:
    ended = one.withdrawn_from is not None or one.through_day < today
    return not one.second_by and one.by != signer.key and not ended


def starts_later(one: SmallShop) -> bool:
    """Whether its first day lies after the day of its last signature, so that the day alone gives nothing."""
    return one.from_day > one.entered_on
