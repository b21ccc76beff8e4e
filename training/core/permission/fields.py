"""Plain fields, read strictly: each fault is noted with its place and reading goes on, so that all are told at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any


class Faults:
    """What is wrong so far."""

    def __init__(self) -> None:
        self.found: list[str] = []

    def add(self, place: str, what: str) -> None:
        """Note a fault at its place."""
        self.found.append(f"{place}: {what}")


class Fields:
    """The fields of one mapping. Every reader notes a fault and gives a harmless value where the field is not right."""

    def __init__(self, plain: object, place: str, faults: Faults) -> None:
        self.place = place
        self.faults = faults
        self._asked: set[str] = set()
        self._plain: Mapping[Any, Any] = {}
        if isinstance(plain, Mapping):
            self._plain = plain
        else:
            self.fault(f"must be fields with names, not {plain!r}")

    def fault(self, what: str) -> None:
        """Note a fault here."""
        self.faults.add(self.place, what)

    def named(self, field: str) -> None:
        """Say the place by the value of a field, where it has one."""
        if isinstance(self._plain.get(field), str):
            self.place = f"{self.place} ({self._plain[field]})"

    def has(self, field: str) -> bool:
        """Whether the field is there."""
        return field in self._plain

    def names(self) -> list[str]:
        """The names of all fields, as text."""
        return [str(name) for name in self._plain]

    def text(self, field: str, *, empty: bool = False) -> str:
        """Text, not blank unless ``empty``."""
        value = self._get(field, "")
        if not isinstance(value, str) or (not empty and not value.strip()):
            self.fault(f"{field} must be text, not {value!r}")
            return ""
        return value

    def texts(self, field: str, *, empty: bool = False) -> tuple[str, ...]:
        """A list of texts, none twice."""
        values = self._list(field, empty=empty)
        if any(not isinstance(v, str) or not v.strip() for v in values) or len(set(map(str, values))) < len(values):
            self.fault(f"{field} must be different texts, not {values!r}")
            return ()
        return tuple(values)

    def one_of(self, field: str, words: Sequence[str]) -> str:
        """One of these words; the first where it is none of them."""
        value = self._get(field, None)
        if isinstance(value, str) and value in words:
            return value
        self.fault(f"{field} must be one of {', '.join(map(repr, words))}, not {value!r}")
        return words[0]

    def yes_no(self, field: str) -> bool:
        """True or false."""
        value = self._get(field, None)
        if not isinstance(value, bool):
            self.fault(f"{field} must be true or false, not {value!r}")
        return value is True

    def whole(self, field: str, *, least: int, default: int | None = None) -> int:
        """A whole number, at least so much."""
        value = self._get(field, default)
        if not isinstance(value, int) or isinstance(value, bool) or value < least:
            self.fault(f"{field} must be a whole number, at least {least}, not {value!r}")
            return least
        return value

    def whole_or_none(self, field: str, *, least: int) -> int | None:
        """A whole number, or null where nothing is asked; the field has to be there."""
        return None if self.has(field) and self._get(field, None) is None else self.whole(field, least=least)

    def share(self, field: str, *, default: float | None = None) -> float:
        """A number from 0 to 1."""
        value = self._get(field, default)
        if not _is_number(value) or not 0.0 <= value <= 1.0:
            self.fault(f"{field} must be a number from 0 to 1, not {value!r}")
            return 1.0
        return float(value)

    def floor(self, field: str) -> float:
        """A floor of recall low: above 0 and below 1."""
        value = self._get(field, None)
        if not _is_number(value) or not 0.0 < value < 1.0:
            self.fault(f"{field} must be a number above 0 and below 1, not {value!r}")
            return 1.0
        return float(value)

    def floor_or_none(self, field: str) -> float | None:
        """A floor, or null where none is asked; the field has to be there."""
        return None if self.has(field) and self._get(field, None) is None else self.floor(field)

    def under(self, field: str) -> Fields:
        """The fields of a mapping inside this one."""
        return Fields(self._get(field, None), f"{self.place}, {field}", self.faults)

    def each(self, field: str) -> list[Fields]:
        """The mappings of a list that is not empty."""
        values = self._list(field, empty=False)
        return [Fields(v, f"{self.place}, {field} {n}", self.faults) for n, v in enumerate(values, start=1)]

    def nothing_else(self) -> None:
        """Note every field that nobody asked for."""
        for name in self._plain:
            if name not in self._asked:
                self.fault(f"unknown field {name!r}")

    def _get(self, field: str, default: object) -> Any:
        self._asked.add(field)
        return self._plain.get(field, default)

    def _list(self, field: str, *, empty: bool) -> list[Any]:
        values = self._get(field, None)
        if not isinstance(values, list | tuple) or (not empty and not values):
            self.fault(f"{field} must be a list{'' if empty else ' that is not empty'}, not {values!r}")
            return []
        return list(values)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
