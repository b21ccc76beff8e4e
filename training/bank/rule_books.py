"""The rule book of a workshop: the starting one from its file, the one in force from the records."""

from __future__ import annotations

import json
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from training.bank.facts import RuleBookInForce
from training.core.permission.reading import rule_book_from
from training.core.permission.rule_book import RuleBook
from training.core.trade.fitness import House
from training.people.models import Workshop
from training.records.queries import facts_of

STARTING = Path(__file__).parent / "starting" / "rule_book.yaml"


def starting_book() -> dict[str, Any]:
    """The rule book that a new workshop starts from, as a mapping; policy throughout, to be edited by the manager."""
    book: dict[str, Any] = yaml.safe_load(STARTING.read_text(encoding="utf-8"))
    return book


def rule_book_of(workshop: Workshop, *, known_at: int | None = None) -> RuleBook | None:
    """The rule book in force at a workshop as known at a record number.

    None where there is none, or where the newest no longer reads: nobody is cleared then.
    """
    written = facts_of([RuleBookInForce], chain_id=workshop.group.chain_id, about=workshop.key, known_at=known_at)
    newest = written[-1].fact if written else None
    return _read(newest.book) if newest else None


def house_of(workshop: Workshop) -> House:
    """What the rule book in force settles about kit; the strict defaults where there is no rule book."""
    book = rule_book_of(workshop)
    return book.house if book else House()


@lru_cache(maxsize=32)
def _read(text: str) -> RuleBook | None:
    try:
        return rule_book_from(json.loads(text))
    except ValueError:
        return None
