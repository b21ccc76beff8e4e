"""What an answer of the trade holds: a verdict with every reason against it, figures with units, and sources."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal

from training.core.trade.asking.fields import Field, Values, plain, read
from training.core.trade.errors import BadInput, MakerValueMissing, NotIssuable, OutOfRange, RuleMissing
from training.core.trade.reasons import Reason, refused

CAUTION: Final = (
    "Training aid. The maker's procedure, local codes and licensed practice come first. "
    "Hookside never says that a vehicle is safe."
)
# Not an error of the one who asks: there is an answer, and it is no.
NO_VERDICT_WITHOUT: Final = (MakerValueMissing, RuleMissing, NotIssuable)


@dataclass(frozen=True, slots=True)
class Gives:
    """One figure that a kind gives."""

    name: str
    unit: str
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """``ok`` None: only figures, no verdict. ``reasons`` are (about what, reason); figures are by name."""

    ok: bool | None
    verdict: str
    figures: Mapping[str, Any]
    reasons: tuple[tuple[str, Reason], ...] = ()
    sources: tuple[str, ...] = ()
    not_judged: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of question: what it asks, takes and gives, an example as JSON text, and who answers it."""

    name: str
    asks: str
    takes: tuple[Field, ...]
    gives: tuple[Gives, ...]
    verdict_name: Literal["fit", "ok"] | None
    example: str
    answer: Callable[[Values], Answer]

    def answered(self, given: object) -> dict[str, Any]:
        """The answer as plain JSON values; a BadInput for what cannot be read or computed with, never a number."""
        values = read(self.takes, given)
        try:
            answer = self.answer(values)
        except BadInput:
            raise
        except (ArithmeticError, ValueError):  # overflow, division by an underflow, the logarithm of one
            raise _beyond() from None
        figures = {each.name: _figure(each, answer.figures) for each in self.gives if each.name in answer.figures}
        verdict: dict[str, Any] = {self.verdict_name: answer.ok} if self.verdict_name and answer.ok is not None else {}
        return {
            "kind": self.name,
            "given": plain(values),
            **verdict,
            "verdict": answer.verdict,
            "figures": figures,
            "reasons": [_reason(about, reason) for about, reason in answer.reasons],
            "sources": _sources(answer),
            "not_judged": list(answer.not_judged),
            "caution": CAUTION,
        }

    def schema(self) -> dict[str, Any]:
        """What this kind takes and gives, with types and units, as plain JSON values."""
        return {
            "kind": self.name,
            "asks": self.asks,
            "takes": [_field_schema(field) for field in self.takes],
            "verdict": self.verdict_name,
            "gives": [{"name": each.name, "unit": each.unit, "says": each.says} for each in self.gives],
            "example": json.loads(self.example),
            "caution": CAUTION,
        }


def against(about: str, reasons: Iterable[Reason]) -> tuple[tuple[str, Reason], ...]:
    """Each reason with what it is about."""
    return tuple((about, reason) for reason in reasons)


def attempted(source: str, compute: Callable[[], Iterable[Reason]]) -> tuple[Reason, ...]:
    """The reasons, or the one that says which value somebody else has to give before there is any verdict."""
    try:
        return tuple(compute())
    except NO_VERDICT_WITHOUT as problem:
        return (refused(problem, source),)


def figure_or_none(compute: Callable[[], Any]) -> Any:
    """A figure, or None where there is none for these values."""
    try:
        return compute()
    except BadInput:
        return None


def without_none(figures: Mapping[str, Any]) -> dict[str, Any]:
    """Only the figures that there are."""
    return {name: value for name, value in figures.items() if value is not None}


def _figure(gives: Gives, figures: Mapping[str, Any]) -> dict[str, Any]:
    value = plain(figures[gives.name])
    if not _finite(value):
        raise _beyond()
    return {"value": value, "unit": gives.unit}


def _finite(value: object) -> bool:
    if isinstance(value, dict):
        return all(_finite(each) for each in value.values())
    if isinstance(value, list):
        return all(_finite(each) for each in value)
    return not isinstance(value, float) or math.isfinite(value)


def _beyond() -> OutOfRange:
    return OutOfRange("These numbers are too large or too small to compute with", "Give numbers as a workshop has them")


def _reason(about: str, reason: Reason) -> dict[str, str]:
    return {"about": about, "code": reason.code, "sentence": reason.sentence, "source": reason.source}


def _sources(answer: Answer) -> list[str]:
    return list(dict.fromkeys((*answer.sources, *(reason.source for _, reason in answer.reasons))))


def _field_schema(field: Field) -> dict[str, Any]:
    shown: dict[str, Any] = {"name": field.name, "type": field.type_name, "unit": field.unit, "says": field.says}
    shown["required"] = field.required
    shown["may_be_null"] = field.may_be_null
    if field.bounds != "any":
        shown["bounds"] = field.bounds
    if field.words:
        shown["words"] = list(field.words)
    if field.fields:
        shown["fields"] = [_field_schema(each) for each in field.fields]
    if not field.required:
        shown["left_out"] = field.left_out
    if field.default is not None:
        shown["default"] = plain(field.default)
    return shown
