"""Reading records: typed facts as known at a record number, the head, the marks, and whether the chain verifies."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Generic, TypeVar

import msgspec

from training.records.canonical import START, body_digest, envelope_hash, envelope_of
from training.records.facts import Fact
from training.records.models import Chain, Mark, Record

F = TypeVar("F", bound=Fact)


@dataclass(frozen=True, slots=True, kw_only=True)
class Written(Generic[F]):
    """A fact with its envelope. ``fact`` is None when the body is missing or cannot be read: that blocks, it never clears."""

    number: int
    kind: str
    about: str
    happened_at: datetime
    recorded_at: datetime
    fact: F | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    number: int
    newest_recorded_at: datetime | None
    is_sound: bool


def head_of(chain_id: int) -> Head:
    """The newest record number of a chain, when it was written, and whether the chain was found sound."""
    chain = Chain.objects.get(pk=chain_id)
    return Head(number=chain.head_number, newest_recorded_at=chain.newest_recorded_at, is_sound=chain.is_sound)


def facts_of(
    shapes: Sequence[type[F]], *, chain_id: int, about: str | Iterable[str] | None = None, known_at: int | None = None
) -> list[Written[F]]:
    """Facts of these shapes in the order they were written, about one key, several keys or anything, known at a number."""
    by_kind = {shape.kind: shape for shape in shapes}
    rows = Record.objects.filter(chain_id=chain_id, kind__in=by_kind).select_related("body").order_by("number")
    if isinstance(about, str):
        rows = rows.filter(about=about)
    elif about is not None:
        rows = rows.filter(about__in=list(about))
    if known_at is not None:
        rows = rows.filter(number__lte=known_at)
    return [_read(row, by_kind[row.kind]) for row in rows]


def number_at(chain_id: int, instant: datetime) -> int:
    """The number of the last record written at or before an instant; 0 if there is none."""
    row = Record.objects.filter(chain_id=chain_id, recorded_at__lte=instant).order_by("-number").first()
    return row.number if row else 0


def marks_of(chain_id: int, keys: Iterable[str]) -> Mapping[str, int]:
    """The mark of each key; a key that no record names has mark 0."""
    found = dict(Mark.objects.filter(chain_id=chain_id, key__in=list(keys)).values_list("key", "number"))
    return {key: found.get(key, 0) for key in keys}


def first_bad_record(chain_id: int) -> int | None:
    """Walk the whole chain; the number of the first record that does not verify, or None.

    A missing tail is found against the head row. Bodies are checked against their digests where they exist.
    """
    previous, number = START, 0
    for row in Record.objects.filter(chain_id=chain_id).select_related("body").order_by("number").iterator():
        number += 1
        if not _verifies(row, number, previous):
            return number
        previous = row.hash
    chain = Chain.objects.get(pk=chain_id)
    return None if (chain.head_number, chain.head_hash) == (number, previous) else number + 1


def _verifies(row: Record, number: int, previous: str) -> bool:
    envelope = envelope_of(
        number=row.number, kind=row.kind, about=row.about, happened_at=row.happened_at, recorded_at=row.recorded_at,
        digest=row.digest,
    )  # fmt: skip
    if row.number != number or row.previous != previous or row.hash != envelope_hash(previous, envelope):
        return False
    body = getattr(row, "body", None)
    return body is not None and body_digest(body.text, body.salt) == row.digest


def _read(row: Record, shape: type[F]) -> Written[F]:
    fact: F | None
    try:
        fact = msgspec.json.decode(row.body.text, type=shape)
    except (msgspec.MsgspecError, Record.body.RelatedObjectDoesNotExist):  # type: ignore[attr-defined]
        fact = None
    return Written(
        number=row.number, kind=row.kind, about=row.about, happened_at=row.happened_at, recorded_at=row.recorded_at, fact=fact
    )
