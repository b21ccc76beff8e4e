"""Marks an answer right or wrong, reads a typed number, and says what chance alone and haste can do."""

from __future__ import annotations

import math
import random
import re

from training.core.questions.figures import figures_of, number_in
from training.core.questions.kinds import Kind, Question

# Chance of a typed number being right without knowing [assumed, memory model section 5].
WORK_OUT_FLOOR = 0.02
# Nobody reads 20 words in a second; skimming ends at about half of that (common practice, no source).
WORDS_PER_SECOND = 20.0
LEAST_SECONDS = 1.0
LONGEST_NUMBER = 24

_SPACES = re.compile(r"[ \u00a0\u2009\u202f]")
_NUMBER = re.compile(r"-?(?:[0-9]{1,3}(?: [0-9]{3})+|[0-9]+)(?:[.,][0-9]+)?")
_COMMA_TRIPLE = re.compile(r"-?[1-9][0-9]{0,2},[0-9]{3}")


class BadAnswer(ValueError):
    """An answer that cannot be marked; the message says what to do instead."""


def mark(question: Question, response: tuple[str, ...] | float) -> bool:
    """Say whether the response is right.

    ``response`` holds option keys (pick one: one key; pick all: in any order; put in order: first to last)
    or, for work out, the number in the question's unit. Raises BadAnswer when it does not fit the question.
    """
    if question.kind is Kind.WORK_OUT:
        return _number_is_right(question, response)
    keys = _keys(question, response)
    if question.kind is Kind.PUT_IN_ORDER:
        return keys == right_keys(question)
    return set(keys) == set(right_keys(question))


def right_keys(question: Question) -> tuple[str, ...]:
    """The keys of the right options; for put in order all keys, first to last."""
    if question.kind is Kind.PUT_IN_ORDER:
        return tuple(option.key for option in sorted(question.options, key=lambda option: option.place or 0))
    return tuple(option.key for option in question.options if option.right)


def parse_number(text: str) -> float:
    """Read a typed number: decimal point or comma, spaces between thousands, a minus in front.

    Raises BadAnswer, with what to type, for anything else; ``1,234`` is refused since it is read in two ways.
    """
    plain = _SPACES.sub(" ", text).replace("\u2212", "-").strip()
    if not plain:
        raise BadAnswer("Type a number, for example 12.5.")
    if len(plain) > LONGEST_NUMBER or _NUMBER.fullmatch(plain) is None:
        raise BadAnswer("Type only the number, for example 12.5 or 12,5 or 1 250, without the unit.")
    if _COMMA_TRIPLE.fullmatch(plain):
        joined, pointed = plain.replace(",", ""), plain.replace(",", ".")
        raise BadAnswer(f"{plain} can be read in two ways. Type {joined} or {pointed}.")
    return number_in(plain)


def chance_floor(question: Question) -> float:
    """The chance of being right without knowing (memory model: 1/n, 1/(2^n - 1), 1/n!, 0.02)."""
    count = len(question.options)
    if question.kind is Kind.WORK_OUT:
        return WORK_OUT_FLOOR
    if question.kind is Kind.PICK_ONE:
        return 1 / count
    return 1 / (2**count - 1) if question.kind is Kind.PICK_ALL else 1 / math.factorial(count)


def shown_order(question: Question, seed: int) -> tuple[str, ...]:
    """The option keys as they are shown, the same for the same seed.

    Figures stay sorted, smallest first. Steps to put in order never stand in the right order already.
    """
    figures = figures_of([option.text for option in question.options])
    keys = [option.key for option in question.options]
    if figures and question.kind is not Kind.PUT_IN_ORDER:
        ranked = sorted(zip(figures, keys, strict=True), key=lambda pair: (pair[0].low, pair[0].high, pair[1]))
        return tuple(key for _, key in ranked)
    random.Random(f"{seed}/{question.id}").shuffle(keys)
    if question.kind is Kind.PUT_IN_ORDER and tuple(keys) == right_keys(question):
        keys = keys[1:] + keys[:1]
    return tuple(keys)


def words_to_read(question: Question) -> int:
    """How many words stand between opening the question and answering it."""
    parts = [question.situation, question.stem, *(option.text for option in question.options)]
    return sum(len(part.split()) for part in parts)


def too_fast(seconds: float, question: Question) -> bool:
    """Say whether an answer came too fast to have been read.

    The rule: under one second, or faster than 20 words a second over situation, stem and options. It lies well
    under what somebody needs who knows the question by heart, reads the numbers and presses twice. A time that is
    no number counts as too fast, for such an answer never counts for anyone.
    """
    needed = max(LEAST_SECONDS, words_to_read(question) / WORDS_PER_SECOND)
    return not seconds >= needed


def _keys(question: Question, response: tuple[str, ...] | float) -> tuple[str, ...]:
    known = {option.key for option in question.options}
    if not isinstance(response, tuple) or not response:
        raise BadAnswer("Choose an answer first.")
    if len(set(response)) != len(response) or not set(response) <= known:
        raise BadAnswer("Choose from the answers shown, each at most once.")
    if question.kind is Kind.PICK_ONE and len(response) != 1:
        raise BadAnswer("Choose one answer.")
    if question.kind is Kind.PUT_IN_ORDER and len(response) != len(known):
        raise BadAnswer("Give every step its place.")
    return response


def _number_is_right(question: Question, response: tuple[str, ...] | float) -> bool:
    if isinstance(response, (tuple, bool)) or not math.isfinite(response):
        raise BadAnswer("Type a number, for example 12.5.")
    number = question.number
    if number is None:
        raise BadAnswer("This question has no number to compare with. Tell whoever keeps the question bank.")
    # The last binary digit must not decide a typed decimal that sits on the edge.
    slack = 1e-9 * max(1.0, abs(number.value))
    return abs(response - number.value) <= number.tolerance + slack
