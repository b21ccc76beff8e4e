"""The one door for evidence: facts appended to their chain and marks moved, inside the caller's transaction."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from django.db import transaction

from training.records import written
from training.records.canonical import body_digest, canonical_text, envelope_hash, envelope_of
from training.records.facts import Fact, Reconciled, as_builtins
from training.records.heads import HeadsUnreadable, KeptHead, keep, newest_kept
from training.records.models import Body, Chain, Mark, Record
from training.records.queries import is_behind
from training.records.seal import first_bad_against_kept, first_bad_record

CLOCK_SLACK = timedelta(seconds=2)
FUTURE_SLACK = timedelta(minutes=2)


class Refused(RuntimeError):
    """A fact that cannot be recorded; the message says why and what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One fact to append. ``about`` is the key that it is about, ``names`` further keys whose clearances it may change.

    ``happened_at`` None: at the moment of recording, ``at``.
    """

    fact: Fact
    about: str
    at: datetime
    happened_at: datetime | None = None
    names: Iterable[str] = ()


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
    change. Raises ``Refused`` as ``append_many`` does.
    """
    return append_many([Entry(fact=fact, about=about, at=at, happened_at=happened_at, names=names)], chain_id=chain_id)[
        0
    ]


def hold(chain_id: int) -> Chain:
    """Hold the head row until the transaction ends, so that two who answer the same record come one after the other."""
    return Chain.objects.select_for_update().get(pk=chain_id)


def append_many(entries: Sequence[Entry], *, chain_id: int) -> list[Record]:
    """Append facts in this order, all or none, as the last step of the caller's transaction.

    Takes the head row's lock (PostgreSQL) or runs under an IMMEDIATE transaction (SQLite), so numbers are given in
    commit order. Raises ``Refused`` outside a transaction, when the clock went back, or for a fact from the future.
    """
    if not transaction.get_connection().in_atomic_block:
        raise Refused("A record is written inside its caller's transaction, so that both stand or fall together.")
    chain = hold(chain_id)
    before, newest, sealed = chain.head_number, dict[str, int](), list[tuple[Record, Body]]()
    for entry in entries:
        sealed.append(_seal(chain, entry))
        newest |= dict.fromkeys((entry.about, *entry.names), chain.head_number)
    _store(chain, before, sealed)
    for key, number in newest.items():
        Mark.objects.update_or_create(chain=chain, key=key, defaults={"number": number})
    written.note(chain.pk, frozenset(newest))
    return [record for record, _body in sealed]


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


def _seal(chain: Chain, entry: Entry) -> tuple[Record, Body]:
    """The next sealed record with its body, both yet to be stored; moves the head of ``chain`` in memory."""
    if not entry.fact.kind:
        raise Refused(f"{type(entry.fact).__name__} has no kind, so nobody could read it back. Give it one.")
    recorded_at = _recorded_at(chain, _instant(entry.at))
    happened_at = _not_to_come(_instant(entry.happened_at or entry.at), recorded_at)
    text, salt = canonical_text(as_builtins(entry.fact)), secrets.token_hex(16)
    digest, number, kind = body_digest(text, salt), chain.head_number + 1, entry.fact.kind
    envelope = envelope_of(
        number=number, kind=kind, about=entry.about, happened_at=happened_at, recorded_at=recorded_at, digest=digest
    )
    record = Record(
        chain=chain, number=number, kind=kind, about=entry.about, happened_at=happened_at, recorded_at=recorded_at,
        digest=digest, previous=chain.head_hash, hash=envelope_hash(chain.head_hash, envelope),
    )  # fmt: skip
    chain.head_number, chain.head_hash, chain.newest_recorded_at = number, record.hash, recorded_at
    return record, Body(record=record, text=text, salt=salt)


def _store(chain: Chain, before: int, sealed: Sequence[tuple[Record, Body]]) -> None:
    """Write records, bodies and the head, which must still stand at number ``before``."""
    Record.objects.bulk_create(record for record, _body in sealed)
    for record, body in sealed:
        body.record = record  # takes over the key that the database has given
    Body.objects.bulk_create(body for _record, body in sealed)
    moved = Chain.objects.filter(pk=chain.pk, head_number=before).update(
        head_number=chain.head_number, head_hash=chain.head_hash, newest_recorded_at=chain.newest_recorded_at
    )
    if moved != 1:
        raise Refused("Someone else wrote at the same moment. Nothing was recorded; try again.")


def verify_chain(*, chain_id: int) -> int | None:
    """Walk the chain, hold it against the heads kept outside, and keep the number of the first bad record.

    Every answer blocks while there is one. Kept heads that cannot be read count as nothing that could be verified: 1.
    """
    bad = first_bad_record(chain_id)
    if bad is None:
        try:
            bad = first_bad_against_kept(chain_id)
        except HeadsUnreadable:
            bad = 1
    Chain.objects.filter(pk=chain_id).update(first_bad_number=bad)
    return bad


def keep_head(*, chain_id: int, at: datetime) -> KeptHead:
    """Sign the head of a chain and keep it outside the database. Raises ``Refused`` for a chain that is not sound."""
    chain = Chain.objects.get(pk=chain_id)
    if verify_chain(chain_id=chain_id) is not None:
        raise Refused(f"Chain {chain_id} does not verify. Nothing was signed; look into it first.")
    return keep(chain_id, chain.head_number, chain.head_hash, at=at)


@transaction.atomic
def reconcile(*, chain_id: int, why: str, by: str, at: datetime) -> Record:
    """Let a chain that was restored from an older copy answer again, and record who answers for it and why.

    Everything that was entered since the copy, stand-downs above all, has to be entered again before.
    """
    chain = hold(chain_id)
    kept = newest_kept(chain_id)
    if kept is None or not is_behind(chain):
        raise Refused("The chain holds the newest kept head: there is nothing to reconcile.")
    if first_bad_record(chain_id) is not None:
        raise Refused("The chain itself does not verify. Restore a sound copy first.")
    if not why.strip() or not by.strip():
        raise Refused("Say who answers for it, and how what is lost was entered again.")
    fact = Reconciled(restored=chain.head_number, kept=kept.number, why=why.strip(), by=by.strip())
    record = append(fact, chain_id=chain_id, about="records", at=at)
    Chain.objects.filter(pk=chain_id).update(first_bad_number=None)
    keep(chain_id, record.number, record.hash, at=at, reconciled=True)
    return record
