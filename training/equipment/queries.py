"""Reading the register: every item with its label, what is on record of it, and the value that fitness judges."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TypeVar

from training.core.trade.fitness import Kit, PreUseCheck
from training.equipment.facts import KitAdded, KitChecked, KitIssued, KitNoted, KitRetired, KitTested
from training.equipment.models import KitItem
from training.equipment.values import History, kit_value
from training.people.disputes import counting, disputes_of
from training.people.models import Person, Workshop
from training.records.facts import Fact
from training.records.queries import Written, facts_of, unknown_about

SHAPES: tuple[type[Fact], ...] = (KitAdded, KitTested, KitIssued, KitNoted, KitChecked, KitRetired)
F = TypeVar("F", bound=Fact)


@dataclass(frozen=True, slots=True, kw_only=True)
class KitRow:
    """One item of the register. ``unreadable`` names records about it that cannot be read: it is then never fit."""

    item: KitItem
    kit: Kit
    history: History
    written: tuple[Written[Fact], ...] = ()
    unreadable: tuple[int, ...] = ()
    retired: KitRetired | None = None

    def check_for(self, person_key: str, day: date) -> PreUseCheck | None:
        """The pre-use check that comes nearest to one by this person on this day; None when there is none at all.

        Of that day before other days, by that person before others, and then the newest.
        """
        rows = [row for row in self.history.checks if row.fact is not None]
        best = max(rows, key=lambda row: _nearness(row, person_key, day), default=None)
        if best is None or best.fact is None:
            return None
        fact = best.fact
        return PreUseCheck(name=self.item.ident, wearer=fact.by, on=fact.checked_on, passed=fact.passed)


@dataclass(slots=True)
class _Gathered:
    """Records of one item while they are sorted out."""

    readable: list[Written[Fact]] = field(default_factory=list)
    unreadable: list[int] = field(default_factory=list)


def kit_of(workshop: Workshop, known_at: int | None = None) -> list[KitRow]:
    """Every item of a workshop's register as known at a record number, by kind and ident; retired ones too.

    As known at an earlier record, an item that was added later is left out.
    """
    items = KitItem.objects.filter(workshop=workshop).order_by("kind", "ident")
    rows = rows_of(list(items), chain_id=workshop.group.chain_id, known_at=known_at)
    return [row for row in rows if known_at is None or row.written]


def rows_of(items: Sequence[KitItem], *, chain_id: int, known_at: int | None = None) -> list[KitRow]:
    """These items, with everything on record of them."""
    keys = [item.key for item in items]
    found: dict[str, _Gathered] = defaultdict(_Gathered)
    for row in facts_of(SHAPES, chain_id=chain_id, about=keys, known_at=known_at):
        if row.fact is None:
            found[row.about].unreadable.append(row.number)
        else:
            found[row.about].readable.append(row)
    for key, numbers in unknown_about(keys, chain_id=chain_id, known_at=known_at).items():
        found[key].unreadable.extend(numbers)
    checks = [row for gathered in found.values() for row in _only(KitChecked, gathered.readable)]
    counted = {row.number for row in counted_checks(checks, chain_id, known_at)}
    return [_row(item, found[item.key], counted) for item in items]


def kit_checked_today(item: KitItem, by: Person, day: date) -> bool:
    """Whether this person's newest pre-use check of that day on this item was passed."""
    rows = counted_checks(facts_of([KitChecked], chain_id=by.group.chain_id, about=item.key), by.group.chain_id)
    todays = [row for row in rows if row.fact is None or (row.fact.by == by.key and row.fact.checked_on == day)]
    newest = todays[-1].fact if todays else None
    return newest is not None and newest.passed is True


def counted_checks(
    rows: Sequence[Written[KitChecked]], chain_id: int, known_at: int | None = None
) -> list[Written[KitChecked]]:
    """The pre-use checks that count beside what those named under them dispute; what cannot be read stays."""
    disputes = disputes_of({row.fact.by for row in rows if row.fact}, chain_id=chain_id, known_at=known_at)
    return [row for row in rows if row.fact is None or counting([row], disputes.get(row.fact.by, ()))]


def label_text(label: dict[str, object]) -> str:
    """A label as its record holds it: the same text for the same label."""
    return json.dumps(label, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def _row(item: KitItem, found: _Gathered, counted: Container[int]) -> KitRow:
    """The value that fitness judges; of the pre-use checks only those that count."""
    facts = [row.fact for row in found.readable]
    retired = next((fact for fact in facts if isinstance(fact, KitRetired)), None)
    history = History(
        tests=_only(KitTested, found.readable),
        issues=_only(KitIssued, found.readable),
        notes=_only(KitNoted, found.readable),
        checks=tuple(row for row in _only(KitChecked, found.readable) if row.number in counted),
    )
    in_service = _in_service(item, facts, bool(found.unreadable), retired)
    return KitRow(
        item=item,
        kit=kit_value(item.kind, item.ident, item.label, history, in_service=in_service),
        history=history,
        written=tuple(found.readable),
        unreadable=tuple(sorted(found.unreadable)),
        retired=retired,
    )


def _in_service(
    item: KitItem, facts: Iterable[Fact | None], unreadable: bool, retired: KitRetired | None
) -> bool | None:
    """Known only where the register says what the record of adding said, and everything can be read."""
    if retired is not None or item.retired_on is not None:
        return False
    added = next((fact for fact in facts if isinstance(fact, KitAdded)), None)
    if added is None or unreadable or not isinstance(item.label, dict):
        return None
    same = (added.kit_kind, added.ident, added.label) == (item.kind, item.ident, label_text(item.label))
    return True if same else None


def _only(shape: type[F], rows: Iterable[Written[Fact]]) -> tuple[Written[F], ...]:
    return tuple(row for row in rows if isinstance(row.fact, shape))  # type: ignore[misc]


def _nearness(row: Written[KitChecked], person_key: str, day: date) -> tuple[bool, bool, int]:
    assert row.fact is not None
    return row.fact.checked_on == day, row.fact.by == person_key, row.number
