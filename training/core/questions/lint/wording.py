"""Lint rules on situation and stem: negatives, whether it can be answered, length (L3, L13, L14)."""

from __future__ import annotations

import re
from collections.abc import Iterator

from training.core.questions.kinds import Kind, Question
from training.core.questions.lint.clues import article_misfits
from training.core.questions.lint.finding import BankEntry, Finding, error, warn
from training.core.questions.lint.words import reading_grade, sentences_of, words_of

STEM_WORDS = 60
SITUATION_AND_STEM_WORDS = 100
OPTION_WORDS = 20
# Ten school years; the trade's own long words (insulation, isolation) are most of what lies above.
GRADE = 12.0
WORDS_FOR_GRADE = 20

_NEGATION = r"(?:not|except|never|cannot|least likely|n't)"
_NEGATIVE_ASK = re.compile(
    rf"\b(?:which|who|what (?:must|may|should|can|is|are)|where|all of)\b[^?.,;]*?\b({_NEGATION})\b|\b(except)\b",
    re.IGNORECASE,
)
_DOUBLE = re.compile(
    r"\b(?:not|never|cannot|no)\b[^?.,;]*\b(?:not|never|un(?:safe|fit|likely|tested|proved|locked)|except)\b",
    re.IGNORECASE,
)
_ORDER_TO_DO = re.compile(r"(?:put|work out|give|tick|choose|pick|name|mark|say)\b", re.IGNORECASE)
_WHICH_IS_TRUE = re.compile(
    r"which (?:one |option |answer |statement )?(?:of (?:these|the following) )?(?:(?:statements|options|answers) )?"
    r"(?:is|are) (?:true|right|correct|false|wrong)\?",
    re.IGNORECASE,
)


def no_negative_stem(question: Question, _: BankEntry) -> Iterator[Finding]:
    """L3."""
    asked = _asking_sentence(question.stem)
    if _DOUBLE.search(asked):
        yield error("L3", question, "The stem denies twice. Ask for what is done.")
        return
    found = _NEGATIVE_ASK.search(asked)
    if found is None:
        return
    word = found[1] or found[2]
    if word.isupper():
        yield warn("L3", question, f"The stem asks for what is {word}. Ask for what is done, if you can.")
    else:
        yield error("L3", question, f"Write {word.upper()} in capitals, or better ask for what is done.")


def answerable_stem(question: Question, _: BankEntry) -> Iterator[Finding]:
    """L13."""
    stem = question.stem.strip()
    asked = _asking_sentence(stem)
    ordered = question.kind in (Kind.PUT_IN_ORDER, Kind.WORK_OUT, Kind.PICK_ALL)
    commands = ordered and stem.endswith(".") and _ORDER_TO_DO.match(asked)
    if _WHICH_IS_TRUE.fullmatch(asked):
        yield warn("L13", question, "Ask something that can be answered with the options covered.")
    elif not stem.endswith("?") and not commands and not article_misfits(question):
        yield warn(
            "L13", question, "End the stem with a question, so that it can be answered with the options covered."
        )


def short_enough(question: Question, _: BankEntry) -> Iterator[Finding]:
    """L14."""
    both = f"{question.situation} {question.stem}"
    counts = (len(words_of(question.stem)), len(words_of(both)))
    if counts[0] > STEM_WORDS or counts[1] > SITUATION_AND_STEM_WORDS:
        yield warn("L14", question, f"Shorten situation and stem; they have {counts[1]} words.")
    elif counts[1] >= WORDS_FOR_GRADE and reading_grade(both) > GRADE:
        yield warn("L14", question, "Use shorter sentences and words in situation and stem.")
    for option in question.options:
        if len(words_of(option.text)) > OPTION_WORDS:
            yield warn("L14", question, f"Shorten option {option.key} to {OPTION_WORDS} words.")


def _asking_sentence(stem: str) -> str:
    sentences = sentences_of(stem)
    return sentences[-1] if sentences else ""
