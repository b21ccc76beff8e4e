"""The 24 lint rules for questions (competence rules, section 10), L1 to L24, over single questions and over a bank."""

from training.core.questions.lint.bank import lint_bank
from training.core.questions.lint.finding import BankEntry, Finding, Level, fingerprint
from training.core.questions.lint.single import lint_question

__all__ = ["BankEntry", "Finding", "Level", "fingerprint", "lint_bank", "lint_question"]
