"""The pages of docs/trade say what the code says: figures and examples as they are made now."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from training.bank.trade_pages import examples, made, number, pages, written
from training.core.trade.asking import KINDS

FOLDER = Path(__file__).resolve().parents[2] / "docs" / "trade"
PAGES = pages(FOLDER)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_a_committed_page_is_what_the_code_makes_now(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    assert made(text) == text
    assert made(made(text)) == text


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_a_page_has_its_rule_its_unknowns_and_an_example(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    assert "## The rule" in text
    assert "## When something is not known" in text
    assert examples(text)
    assert "Answer: **" in text


def test_the_list_names_every_page_and_nothing_else() -> None:
    listed = re.findall(r"\]\(([\w-]+\.md)\)", (FOLDER / "README.md").read_text(encoding="utf-8"))
    assert sorted(listed) == [page.name for page in PAGES]
    assert len(listed) == 19


def test_every_kind_of_question_has_a_worked_example() -> None:
    assert {kind for page in PAGES for kind in examples(page.read_text(encoding="utf-8"))} == set(KINDS)


def test_a_page_that_says_something_else_is_found_and_mended(tmp_path: Path) -> None:
    page = tmp_path / "bonding.md"
    page.write_text((FOLDER / "bonding.md").read_text(encoding="utf-8").replace("0.1 ohm", "0.2 ohm"), encoding="utf-8")
    with pytest.raises(CommandError, match=r"bonding\.md"):
        call_command("trade_pages", "--check", "--folder", str(tmp_path))
    call_command("trade_pages", "--folder", str(tmp_path))
    assert page.read_text(encoding="utf-8") == (FOLDER / "bonding.md").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (None, "V", "not known"),
        (True, "", "yes"),
        (2200.0, "kg", "2 200 kg"),
        ([], "m", "none"),
        (0.125, "m", "0.125 m"),
    ],
)
def test_values_are_written_for_people(value: object, unit: str, shown: str) -> None:
    assert written(value, unit) == shown


def test_a_figure_is_written_in_full() -> None:
    assert number(0.45359237, 12) == "0.45359237"
