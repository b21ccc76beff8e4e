"""Whether a chain verifies: every link worked out again, and the first record that does not fit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import suppress

import msgspec
from django.db import DatabaseError

from training.records.canonical import START, body_digest, envelope_hash, envelope_of
from training.records.facts import BodiesErased
from training.records.heads import kept_heads
from training.records.models import Chain, Record

# what a tampered row can raise while it is read or hashed
UNREADABLE = (ValueError, TypeError, AttributeError, OverflowError, DatabaseError)


def first_bad_record(chain_id: int) -> int | None:
    """Walk the whole chain; the number of the first record that does not verify, or None.

    The head is read before and after, so that records written meanwhile are no fault, while a missing tail, a changed
    head and a record that was smuggled in behind the head are. Bodies are checked against their digests; only
    one that a later record says was erased may be missing.
    """
    before, erased = _head(chain_id), _erased(chain_id)
    number, link = 0, START
    for row in _rows(chain_id):
        if row is None or not _verifies(row, number + 1, link, erased):
            return number + 1
        number, link = row.number, row.hash
        if number == before[0] and link != before[1]:
            return number
    after = _head(chain_id)
    if number < before[0] or number > after[0]:
        return min(number, after[0]) + 1
    return None if number < after[0] or link == after[1] else number


def first_bad_against_kept(chain_id: int) -> int | None:
    """The first record that is not what a head kept outside the database says it was, or None.

    Shows what the chain cannot: a tail cut off with its head moved back, and a chain written anew from some record on.
    Raises ``HeadsUnreadable``.
    """
    for head in sorted(kept_heads(chain_id), key=lambda one: one.number):
        row = Record.objects.filter(chain_id=chain_id, number=head.number).values_list("hash", flat=True).first()
        if head.number and row != head.hash:
            newest = Chain.objects.values_list("head_number", flat=True).get(pk=chain_id)
            return min(head.number, newest + 1)
    return None


def _head(chain_id: int) -> tuple[int, str]:
    return Chain.objects.values_list("head_number", "head_hash").get(pk=chain_id)


def _rows(chain_id: int) -> Iterator[Record | None]:
    """The rows in order; None in place of the first one that cannot even be read."""
    rows = Record.objects.filter(chain_id=chain_id).select_related("body").order_by("number")
    number = 0
    with suppress(*UNREADABLE):
        for row in rows.iterator():
            yield row
            number = row.number
        return
    # the database hands out rows in batches: go on one by one, to name the very row
    with suppress(*UNREADABLE):
        while found := rows.filter(number=number + 1).first():
            yield found
            number += 1
    yield None


def _verifies(row: Record, number: int, previous: str, erased: Mapping[int, int]) -> bool:
    try:
        return row.number == number and row.previous == previous and _hashes_fit(row, erased)
    except UNREADABLE:
        return False


def _hashes_fit(row: Record, erased: Mapping[int, int]) -> bool:
    envelope = envelope_of(
        number=row.number,
        kind=row.kind,
        about=row.about,
        happened_at=row.happened_at,
        recorded_at=row.recorded_at,
        digest=row.digest,
    )
    if row.hash != envelope_hash(row.previous, envelope):
        return False
    if not hasattr(row, "body"):
        # erased while this walk went on: the record that says so is looked for again
        return max(erased.get(row.number, 0), _erased(row.chain_id).get(row.number, 0)) > row.number
    return body_digest(row.body.text, row.body.salt) == row.digest


def _erased(chain_id: int) -> dict[int, int]:
    """The numbers whose bodies were erased, with the record that says so; one that cannot be read excuses nothing."""
    found: dict[int, int] = {}
    rows = Record.objects.filter(chain_id=chain_id, kind=BodiesErased.kind).order_by("number")
    with suppress(*UNREADABLE):
        for number, text in rows.values_list("number", "body__text"):
            with suppress(msgspec.MsgspecError, *UNREADABLE):
                found |= dict.fromkeys(msgspec.json.decode(text, type=BodiesErased).numbers, number)
    return found
