"""A fact that only tests write, and short ways to write and to tamper."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any, ClassVar

from django.db import connection, transaction

from training.records.actions import append
from training.records.facts import Fact
from training.records.models import Record
from training.records.triggers import away

START_AT = datetime(2026, 3, 2, 9, tzinfo=UTC)
ABOUT = "a" * 32


class Noted(Fact, frozen=True):
    kind: ClassVar[str] = "test.noted"
    n: int
    says: str = ""


def note(chain_id: int, n: int = 1, *, at: datetime | None = None, **more: Any) -> Record:
    """Append one fact, a minute after the one before, in a transaction of its own."""
    with transaction.atomic():
        when = at or START_AT + timedelta(minutes=n)
        return append(Noted(n=n), chain_id=chain_id, about=more.pop("about", ABOUT), at=when, **more)


def note_many(chain_id: int, count: int) -> list[Record]:
    return [note(chain_id, n) for n in range(1, count + 1)]


def tamper(statement: str, values: list[Any]) -> None:
    """Do what only somebody with the database in hands could do: change rows with the triggers away."""
    with away(connection), connection.cursor() as cursor:
        cursor.execute(statement, values)
