"""The command that simulates a crew: what it prints, what it refuses, and that it counts the questions as rules do."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from training.bank.rule_books import starting_book
from training.core.memory.simulation.asked import Asks, QuestionShape, work_of
from training.core.permission.evidence import QuestionGate
from training.core.permission.questions import counting
from training.core.permission.reading import rule_book_from
from training.core.permission.rule_book import JobType, RecallOf
from training.core.questions.kinds import Consequence, Topic
from training.drill.management.commands.simulate_recall import roles_of, shapes_of

BANK = Path(__file__).parents[2] / "fixtures_demo" / "bank"


def test_one_kind_of_work_alone_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    options = {"bank": BANK, "work": "A", "people": 20, "weeks": 20, "processes": 1}
    call_command("simulate_recall", **options)
    first, _head, line = capsys.readouterr().out.splitlines()
    assert first.endswith("questions; 20 people, 20 weeks, seed 20")
    assert line.startswith("moves and washes (A)")
    assert line.count("%") == 8


@pytest.mark.parametrize("few", [{"people": 19}, {"weeks": 19}])
def test_a_crew_too_small_to_say_anything_is_refused(few: dict[str, int]) -> None:
    with pytest.raises(CommandError, match="at least 20"):
        call_command("simulate_recall", bank=BANK, **few)


def test_a_folder_without_a_bank_is_refused(tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="0 questions"):
        shapes_of(tmp_path, "EU")


def test_the_simulation_counts_the_questions_that_the_rules_count() -> None:
    book, bank = rule_book_from(starting_book()), shapes_of(BANK, "EU")
    questions = sorted((question_of(shape) for shape in bank), key=lambda question: question.question)
    sought = {asks.job_type: asks for role in roles_of(book) for asks in role.sought}
    assert sought
    for key, asks in sought.items():
        assert counted(bank, asks) == set(counting(questions, recall_of(book.job_type(key)), book.in_use_days))


def counted(bank: list[QuestionShape], asks: Asks) -> set[str]:
    return {bank[place].name for place in work_of(bank, [asks]).offered.tolist()}


def recall_of(job_type: JobType) -> RecallOf:
    (found,) = (one for one in job_type.requirements if isinstance(one, RecallOf))
    return found


def question_of(shape: QuestionShape) -> QuestionGate:
    return QuestionGate(
        question=shape.name,
        topic=Topic(shape.topic),
        consequence=Consequence(shape.consequence),
        accepted_on=date(2026, 1, 5),
        gate=None,
        answered=False,
    )
