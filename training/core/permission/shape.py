"""Whether evidence has the shape that it says it has: what has not is never trusted, whoever built it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from functools import lru_cache
from types import NoneType, UnionType
from typing import Any, get_args, get_origin, get_type_hints

Fits = Callable[[Any], bool]


def misfits(value: Any, kind: type) -> tuple[str, ...]:
    """The fields of a dataclass of this kind whose values are not of the shape declared; the kind itself if it is none.

    Instants need their offset, numbers have to be finite, a truth value is no number. What lies inside a mapping is not
    looked at.
    """
    if not isinstance(value, kind):
        return (kind.__name__,)
    return tuple(name for name, fits in _checks(kind) if not fits(getattr(value, name)))


@lru_cache(maxsize=64)
def _checks(kind: type) -> tuple[tuple[str, Fits], ...]:
    hints = get_type_hints(kind)
    return tuple((field.name, _fits(hints[field.name])) for field in fields(kind))


@lru_cache(maxsize=256)
def _fits(hint: Any) -> Fits:
    origin, inner = get_origin(hint), get_args(hint)
    if origin is UnionType:
        choices = [_fits(each) for each in inner]
        return lambda value: any(fits(value) for fits in choices)
    if origin is tuple:
        each_fits = _fits(inner[0])
        return lambda value: isinstance(value, tuple | list) and all(map(each_fits, value))
    if origin is frozenset:
        member_fits = _fits(inner[0])
        return lambda value: isinstance(value, frozenset | set) and all(map(member_fits, value))
    if origin is not None:
        return lambda value: isinstance(value, Mapping)
    return _fits_plain(hint)


def _fits_plain(kind: type) -> Fits:
    if is_dataclass(kind):
        return lambda value: isinstance(value, kind) and all(fits(getattr(value, name)) for name, fits in _checks(kind))
    return PLAIN.get(kind) or (lambda value: isinstance(value, kind))


PLAIN: dict[type, Fits] = {
    int: lambda value: isinstance(value, int) and not isinstance(value, bool),
    float: lambda value: isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value),
    date: lambda value: isinstance(value, date) and not isinstance(value, datetime),
    datetime: lambda value: isinstance(value, datetime) and value.utcoffset() is not None,
    NoneType: lambda value: value is None,
}
