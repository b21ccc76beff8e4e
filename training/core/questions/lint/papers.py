"""Lint rules on reasons, source, units, pictures and versions (L16 to L22, L24)."""

from __future__ import annotations

import re
from collections.abc import Iterator

from training.core.questions.kinds import Consequence, Question
from training.core.questions.lint.finding import BankEntry, Finding, error, fingerprint, warn
from training.core.questions.lint.words import texts_read, words_of

_LEANS = re.compile(
    r"\b(?:the|your) (?:last|previous|next|other|earlier) (?:question|answer)\b|\bquestion [0-9]+\b", re.IGNORECASE
)
_NUMBER = r"[0-9]+(?:[ \u00a0][0-9]{3})*(?:[.,][0-9]+)?"
_UNIT = (
    r"(?:[kmM\u00b5]?(?:V|A|W|J|ohm|\u03a9|Hz|F)\b|[mck]?m\b|k?g\b|t\b|N ?m\b|N\b|lb|in\b|ft\b|bar\b"
    r"|%|\u00b0|C\b|ms\b|s\b|h\b|sec|min|hour|day|week|month|year|volt|amp|times\b)"
)
_BARE_FIGURE = re.compile(
    r"\b(?:voltage(?: is| of)?|volts|reads?|torque(?: is| of| to)?"
    r"|tighten(?:ed)? (?:it |them )?to|wait(?:s|ed)?(?: for)?)"
    rf" (?:about |under |over |at least )?({_NUMBER})(?![0-9]|[.,][0-9])(?!(?-i:\s*{_UNIT}))",
    re.IGNORECASE,
)
_CATEGORY = re.compile(r"\bCAT (?:II|III|IV)\b")
_VOLTS = re.compile(r"[0-9]\s*k?V\b")
_COLOURS = "red|green|yellow|orange|blue|black|white|brown"
_COLOUR_ALONE = re.compile(
    rf"\bthe (?:{_COLOURS}) (?:one|part|area|line|box|shape|bar|zone|dot|ring)s?\b", re.IGNORECASE
)
_JUDGEMENT = frozenset(
    words_of(
        "wrong right not correct incorrect unsafe dangerous no false true answer this is it that option never do don't"
        " very yes bad good a an the because so here"
    )
)


def stands_alone(question: Question, entry: BankEntry) -> Iterator[Finding]:
    """L16."""
    leaning = next((found for text in texts_read(question) if (found := _LEANS.search(text))), None)
    if entry.hinges_on or leaning:
        other = entry.hinges_on or "another question"
        yield error("L16", question, f"It needs the answer to {other}. Write it so that it stands alone.")


def papers_complete(question: Question, entry: BankEntry) -> Iterator[Finding]:
    """L17."""
    wanted = {
        "a source (document and clause, or 'common practice, no source')": any(s.strip() for s in question.sources),
        "an author": bool(question.author.strip()),
        "a checker": bool(question.checker.strip()) or not entry.approved,
        "a review-by date": question.review_by is not None,
    }
    for what, there in wanted.items():
        if not there:
            yield error("L17", question, f"Give {what}.")
    if entry.on and question.review_by and question.review_by < entry.on:
        yield warn("L17", question, "Its review-by date has passed. Look at it again and set a new one.")


def every_reason_given(question: Question, _: BankEntry) -> Iterator[Finding]:
    """L18."""
    for option in question.options:
        if not option.reason.strip():
            yield error("L18", question, f"Say why option {option.key} is right or wrong.")
    if question.number and not question.number.reason.strip():
        yield error("L18", question, "Say how the number is worked out.")


def unsafe_acts_explained(question: Question, _: BankEntry) -> Iterator[Finding]:
    """L19."""
    if question.consequence is Consequence.DAMAGE:
        return
    for option in question.options:
        wrong = not option.right and option.place is None
        if wrong and option.reason.strip() and len(set(words_of(option.reason)) - _JUDGEMENT) < 2:
            yield error(
                "L19", question, f"Say what could happen to the person who does {option.key}, not that it is wrong."
            )


def figures_have_units(question: Question, _: BankEntry) -> Iterator[Finding]:
    """L20."""
    texts = texts_read(question)
    bare = next((found for text in texts if (found := _BARE_FIGURE.search(text))), None)
    if bare:
        yield error("L20", question, f"'{bare[0]}' has no unit. Print the unit.")
    whole = " ".join(texts)
    if _CATEGORY.search(whole) and not _VOLTS.search(whole):
        yield error("L20", question, "A measurement category holds for a voltage. Print both, like CAT III 1 000 V.")
    if question.number and not question.number.unit.strip():
        yield error("L20", question, "Give the unit of the number asked for.")


def pictures_in_words(question: Question, _: BankEntry) -> Iterator[Finding]:
    """L21."""
    if question.picture and not (question.picture_text or "").strip():
        yield error("L21", question, "Say in words what the picture shows.")
    colour = next((found for text in texts_read(question) if (found := _COLOUR_ALONE.search(text))), None)
    if colour:
        yield error("L21", question, f"'{colour[0]}' is known by its colour alone. Name it too.")


def second_pair_of_eyes(question: Question, _: BankEntry) -> Iterator[Finding]:
    """L22."""
    author, checker = question.author.strip().casefold(), question.checker.strip().casefold()
    if author and author == checker:
        yield error("L22", question, "Author and checker are one person. Let someone else check it.")


def answered_text_unchanged(question: Question, entry: BankEntry) -> Iterator[Finding]:
    """L24."""
    if entry.answered_fingerprint is not None and entry.answered_fingerprint != fingerprint(question):
        yield error("L24", question, "Its text changed after people answered it. Make a new version; old answers stay.")
