"""What a question to the trade takes: named fields with type, unit and bounds, read strictly and all faults at once.

A field that is left out is missing, unless it is optional. An optional field without a default that is left out, or a
field that may be null and is, means "not known", and what is not known counts against the answer.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any, Final, Literal

from training.core.trade import checks
from training.core.trade.errors import BadInput, NotADate, NotANumber, UnknownWord

Bounds = Literal["any", "0 or more", "above 0"]
Type = Literal["number", "whole number", "true or false", "date", "instant", "word", "text"]
Values = Mapping[str, Any]


class AskedWrongly(BadInput):
    """Fields that are missing, unknown or of the wrong type. ``faults`` names each one."""

    code = "asked_wrongly"

    def __init__(self, faults: Sequence[str]) -> None:
        super().__init__("; ".join(faults), "Give the fields that the schema of this kind names")
        self.faults = tuple(faults)


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One field. ``many`` = a list of such values; ``fields`` = an object of fields instead of a single value."""

    name: str
    type: Type
    says: str
    unit: str = ""
    bounds: Bounds = "any"
    words: tuple[str, ...] = ()
    fields: tuple[Field, ...] = ()
    many: bool = False
    required: bool = True
    may_be_null: bool = False
    default: object = None
    left_out: str = ""

    @property
    def type_name(self) -> str:
        """The type in words, for people."""
        one = "object" if self.fields else self.type
        return f"list of {one}s" if self.many else one


def read(fields: Sequence[Field], given: object, place: str = "") -> dict[str, Any]:
    """The values of the fields, checked and in full; AskedWrongly names every missing, unknown or wrong one."""
    faults: list[str] = []
    values = _read_object(fields, given, place, faults)
    if faults:
        raise AskedWrongly(faults)
    return values


def plain(value: object) -> Any:
    """A read value as plain JSON: days and instants as ISO text."""
    if isinstance(value, date):  # a datetime is one too
        return value.isoformat()
    if isinstance(value, Mapping):
        return {str(name): plain(each) for name, each in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(each) for each in value]
    return value


def _read_object(fields: Sequence[Field], given: object, place: str, faults: list[str]) -> dict[str, Any]:
    if not isinstance(given, Mapping):
        faults.append(f"{place or 'what is given'} must be an object of named fields")
        return {}
    known = {field.name for field in fields}
    faults.extend(f"{place}{name} is unknown" for name in map(str, given) if name not in known)
    return {field.name: _read_field(field, given, place, faults) for field in fields}


def _read_field(field: Field, given: Mapping[Any, Any], place: str, faults: list[str]) -> Any:
    name = f"{place}{field.name}"
    if field.name not in given:
        if field.required:
            faults.append(f"{name} is missing")
        return field.default
    value = given[field.name]
    if value is None:
        if not field.may_be_null:
            faults.append(f"{name} is null, which is no {field.type_name}")
        return field.default
    if not field.many:
        return _read_one(field, value, name, faults)
    if not isinstance(value, (list, tuple)):
        faults.append(f"{name} must be a {field.type_name}")
        return ()
    return tuple(_read_one(field, each, f"{name}[{number}]", faults) for number, each in enumerate(value, start=1))


def _read_one(field: Field, value: object, name: str, faults: list[str]) -> Any:
    if field.fields:
        return _read_object(field.fields, value, f"{name}.", faults)
    try:
        return _READERS[field.type](field, value, name)
    except BadInput as problem:
        faults.append(problem.what)
    except (OverflowError, ValueError):
        faults.append(f"{name} is too large to read")
    return None


def _number(field: Field, value: object, name: str) -> float:
    check = {"any": checks.number, "0 or more": checks.not_negative, "above 0": checks.positive}[field.bounds]
    try:
        return check(value, name, field.unit or "numbers")
    except BadInput as problem:
        if isinstance(problem, NotANumber):
            raise
        raise type(problem)(f"{problem.what}, which is not {field.bounds}", problem.give) from None


def _whole_number(field: Field, value: object, name: str) -> int:
    if not isinstance(value, int) or isinstance(value, bool):
        raise NotANumber(f"{name} is {value!r}, which is no whole number", f"Give {name} as a whole number")
    _number(field, value, name)
    return value


def _true_or_false(field: Field, value: object, name: str) -> bool:
    if not isinstance(value, bool):
        raise UnknownWord(f"{name} is {value!r}, which is neither true nor false", "Give true or false")
    return value


def _date(field: Field, value: object, name: str) -> date:
    try:
        day = date.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        day = None
    if day is None or day.isoformat() != value:
        raise NotADate(f"{name} is {value!r}, which is no date like 2026-05-31", "Give year, month and day")
    return day


def _instant(field: Field, value: object, name: str) -> datetime:
    try:
        instant = datetime.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        instant = None
    if instant is None or instant.utcoffset() is None:
        wanted = "date and time with offset like 2026-05-31T14:30+02:00"
        raise NotADate(f"{name} is {value!r}, which is no {wanted}", f"Give a {wanted}")
    return instant


def _word(field: Field, value: object, name: str) -> str:
    if not isinstance(value, str) or value not in field.words:
        known = ", ".join(field.words)
        raise UnknownWord(f"{name} is {value!r}, which is none of: {known}", f"Give one of: {known}")
    return value


def _text(field: Field, value: object, name: str) -> str:
    if not isinstance(value, str) or not value.strip():
        raise UnknownWord(f"{name} is {value!r}, which is no text", f"Give {name} as text")
    return value.strip()


_READERS: Final[Mapping[Type, Callable[[Field, object, str], Any]]] = {
    "number": _number,
    "whole number": _whole_number,
    "true or false": _true_or_false,
    "date": _date,
    "instant": _instant,
    "word": _word,
    "text": _text,
}


# ---------------------------------------------------------------- to write fields with
def amount(name: str, unit: str, says: str, bounds: Bounds = "above 0") -> Field:
    """A number with its unit."""
    return Field(name=name, type="number", unit=unit, says=says, bounds=bounds)


def yes_no(name: str, says: str) -> Field:
    """True or false."""
    return Field(name=name, type="true or false", says=says)


def day(name: str, says: str) -> Field:
    """A calendar date."""
    return Field(name=name, type="date", unit="day", says=says)


def one_of(name: str, words: Iterable[str], says: str) -> Field:
    """One of these words."""
    return Field(name=name, type="word", words=tuple(words), says=says)


def some_of(name: str, words: Iterable[str], says: str) -> Field:
    """A list of these words, perhaps empty."""
    return replace(one_of(name, words, says), many=True)


def objects(name: str, fields: Iterable[Field], says: str) -> Field:
    """A list of objects, perhaps empty."""
    return Field(name=name, type="text", fields=tuple(fields), says=says, many=True)


def or_null(field: Field) -> Field:
    """The same field, which has to be there but may be null: nobody knows."""
    return replace(field, may_be_null=True)


def otherwise(field: Field, default: object) -> Field:
    """The same field, which may be left out for this default."""
    return replace(field, required=False, default=default, left_out="the default")


def spare(field: Field, left_out: str) -> Field:
    """The same field, which may be left out or null; ``left_out`` says what then happens."""
    return replace(field, required=False, may_be_null=True, left_out=left_out)


def optional(*fields: Field) -> Iterator[Field]:
    """The same fields, which may be left out or null: not known then, and that counts against the answer."""
    return (spare(field, "not known, and that counts against it") for field in fields)
