"""Reading records: typed facts as known at a record number, the head, the marks, and records of unknown kinds."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Generic, TypeVar

import msgspec
from django.db.models import QuerySet

from training.records.facts import Fact
from training.records.heads import HeadsUnreadable, newest_kept
from training.records.models import Chain, Erased, Mark, Record

F = TypeVar("F", bound=Fact)


@dataclass(frozen=True, slots=True, kw_only=True)
class Written(Generic[F]):
    """A fact with its envelope. ``fact`` None: the body is missing or unreadable, which blocks and never clears.

    ``erased_on`` is the day when the body was erased, where it was.
    """

    number: int
    kind: str
    about: str
    happened_at: datetime
    recorded_at: datetime
    fact: F | None
    erased_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    number: int
    newest_recorded_at: datetime | None
    is_sound: bool


def head_of(chain_id: int) -> Head:
    """The newest record number of a chain, when it was written, and whether the chain was found sound.

    A chain without the newest head that was kept outside is not: it was cut short, or restored and not reconciled.
    """
    chain = Chain.objects.get(pk=chain_id)
    sound = chain.is_sound and not is_behind(chain)
    return Head(number=chain.head_number, newest_recorded_at=chain.newest_recorded_at, is_sound=sound)


def is_behind(chain: Chain) -> bool:
    """Whether a chain lacks the newest head kept outside the database, or the kept heads cannot be read."""
    try:
        kept = newest_kept(chain.pk)
    except HeadsUnreadable:
        return True
    if kept is None or kept.number == 0:
        return False
    return not Record.objects.filter(chain_id=chain.pk, number=kept.number, hash=kept.hash).exists()


def facts_of(
    shapes: Sequence[type[F]], *, chain_id: int, about: str | Iterable[str] | None = None, known_at: int | None = None
) -> list[Written[F]]:
    """Facts of these shapes in the order they were written, about one key, several or anything, known at a number."""
    by_kind = {shape.kind: shape for shape in shapes}
    rows = (
        _known(chain_id, about, known_at).filter(kind__in=by_kind).select_related("body", "erased").order_by("number")
    )
    return [_read(row, by_kind[row.kind]) for row in rows]


def newest_about(key: str, *, chain_id: int, most: int | None, before: int | None = None) -> list[Written[Fact]]:
    """The newest records about one key, of every kind, newest first, ``most`` None: all; ``before``: to page back."""
    by_kind = {shape.kind: shape for shape in _shapes(Fact)}
    rows = _known(chain_id, key, None if before is None else before - 1)
    return [
        _read(row, by_kind.get(row.kind)) for row in rows.select_related("body", "erased").order_by("-number")[:most]
    ]


def numbered(numbers: Iterable[int], *, chain_id: int) -> list[Written[Fact]]:
    """The records of these numbers, of every kind, oldest first; a number that there is not is left out."""
    by_kind = {shape.kind: shape for shape in _shapes(Fact)}
    rows = (
        Record.objects.filter(chain_id=chain_id, number__in=list(numbers))
        .select_related("body", "erased")
        .order_by("number")
    )
    return [_read(row, by_kind.get(row.kind)) for row in rows]


def erased_days(chain_id: int) -> Mapping[int, date]:
    """The records whose bodies were erased, and when."""
    rows = Erased.objects.filter(record__chain_id=chain_id)
    return dict(rows.values_list("record__number", "erased_on"))


def unknown_about(keys: Iterable[str], *, chain_id: int, known_at: int | None = None) -> Mapping[str, tuple[int, ...]]:
    """Per key the records whose kind this program does not know: they may withdraw something, so they block."""
    rows = _known(chain_id, keys, known_at).exclude(kind__in=known_kinds()).order_by("number")
    found: dict[str, list[int]] = defaultdict(list)
    for key, number in rows.values_list("about", "number"):
        found[key].append(number)
    return {key: tuple(numbers) for key, numbers in found.items()}


def known_kinds() -> frozenset[str]:
    """The kinds of all facts that the installed apps define."""
    return frozenset(shape.kind for shape in _shapes(Fact) if shape.kind)


def number_at(chain_id: int, instant: datetime) -> int:
    """The number of the last record written at or before an instant; 0 if there is none."""
    row = Record.objects.filter(chain_id=chain_id, recorded_at__lte=instant).order_by("-number").first()
    return row.number if row else 0


def marks_of(chain_id: int, keys: Iterable[str]) -> Mapping[str, int]:
    """The mark of each key; a key that no record names has mark 0."""
    wanted = list(keys)
    found = dict(Mark.objects.filter(chain_id=chain_id, key__in=wanted).values_list("key", "number"))
    return {key: found.get(key, 0) for key in wanted}


def _known(chain_id: int, about: str | Iterable[str] | None, known_at: int | None) -> QuerySet[Record]:
    rows = Record.objects.filter(chain_id=chain_id)
    if about is not None:
        rows = rows.filter(about__in=[about] if isinstance(about, str) else list(about))
    return rows if known_at is None else rows.filter(number__lte=known_at)


def _shapes(base: type[Fact]) -> Iterator[type[Fact]]:
    for shape in base.__subclasses__():
        yield shape
        yield from _shapes(shape)


def _read(row: Record, shape: type[F] | None) -> Written[F]:
    fact: F | None
    try:
        fact = msgspec.json.decode(row.body.text, type=shape) if shape else None
    except (msgspec.MsgspecError, Record.body.RelatedObjectDoesNotExist):
        fact = None
    return Written(
        number=row.number,
        kind=row.kind,
        about=row.about,
        happened_at=row.happened_at,
        recorded_at=row.recorded_at,
        fact=fact,
        erased_on=row.erased.erased_on if fact is None and hasattr(row, "erased") else None,
    )
