"""Reads single fields of a mapping and gathers their faults, so that a file is refused once with all of them."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import TypeVar

Word = TypeVar("Word", bound=StrEnum)

LONGEST_TEXT = 2000


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong: the field (``options[2].reason``), the rule broken, and a sentence that says what to do.

    Rules: S1 unknown field, S2 missing field, S3 wrong type or empty, S4 a word that is not on the list,
    S5 badly formed name, S6 does not fit the kind, S7 no date, S8 id used twice; L1 to L24 as in the lint.
    """

    field: str
    rule: str
    sentence: str


class Refused(ValueError):
    """A question that cannot be read; ``faults`` holds all of them."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(f"{fault.rule} {fault.field}: {fault.sentence}" for fault in self.faults))


class FieldReader:
    """Reads the fields of one mapping; a field that cannot be read leaves a fault and a harmless stand-in."""

    def __init__(self, mapping: object, *, path: str = "", faults: list[Fault] | None = None) -> None:
        self._faults: list[Fault] = [] if faults is None else faults
        self._path = path
        self._mapping: Mapping[object, object] = {}
        if isinstance(mapping, Mapping):
            self._mapping = mapping
        else:
            self.fault("", "S3", "Write fields with names here, one a line.")

    def inside(self, name: str, mapping: object) -> FieldReader:
        """A reader of a mapping within this one, with the same list of faults."""
        return FieldReader(mapping, path=self._named(name), faults=self._faults)

    def fault(self, name: str, rule: str, sentence: str) -> None:
        self._faults.append(Fault(self._named(name), rule, sentence))

    def refuse_if_faulty(self) -> None:
        """Raise Refused when any field had a fault."""
        if self._faults:
            raise Refused(self._faults)

    def expect(self, required: frozenset[str], *, optional: frozenset[str] = frozenset()) -> None:
        """Note every missing and every unknown field by name."""
        for name in sorted(required - set(self._mapping)):
            self.fault(name, "S2", f"Add the field {name}.")
        for key in self._mapping:
            if key not in required | optional:
                self.fault(str(key)[:60], "S1", "This field is not known here. Take it out or mend its name.")

    def text(self, name: str) -> str:
        if name not in self._mapping:
            return ""
        value = self._mapping[name]
        if not isinstance(value, str) or not value.strip():
            self.fault(name, "S3", "Write some text, in quotation marks where it begins with a digit.")
            return ""
        if len(value) > LONGEST_TEXT:
            self.fault(name, "S3", f"Shorten this text to {LONGEST_TEXT} characters.")
        return " ".join(value.split())

    def texts(self, name: str) -> tuple[str, ...]:
        """A list of at least one text."""
        if name not in self._mapping:
            return ()
        value = self._mapping[name]
        if isinstance(value, list) and value and all(isinstance(line, str) and line.strip() for line in value):
            return tuple(" ".join(line.split()) for line in value)
        self.fault(name, "S3", "Give a list of at least one text.")
        return ()

    def matching(self, name: str, pattern: re.Pattern[str], wanted: str) -> str:
        value = self.text(name)
        if value and pattern.fullmatch(value) is None:
            self.fault(name, "S5", f"Write {wanted}.")
        return value

    def word(self, name: str, words: type[Word]) -> Word | None:
        """A word from a fixed list, None (with a fault when it is there but wrong) otherwise."""
        if name not in self._mapping:
            return None
        value = self._mapping[name]
        for word in words:
            if word.value == value:
                return word
        self.fault(name, "S4", f"Write one of: {', '.join(words)}.")
        return None

    def flag(self, name: str) -> bool:
        value = self._mapping.get(name, False)
        if not isinstance(value, bool):
            self.fault(name, "S3", "Write true or false.")
            return False
        return value

    def number(self, name: str) -> float | None:
        if name not in self._mapping:
            return None
        value = self._mapping[name]
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
            self.fault(name, "S3", "Write a plain number with a decimal point.")
            return None
        return float(value)

    def day(self, name: str) -> date | None:
        """A date, as YAML reads it or as ISO text."""
        if name not in self._mapping:
            return None
        value = self._mapping[name]
        if isinstance(value, date) and not isinstance(value, datetime):
            return value
        try:
            return date.fromisoformat(value if isinstance(value, str) else "")
        except ValueError:
            self.fault(name, "S7", "Write a day as year-month-day, like 2027-11-30.")
            return None

    def mapping(self, name: str) -> Mapping[str, object] | None:
        if name not in self._mapping:
            return None
        value = self._mapping[name]
        if not isinstance(value, Mapping):
            self.fault(name, "S3", "Write fields with names here.")
            return None
        return value

    def mappings(self, name: str) -> list[Mapping[str, object]]:
        """A list of mappings; a row that is none leaves a fault and the list empty."""
        if name not in self._mapping:
            return []
        value = self._mapping[name]
        if isinstance(value, list) and value and all(isinstance(row, Mapping) for row in value):
            return value
        self.fault(name, "S3", "Give a list of options, each with text and reason.")
        return []

    def _named(self, name: str) -> str:
        return f"{self._path}.{name}" if self._path and name else self._path or name
