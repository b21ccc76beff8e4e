"""What the lint finds, and what the bank knows of a question beside its text."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from training.core.questions.kinds import Question


class Level(StrEnum):
    """An error keeps a question out of the bank; a warning asks its author to look again."""

    ERROR = "error"
    WARN = "warn"


@dataclass(frozen=True, slots=True)
class Finding:
    """One rule broken by one question, or by the bank as a whole (``question`` is then empty)."""

    rule: str
    level: Level
    question: str
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BankEntry:
    """What stands beside a question's text.

    ``approved``: a checker has accepted it. ``hinges_on``: another question whose answer it needs, as an author
    noted. ``answered_fingerprint``: fingerprint of the text that people answered under this version, None before
    the first answer. ``on``: the day of linting, None to leave the review-by date unjudged.
    """

    approved: bool = False
    hinges_on: str = ""
    answered_fingerprint: str | None = None
    on: date | None = None


Rule = Callable[[Question, BankEntry], Iterator[Finding]]


def error(rule: str, question: Question, sentence: str) -> Finding:
    return Finding(rule, Level.ERROR, question.id, sentence)


def warn(rule: str, question: Question, sentence: str) -> Finding:
    return Finding(rule, Level.WARN, question.id, sentence)


def fingerprint(question: Question) -> str:
    """SHA-256 over what a person reads of the question and what counts as right; reasons and papers stay out."""
    number = question.number
    answer = [number.value, number.unit, number.tolerance] if number else []
    options = [[option.key, option.text, option.right, option.place] for option in question.options]
    read = [question.kind, question.situation, question.stem, options, answer, question.picture]
    return hashlib.sha256(json.dumps(read, ensure_ascii=False).encode()).hexdigest()
