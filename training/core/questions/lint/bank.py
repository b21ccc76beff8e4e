"""Rules over a whole bank: ids used twice, how often the right option is the longest, where it stands (S8, L6, L15)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from training.core.questions.kinds import Kind, Question
from training.core.questions.lint.clues import key_is_longest
from training.core.questions.lint.finding import BankEntry, Finding, Level
from training.core.questions.lint.single import lint_question

LONGEST_MARGIN = 0.10
LEAST_FOR_SHARE = 10
LEAST_PER_POSITION = 5
# Chi square at 5 % for 1 to 7 degrees of freedom (competence rules L15: df 3, 7.815).
CHI_SQUARE_LIMIT = {1: 3.841, 2: 5.991, 3: 7.815, 4: 9.488, 5: 11.070, 6: 12.592, 7: 14.067}


def lint_bank(questions: Sequence[Question], entries: Mapping[str, BankEntry] | None = None) -> list[Finding]:
    """Everything the lint finds: question by question, then in the bank as a whole (``question`` empty)."""
    known = entries or {}
    found = [finding for question in questions for finding in lint_question(question, known.get(question.id))]
    pick_ones = [question for question in questions if _has_one_key(question)]
    return [*found, *_ids_twice(questions), *_longest_too_often(pick_ones), *_key_positions(pick_ones)]


def chi_square(counts: Sequence[int]) -> float:
    """How far these counts are from all being equal: sum of (seen - expected) squared over expected."""
    expected = sum(counts) / len(counts)
    return sum((count - expected) ** 2 / expected for count in counts)


def _has_one_key(question: Question) -> bool:
    return question.kind is Kind.PICK_ONE and sum(option.right for option in question.options) == 1


def _ids_twice(questions: Sequence[Question]) -> Iterator[Finding]:
    for name, count in Counter(question.id for question in questions).items():
        if count > 1:
            yield Finding("S8", Level.ERROR, name, f"{count} questions have this id. Give each its own.")


def _longest_too_often(pick_ones: Sequence[Question]) -> Iterator[Finding]:
    if len(pick_ones) < LEAST_FOR_SHARE:
        return
    share = sum(key_is_longest(question) for question in pick_ones) / len(pick_ones)
    by_chance = sum(1 / len(question.options) for question in pick_ones) / len(pick_ones)
    if share > by_chance + LONGEST_MARGIN:
        sentence = (
            f"The right option is the longest in {share:.0%} of the questions. Shorten right or lengthen wrong ones."
        )
        yield Finding("L6", Level.ERROR, "", sentence)


def _key_positions(pick_ones: Sequence[Question]) -> Iterator[Finding]:
    for size in sorted({len(question.options) for question in pick_ones}):
        counts = [0] * size
        for question in pick_ones:
            if len(question.options) == size:
                counts[[option.right for option in question.options].index(True)] += 1
        limit = CHI_SQUARE_LIMIT.get(size - 1)
        if limit and sum(counts) >= LEAST_PER_POSITION * size and chi_square(counts) > limit:
            told = ", ".join(str(count) for count in counts)
            sentence = f"The right one of {size} options stands first, second ... {told} times. Move some."
            yield Finding("L15", Level.ERROR, "", sentence)
