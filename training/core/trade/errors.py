"""What can be wrong with what we are given: each error says what is wrong and what to give instead."""

from __future__ import annotations

from typing import ClassVar


class BadInput(ValueError):
    """Input that no answer can be computed from. ``what`` is wrong with it, ``give`` says what is wanted."""

    code: ClassVar[str] = "bad_input"

    def __init__(self, what: str, give: str) -> None:
        super().__init__(f"{what}. {give}.")
        self.what = what
        self.give = give


class NotANumber(BadInput):
    """Text, a truth value, infinity or not-a-number where a number is wanted."""

    code = "not_a_number"


class OutOfRange(BadInput):
    """A number or date that cannot be meant, or that the rule does not reach."""

    code = "out_of_range"


class NotADate(BadInput):
    """Something other than a plain calendar date, or an instant without its offset."""

    code = "not_a_date"


class UnknownWord(BadInput):
    """A class, category, kind or mark that the standard does not have."""

    code = "unknown_word"


class UnknownZone(BadInput):
    """A time zone that the tz database does not have."""

    code = "unknown_zone"


class Contradiction(BadInput):
    """Readings or entries that cannot all be true."""

    code = "contradiction"


class MakerValueMissing(BadInput):
    """No verdict without the vehicle or equipment maker's own figure; a general figure never stands in for it."""

    code = "maker_value_missing"


class RuleMissing(BadInput):
    """No verdict without a figure that somebody on the spot has to lay down (fire service, insurer, rule book)."""

    code = "rule_missing"


class NotIssuable(BadInput):
    """Gloves that may not be put into service before a new electrical test."""

    code = "not_issuable"
