"""Lint rules on clues that give the right option away: length, shared words, grammar, likeness (L6, L7, L8, L9)."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from training.core.questions.figures import figure_in
from training.core.questions.kinds import Kind, Question
from training.core.questions.lint.finding import BankEntry, Finding, warn
from training.core.questions.lint.words import ARTICLES, key_and_others, stem_of, telling_stems, words_of

KEY_LENGTH_RATIO = 1.25
SHARED_WITH_KEY = 0.5
_SMALL = ARTICLES | {"and", "or", "of", "to", "in", "on", "at", "it", "is", "with", "for", "by", "then", "from"}


def key_is_longest(question: Question) -> bool:
    """Whether the right option of a pick-one question is strictly the longest (figures do not count)."""
    key, others = key_and_others(question)
    if key is None or not others or question.kind is not Kind.PICK_ONE or figure_in(key.text):
        return False
    return len(key.text) > max(len(other.text) for other in others)


def key_not_longest(question: Question, _: BankEntry) -> Iterator[Finding]:
    """L6."""
    key, others = key_and_others(question)
    if key is None or not key_is_longest(question):
        return
    mean = sum(len(other.text) for other in others) / len(others)
    if len(key.text) > KEY_LENGTH_RATIO * mean:
        yield warn("L6", question, "The right option is much the longest. Shorten it, or say more in the wrong ones.")


def no_word_from_stem(question: Question, _: BankEntry) -> Iterator[Finding]:
    """L7."""
    key, others = key_and_others(question)
    if key is None or question.kind is not Kind.PICK_ONE:
        return
    shared = telling_stems(question.stem) & telling_stems(key.text)
    elsewhere = set[str]().union(*(telling_stems(other.text) for other in others))
    for word in sorted(shared - elsewhere):
        yield warn("L7", question, f"'{word}' stands in the stem and in the right option alone. Use another word.")


def no_grammar_clue(question: Question, _: BankEntry) -> Iterator[Finding]:
    """L8."""
    if article_misfits(question):
        yield warn(
            "L8", question, "Only some options fit the end of the stem. Move the article or verb to the options."
        )


def article_misfits(question: Question) -> bool:
    """Whether the stem ends in a, an, is or are, and some options fit it while others do not."""
    last = (words_of(question.stem) or [""])[-1]
    firsts = [(words_of(option.text) or [""])[0] for option in question.options]
    if last in ("a", "an"):
        fits = {(first[:1] in "aeiou") == (last == "an") for first in firsts}
    elif last in ("is", "are", "was", "were"):
        fits = {first.endswith("s") and not first.endswith("ss") for first in firsts}
    else:
        return False
    return len(fits) > 1


def no_convergence(question: Question, _: BankEntry) -> Iterator[Finding]:
    """L9."""
    key, others = key_and_others(question)
    if key is None or question.kind is not Kind.PICK_ONE or len(others) < 2 or figure_in(key.text):
        return
    with_key = min(_share(other.text, key.text) for other in others)
    among_others = max(
        max(_share(a.text, b.text), _share(b.text, a.text)) for a, b in itertools.combinations(others, 2)
    )
    if with_key >= SHARED_WITH_KEY > among_others:
        yield warn(
            "L9", question, "Each wrong option shares most words with the right one. Let them share with each other."
        )


def _share(part: str, whole: str) -> float:
    words = _content(part)
    return len(words & _content(whole)) / len(words) if words else 0.0


def _content(text: str) -> set[str]:
    return {stem_of(word) for word in words_of(text) if word not in _SMALL}
