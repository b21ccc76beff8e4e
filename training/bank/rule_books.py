"""The rule books of a workshop: the starting ones from their file; those in force, coming and proposed from records."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from training.bank.rule_history import Rules, rules_of
from training.core.permission.coming import ComingBook
from training.core.permission.reading import rule_book_from
from training.core.permission.rule_book import RuleBook
from training.core.trade.fitness import House
from training.people.models import Workshop

STARTING = Path(__file__).parent / "starting" / "rule_book.yaml"
REGIMES = frozenset(Workshop.Regime.values)


def starting_book(regime: str = Workshop.Regime.EU) -> dict[str, Any]:
    """The rule book that a new workshop of a regime starts from, as a mapping; policy, to be edited by the manager."""
    if regime not in REGIMES:
        raise ValueError(f"no starting rule book for {regime!r}; there are {', '.join(sorted(REGIMES))}")
    book: dict[str, Any] = _of_regime(yaml.safe_load(STARTING.read_text(encoding="utf-8")), regime)
    return book


def _of_regime(plain: Any, regime: str) -> Any:
    """What stands under US, EU and UK becomes that of the regime; in a list, null leaves the entry out."""
    if isinstance(plain, Mapping):
        if set(plain) == REGIMES:
            return plain[regime]
        return {name: _of_regime(value, regime) for name, value in plain.items()}
    if isinstance(plain, list):
        return [one for value in plain if (one := _of_regime(value, regime)) is not None]
    return plain


def rule_book_of(workshop: Workshop, *, known_at: int | None = None, at: datetime | None = None) -> RuleBook | None:
    """The rule book in force at a workshop, as known at a record number; at an instant, or after all that is known.

    None where there is none, or where the newest no longer reads: nobody is cleared then.
    """
    return book_in_force(rules_of(workshop, known_at=known_at, at=at))


def book_in_force(rules: Rules) -> RuleBook | None:
    """The rule book in force, read; None where there is none or it no longer reads."""
    return read_book(rules.in_force.text) if rules.in_force else None


def coming_books(rules: Rules) -> tuple[ComingBook, ...]:
    """The rule books confirmed for a later day, whether it has come or not; what cannot be read clears nobody then."""
    return tuple(ComingBook(from_day=one.from_day, record=one.record, book=read_book(one.text)) for one in rules.coming)


def house_of(workshop: Workshop) -> House:
    """What the rule book in force settles about kit; the strict defaults where there is no rule book."""
    book = rule_book_of(workshop)
    return book.house if book else House()


@lru_cache(maxsize=64)
def read_book(text: str | None) -> RuleBook | None:
    """A rule book from its JSON text; None where it no longer reads."""
    try:
        return rule_book_from(json.loads(text)) if text is not None else None
    except ValueError:
        return None
