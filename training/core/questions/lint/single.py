"""All rules that one question can break by itself, in the order of their numbers."""

from __future__ import annotations

from training.core.questions.kinds import Question
from training.core.questions.lint import clues, options, papers, wording
from training.core.questions.lint.finding import BankEntry, Finding, Rule

RULES: tuple[Rule, ...] = (
    options.right_number_of_options,
    options.no_catch_all,
    wording.no_negative_stem,
    options.no_absolutes,
    options.no_vague_frequency,
    clues.key_not_longest,
    clues.no_word_from_stem,
    clues.no_grammar_clue,
    clues.no_convergence,
    options.no_duplicates,
    options.figures_in_order,
    options.parallel_options,
    wording.answerable_stem,
    wording.short_enough,
    papers.stands_alone,
    papers.papers_complete,
    papers.every_reason_given,
    papers.unsafe_acts_explained,
    papers.figures_have_units,
    papers.pictures_in_words,
    papers.second_pair_of_eyes,
    options.no_tricks,
    papers.answered_text_unchanged,
)


def lint_question(question: Question, entry: BankEntry | None = None) -> list[Finding]:
    """Everything that rules L1 to L24 find in one question, with what the bank knows of it."""
    known = entry or BankEntry()
    return [finding for rule in RULES for finding in rule(question, known)]
