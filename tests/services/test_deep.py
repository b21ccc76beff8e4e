"""The deep run's report counts what was really generated."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.services import deep
from tests.services.deep import count_cases, counted_cases, told_lines, write_section

SAID = """
tests/core/test_x.py::test_one:

  - during generate phase (0.03 seconds):
    - 30 passing, 0 failing, and 3 invalid test cases

tests/core/test_x.py::test_two[a b]:

  - during reuse phase (0.00 seconds):
    - 1 passing, 0 failing, and 0 invalid test cases
  - during generate phase (0.03 seconds):
    - 9998 passing, 1 failing, and 0 invalid test cases

2 passed in 1.00s
"""


def test_cases_are_added_up_for_each_law_and_invalid_ones_left_out() -> None:
    assert count_cases(SAID) == {"tests/core/test_x.py::test_one": 30, "tests/core/test_x.py::test_two[a b]": 10_000}


def test_cases_that_a_test_counted_itself_are_summed_over_its_parameters(tmp_path: Path) -> None:
    counted = '<properties><property name="cases" value="1000"/></properties>'
    row = '<testcase classname="tests.core.test_x" name="test_y[{n}]">' + counted + "</testcase>"
    noted = tmp_path / "cases.xml"
    noted.write_text("<testsuite>" + row.format(n="a") + row.format(n="b") + "</testsuite>")
    assert counted_cases(noted) == {"tests/core/test_x.py::test_y": 2000}


def test_what_a_test_says_about_its_outcome_is_told_line_by_line(tmp_path: Path) -> None:
    noted = tmp_path / "cases.xml"
    said = (
        '<property name="told" value="mutants: 9"/><property name="cases" value="1"/><property name="told" value="ok"/>'
    )
    noted.write_text(f"<testsuite><testcase name='x'><properties>{said}</properties></testcase></testsuite>")
    assert told_lines(noted) == ["mutants: 9", "ok"]


def test_a_run_replaces_only_its_own_section(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(deep, "REPORT", tmp_path / "docs" / "deep-run.md")
    write_section("everything", "- commit: a")
    write_section("tests/core", "- commit: b")
    write_section("tests/core", "- commit: c")
    text = deep.REPORT.read_text()
    assert "## everything\n\n- commit: a" in text
    assert "## tests/core\n\n- commit: c" in text
    assert "commit: b" not in text
    assert text.startswith("# Deep run")
