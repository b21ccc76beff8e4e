"""Reads one question from a plain mapping, strictly: every fault at once, each naming its field and rule."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from training.core.questions.kinds import Consequence, Kind, NumberAnswer, Option, Question, Regime, Topic
from training.core.questions.reading_fields import Fault, FieldReader, Refused

__all__ = ["SHIPPED_AUTHOR", "Fault", "Refused", "WorkedOut", "question_from", "topic_from", "worked_out_from"]

# A shipped question names no person.
SHIPPED_AUTHOR = "Hookside"
MOST_OPTIONS = 8

_KEBAB = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_SNAKE = re.compile(r"[a-z][a-z0-9_]*")
_COMMON = frozenset({"id", "kind", "consequence", "regime", "situation", "stem", "source", "review_by"})


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkedOut:
    """A question that is drawn anew each time: its id, the generator that draws it, and when to look at it again."""

    id: str
    generator: str
    review_by: date


def topic_from(value: object) -> Topic:
    """The topic a file names. Raises Refused when it is none of the nine."""
    reader = FieldReader({"topic": value})
    topic = reader.word("topic", Topic)
    reader.refuse_if_faulty()
    assert topic is not None
    return topic


def question_from(mapping: Mapping[str, object], topic: Topic, *, author: str = SHIPPED_AUTHOR) -> Question:
    """Read one fixed question of ``topic``. Raises Refused with every fault found."""
    reader = FieldReader(mapping)
    kind = reader.word("kind", Kind)
    answer_field = "answer" if kind is Kind.WORK_OUT else "options"
    # Without a known kind nobody can say which of the two belongs here.
    if kind is None:
        reader.expect(_COMMON, optional=frozenset({"answer", "options"}))
    else:
        reader.expect(_COMMON | {answer_field})
    question = Question(
        id=reader.matching("id", _KEBAB, "small letters and digits joined by hyphens, like glove-oil-on-cuff"),
        topic=topic,
        kind=kind or Kind.PICK_ONE,
        consequence=reader.word("consequence", Consequence) or Consequence.LIFE,
        regime=reader.word("regime", Regime) or Regime.ALL,
        situation=reader.text("situation"),
        stem=reader.text("stem"),
        options=_options(reader, kind) if answer_field == "options" else (),
        number=_number(reader) if answer_field == "answer" else None,
        sources=reader.texts("source"),
        review_by=reader.day("review_by"),
        author=author,
    )
    reader.refuse_if_faulty()
    return question


def worked_out_from(mapping: Mapping[str, object]) -> WorkedOut:
    """Read one entry under ``worked_out``. Raises Refused; whether the generator exists is for ``draw`` to say."""
    reader = FieldReader(mapping)
    reader.expect(frozenset({"id", "generator", "review_by"}))
    name = reader.matching("id", _KEBAB, "small letters and digits joined by hyphens, like glove-due-date")
    generator = reader.matching("generator", _SNAKE, "the name of a generator, like glove_due_date")
    review_by = reader.day("review_by")
    reader.refuse_if_faulty()
    assert review_by is not None
    return WorkedOut(id=name, generator=generator, review_by=review_by)


def _options(reader: FieldReader, kind: Kind | None) -> tuple[Option, ...]:
    rows = reader.mappings("options")
    if rows and not 2 <= len(rows) <= MOST_OPTIONS:
        reader.fault("options", "S6", f"Give 2 to {MOST_OPTIONS} options; there are {len(rows)}.")
        return ()
    ordered = kind is Kind.PUT_IN_ORDER
    options = tuple(_option(reader, row, place, ordered) for place, row in enumerate(rows, start=1))
    if options and not ordered:
        _refuse_wrong_count(reader, kind, sum(option.right for option in options))
    return options


def _refuse_wrong_count(reader: FieldReader, kind: Kind | None, right: int) -> None:
    if kind is Kind.PICK_ONE and right != 1:
        reader.fault("options", "L1", f"Mark exactly one option right; {right} are marked.")
    if kind is Kind.PICK_ALL and right == 0:
        reader.fault("options", "L1", "Mark at least one option right.")


def _option(reader: FieldReader, row: Mapping[str, object], place: int, ordered: bool) -> Option:
    inner = reader.inside(f"options[{place}]", row)
    inner.expect(frozenset({"text", "reason"}), optional=frozenset() if ordered else frozenset({"right"}))
    return Option(
        key="abcdefgh"[place - 1],
        text=inner.text("text"),
        reason=inner.text("reason"),
        right=False if ordered else inner.flag("right"),
        place=place if ordered else None,
    )


def _number(reader: FieldReader) -> NumberAnswer | None:
    row = reader.mapping("answer")
    if row is None:
        return None
    inner = reader.inside("answer", row)
    inner.expect(frozenset({"value", "unit", "tolerance", "reason"}))
    tolerance = inner.number("tolerance")
    if tolerance is not None and tolerance <= 0:
        inner.fault("tolerance", "S6", "Give a tolerance above 0, in the unit of the answer.")
    return NumberAnswer(
        value=inner.number("value") or 0.0,
        unit=inner.text("unit"),
        tolerance=tolerance or 0.0,
        reason=inner.text("reason"),
    )
