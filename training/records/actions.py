"""The one door for evidence: append a fact to its group's chain and move the marks, inside the caller's transaction."""

from __future__ import annotations

import secrets
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

from django.db import transaction

from training.records import written
from training.records.canonical import body_digest, canonical_text, envelope_hash, envelope_of
from training.records.facts import Fact, as_builtins
from training.records.models import Body, Chain, Mark, Record
from training.records.seal import first_bad_record

CLOCK_SLACK = timedelta(seconds=2)
FUTURE_SLACK = timedelta(minutes=2)


class Refused(RuntimeError):
    """A fact that cannot be recorded; the message says why and what to do."""


def append(
    fact: Fact,
    *,
    chain_id: int,
    about: str,
    at: datetime,
    happened_at: datetime | None = None,
    names: Iterable[str] = (),
) -> Record:
    """Append one fact, as the last step of the caller's transaction.

    ``about`` is the key that the fact is about; ``names`` are further keys (people, workshops) whose clearances it may
    change. Takes the head row's lock (PostgreSQL) or runs under an IMMEDIATE transaction (SQLite), so numbers are given
    in commit order. Raises ``Refused`` outside a transaction, when the clock went back, or for a fact from the future.
    """
    if not transaction.get_connection().in_atomic_block:
        raise Refused("A record is written inside its caller's transaction, so that both stand or fall together.")
    if not fact.kind:
        raise Refused(f"{type(fact).__name__} has no kind, so nobody could read it back. Give it one.")
    chain = Chain.objects.select_for_update().get(pk=chain_id)
    recorded_at = _recorded_at(chain, _instant(at))
    happened_at = _not_to_come(_instant(happened_at or at), recorded_at)
    record = _seal(chain, fact, about=about, happened_at=happened_at, recorded_at=recorded_at)
    keys = frozenset({about, *names})
    for key in keys:
        Mark.objects.update_or_create(chain=chain, key=key, defaults={"number": record.number})
    written.note(chain.pk, keys)
    return record


def _instant(at: datetime) -> datetime:
    try:
        return at.astimezone(UTC) if at.utcoffset() is not None else _no_offset(at)
    except OverflowError as error:
        raise Refused(f"{at} cannot be meant. Check the date.") from error


def _no_offset(at: datetime) -> datetime:
    raise Refused(f"{at} does not say in which time zone. Give the instant with its offset from UTC.")


def _not_to_come(happened_at: datetime, recorded_at: datetime) -> datetime:
    """Two minutes' grace for a phone's clock; what is recorded never happens after it was recorded by more."""
    if happened_at > recorded_at + FUTURE_SLACK:
        raise Refused(
            f"This is said to have happened at {happened_at:%Y-%m-%d %H:%M} UTC, still to come. Check the date."
        )
    return happened_at


def _recorded_at(chain: Chain, at: datetime) -> datetime:
    newest = chain.newest_recorded_at
    if newest is not None and at < newest - CLOCK_SLACK:
        raise Refused(
            f"The clock says {at:%Y-%m-%d %H:%M:%S} UTC, earlier than the newest record. "
            "Set the clock right and try again."
        )
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


def verify_chain(*, chain_id: int) -> int | None:
    """Walk the chain and keep the number of the first bad record on it; every answer blocks while there is one."""
    bad = first_bad_record(chain_id)
    Chain.objects.filter(pk=chain_id).update(first_bad_number=bad)
    return bad
