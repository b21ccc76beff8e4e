"""Cuts texts into words, stems and sentences for the lint rules."""

from __future__ import annotations

import re

from training.core.questions.kinds import Option, Question

_WORD = re.compile(r"[a-z0-9]+(?:['\u2019-][a-z0-9]+)*", re.IGNORECASE)
_SENTENCE_END = re.compile(r"(?<=[.!?])\s+")
_VOWELS = re.compile(r"[aeiouy]+")
ARTICLES = frozenset({"a", "an", "the"})


def words_of(text: str) -> list[str]:
    """The words of a text in small letters."""
    return _WORD.findall(text.casefold())


def stem_of(word: str) -> str:
    """A word without its commonest endings, enough to see that ``insulated`` and ``insulating`` are one."""
    for ending in ("ing", "ed", "es", "s"):
        if word.endswith(ending) and len(word) - len(ending) >= 4:
            return word[: -len(ending)]
    return word


def telling_stems(text: str) -> set[str]:
    """Stems of the words of more than four letters."""
    return {stem_of(word) for word in words_of(text) if len(word) > 4}


def sentences_of(text: str) -> list[str]:
    return [sentence for sentence in _SENTENCE_END.split(text.strip()) if sentence]


def reading_grade(text: str) -> float:
    """School years that a text asks for (Flesch-Kincaid: 0.39 words a sentence + 11.8 syllables a word - 15.59)."""
    words = words_of(text)
    if not words:
        return 0.0
    syllables = sum(_syllables(word) for word in words)
    return 0.39 * len(words) / len(sentences_of(text)) + 11.8 * syllables / len(words) - 15.59


def key_and_others(question: Question) -> tuple[Option | None, list[Option]]:
    """The one right option and the wrong ones; no key where there is none or more than one."""
    rights = [option for option in question.options if option.right]
    others = [option for option in question.options if not option.right]
    return (rights[0] if len(rights) == 1 else None), others


def texts_read(question: Question) -> list[str]:
    """Every text that is read before answering."""
    return [question.situation, question.stem, *(option.text for option in question.options)]


def _syllables(word: str) -> int:
    silent = word.endswith("e") and not word.endswith("le")
    return max(1, len(_VOWELS.findall(word)) - silent)
