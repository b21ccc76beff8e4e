"""Lint rules on the options: how many, how worded, how alike (L1, L2, L4, L5, L10, L11, L12, L23)."""

from __future__ import annotations

import difflib
import itertools
import re
from collections.abc import Iterator

from training.core.questions.figures import Figure, figure_in, figures_of
from training.core.questions.kinds import Kind, Question
from training.core.questions.lint.finding import BankEntry, Finding, error, warn
from training.core.questions.lint.words import ARTICLES, key_and_others, sentences_of, words_of

MOST_PREFERRED = 4
# Articles change nothing; measurement categories are figures in Roman dress.
_NO_TRICK = ARTICLES | {"ii", "iii", "iv"}
_PICKS = (Kind.PICK_ONE, Kind.PICK_ALL)
_CATCH_ALL = re.compile(
    r"\b(all|none|both|neither|either|any) of (the|these|them)\b|\b(both|neither|either) [a-h] (and|or|nor) [a-h]\b",
    re.IGNORECASE,
)
_CATCH_LETTERS = re.compile(r"(?:both |neither |options? |answers? )?[A-H] (?:and|or|nor|&) [A-H]\.?")
_ABSOLUTE = re.compile(r"\b(always|never|only|all)\b", re.IGNORECASE)
_VAGUE = re.compile(r"\b(usually|often|rarely|sometimes|mostly|seldom|generally|frequently|normally)\b", re.IGNORECASE)
# "may" as permission is a plain word of the trade; "may" as chance is vague.
_MAY_BE = re.compile(
    r"\bmay (?:well |perhaps )?(be(?! used\b)|have|cause|happen|occur|fail|lead|still|spark)\b", re.IGNORECASE
)


def right_number_of_options(question: Question, _: BankEntry) -> Iterator[Finding]:
    """L1."""
    sentence = _count_fault(question)
    if sentence:
        yield error("L1", question, sentence)
    elif question.kind is Kind.PICK_ONE and len(question.options) > MOST_PREFERRED:
        yield warn("L1", question, "Keep the two wrong options that people really choose; three options are preferred.")


def _count_fault(question: Question) -> str:
    if question.kind is Kind.WORK_OUT:
        return "" if question.number and not question.options else "Give a number as answer, and no options."
    rights = sum(option.right for option in question.options)
    wrong = len(question.options) - rights
    if question.kind is Kind.PUT_IN_ORDER:
        return "" if len(question.options) >= 3 else "Give at least three steps to put in order."
    if question.kind is Kind.PICK_ONE and rights != 1:
        return f"Mark exactly one option right; {rights} are marked."
    if question.kind is Kind.PICK_ONE and wrong < 2:
        return "Give at least two wrong options."
    return "" if rights and wrong else "Give at least one right and one wrong option."


def no_catch_all(question: Question, _: BankEntry) -> Iterator[Finding]:
    """L2."""
    for option in question.options:
        if _CATCH_ALL.search(option.text) or _CATCH_LETTERS.fullmatch(option.text.strip()):
            yield error("L2", question, f"Option {option.key} speaks of the other options. Say what is done instead.")


def no_absolutes(question: Question, _: BankEntry) -> Iterator[Finding]:
    """L4."""
    for option in question.options if question.kind in _PICKS else ():
        found = _ABSOLUTE.search(option.text)
        if found and not _CATCH_ALL.search(option.text):
            yield warn("L4", question, f"Option {option.key} says '{found[0]}'. Say how far it holds, or leave it out.")


def no_vague_frequency(question: Question, _: BankEntry) -> Iterator[Finding]:
    """L5."""
    for text in [question.stem, *(option.text for option in question.options)]:
        found = _VAGUE.search(text) or _MAY_BE.search(text)
        if found:
            yield warn("L5", question, f"'{found[0]}' means something else to everybody. Give a figure or a condition.")


def no_duplicates(question: Question, _: BankEntry) -> Iterator[Finding]:
    """L10."""
    for one, other in itertools.combinations(question.options, 2):
        if _same_meaning(one.text, other.text):
            yield error("L10", question, f"Options {one.key} and {other.key} say the same. Replace one.")


def _same_meaning(one: str, other: str) -> bool:
    first, second = figure_in(one), figure_in(other)
    if first and second:
        return (first.low, first.high, first.unit) == (second.low, second.high, second.unit)
    bare = [[word for word in words_of(text) if word not in ARTICLES] for text in (one, other)]
    return bare[0] == bare[1]


def figures_in_order(question: Question, _: BankEntry) -> Iterator[Finding]:
    """L11."""
    figures = figures_of([option.text for option in question.options])
    if not figures or question.kind is Kind.PUT_IN_ORDER:
        return
    if any(_overlap(one, other) for one, other in itertools.combinations(figures, 2)):
        yield error("L11", question, "Two ranges overlap, so that one figure fits both. Part them.")
    elif len({figure.printed_unit for figure in figures}) > 1:
        yield warn("L11", question, "Print all figures in one unit.")
    elif [figure.low for figure in figures] not in _sorted_both_ways(figures):
        yield warn("L11", question, "Put the figures in order of size.")


def _overlap(one: Figure, other: Figure) -> bool:
    is_range = one.low != one.high or other.low != other.high
    return is_range and one.unit == other.unit and one.low < other.high and other.low < one.high


def _sorted_both_ways(figures: list[Figure]) -> list[list[float]]:
    rising = sorted(figure.low for figure in figures)
    return [rising, rising[::-1]]


def parallel_options(question: Question, _: BankEntry) -> Iterator[Finding]:
    """L12."""
    texts = [option.text.strip() for option in question.options if option.text.strip()]
    shapes = [
        {text[-1] in ".!?" for text in texts},
        {text[0].isupper() for text in texts if text[0].isalpha()},
        {len(sentences_of(text)) > 1 for text in texts},
    ]
    if any(len(shape) > 1 for shape in shapes):
        yield warn("L12", question, "Give the options one shape: all sentences or all fragments, one end mark.")


def no_tricks(question: Question, _: BankEntry) -> Iterator[Finding]:
    """L23."""
    key, others = key_and_others(question)
    for other in others if key and figure_in(key.text) is None else ():
        if key and _one_small_word_apart(words_of(key.text), words_of(other.text)):
            yield warn("L23", question, f"Option {other.key} differs from the right one by a small word. Say more.")


def _one_small_word_apart(one: list[str], other: list[str]) -> bool:
    matcher = difflib.SequenceMatcher(None, one, other, autojunk=False)
    changes = [code for code in matcher.get_opcodes() if code[0] != "equal"]
    if len(changes) != 1 or min(len(one), len(other)) < 3:
        return False
    _, start, end, other_start, other_end = changes[0]
    changed = [*one[start:end], *other[other_start:other_end]]
    single = end - start <= 1 and other_end - other_start <= 1
    return single and all(len(word) <= 3 and word.isalpha() and word not in _NO_TRICK for word in changed)
