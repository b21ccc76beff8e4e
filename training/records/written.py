"""Which marks this request has moved: the writer's own request works their clearances out again after commit."""

from __future__ import annotations

from contextvars import ContextVar

_written: ContextVar[frozenset[tuple[int, str]]] = ContextVar("written", default=frozenset())


def note(chain_id: int, keys: frozenset[str]) -> None:
    """Remember that these keys were marked in this chain."""
    _written.set(_written.get() | {(chain_id, key) for key in keys})


def take() -> frozenset[tuple[int, str]]:
    """All that was noted since the last take, and forget it."""
    noted = _written.get()
    _written.set(frozenset())
    return noted
