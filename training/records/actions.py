"""The one door for evidence: append a fact to its group's chain and move the marks, inside the caller's transaction."""

from __future__ import annotations

import secrets
from collections.abc import Iterable
from datetime import datetime, timedelta

from django.db import transaction

from training.records import written
from training.records.canonical import body_digest, canonical_text, envelope_hash, envelope_of
from training.records.facts import Fact, as_builtins
from training.records.models import Body, Chain, Mark, Record

CLOCK_SLACK = timedelta(seconds=2)
FUTURE_SLACK = timedelta(minutes=2)


class Refused(RuntimeError):
    """A fact that cannot be recorded; the message says why and what to do."""


def append(
    fact: Fact, *, chain_id: int, about: str, at: datetime, happened_at: datetime | None = None, names: Iterable[str] = ()
) -> Record:
    """Append one fact, as the last step of the caller's transaction.

    ``about`` is the key that the fact is about; ``names`` are further keys (people, workshops) whose clearances it may
    change. Takes the head row's lock (PostgreSQL) or runs under an IMMEDIATE transaction (SQLite), so numbers are given
    in commit order. Raises ``Refused`` outside a transaction, when the clock went back, or for a fact from the future.
    """
    if not transaction.get_connection().in_atomic_block:
        raise Refused("A record is written inside its caller's transaction, so that both stand or fall together.")
    chain = Chain.objects.select_for_update().get(pk=chain_id)
    recorded_at = _recorded_at(chain, at)
    happened_at = happened_at or at
    if happened_at > recorded_at + FUTURE_SLACK:
        raise Refused(f"This claims to have happened at {happened_at:%Y-%m-%d %H:%M}, which is still to come. Check the date.")
    record = _seal(chain, fact, about=about, happened_at=happened_at, recorded_at=recorded_at)
    keys = frozenset({about, *names})
    for key in keys:
        Mark.objects.update_or_create(chain=chain, key=key, defaults={"number": record.number})
    written.note(chain.pk, keys)
    return record


def _recorded_at(chain: Chain, at: datetime) -> datetime:
    newest = chain.newest_recorded_at
    if newest is not None and at < newest - CLOCK_SLACK:
        raise Refused(f"The clock says {at:%Y-%m-%d %H:%M:%S}, earlier than the newest record. Set the clock right, then try again.")
    return max(at, newest) if newest else at


def _seal(chain: Chain, fact: Fact, *, about: str, happened_at: datetime, recorded_at: datetime) -> Record:
    text, salt = canonical_text(as_builtins(fact)), secrets.token_hex(16)
    digest, number = body_digest(text, salt), chain.head_number + 1
    envelope = envelope_of(
        number=number, kind=fact.kind, about=about, happened_at=happened_at, recorded_at=recorded_at, digest=digest
    )
    record = Record.objects.create(
        chain=chain, number=number, kind=fact.kind, about=about, happened_at=happened_at, recorded_at=recorded_at,
        digest=digest, previous=chain.head_hash, hash=envelope_hash(chain.head_hash, envelope),
    )  # fmt: skip
    Body.objects.create(record=record, text=text, salt=salt)
    moved = Chain.objects.filter(pk=chain.pk, head_number=chain.head_number).update(
        head_number=number, head_hash=record.hash, newest_recorded_at=recorded_at
    )
    if moved != 1:
        raise Refused("Someone else wrote at the same moment. Nothing was recorded; try again.")
    return record
