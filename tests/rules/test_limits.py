"""The house's limits hold, and each is seen to bite."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from tests.rules.limits import ROOT, deep_run_warning, too_long, without_docstring


def test_no_file_or_function_is_too_long() -> None:
    assert too_long(ROOT) == []


def test_every_module_says_what_it_is_for() -> None:
    assert without_docstring(ROOT) == []


@pytest.fixture
def planted(tmp_path: Path) -> Path:
    (tmp_path / "training").mkdir()
    return tmp_path


def test_a_long_file_is_found(planted: Path) -> None:
    (planted / "training" / "long.py").write_text("x = 1\n" * 401)
    assert too_long(planted) == ["training/long.py: 401 lines; split it by subject"]


def test_a_long_function_is_found(planted: Path) -> None:
    (planted / "training" / "long.py").write_text("def winding() -> None:\n" + "    print()\n" * 50)
    assert too_long(planted) == ["training/long.py:1: winding has 51 lines"]


def test_a_module_without_a_docstring_is_found(planted: Path) -> None:
    (planted / "training" / "silent.py").write_text("x = 1\n")
    (planted / "training" / "__init__.py").write_text("")
    assert without_docstring(planted) == ["training/silent.py"]


def _git(folder: Path, *words: str) -> str:
    who = ["-c", "user.name=Test", "-c", "user.email=test@example.org"]
    return subprocess.run(["git", *who, *words], cwd=folder, capture_output=True, text=True, check=True).stdout.strip()


def test_a_trade_rule_changed_after_the_deep_run_is_named(planted: Path) -> None:
    rule = planted / "training" / "core" / "trade" / "gloves.py"
    rule.parent.mkdir(parents=True)
    rule.write_text("LIMIT = 6\n")
    _git(planted, "init", "-q")
    _git(planted, "add", ".")
    _git(planted, "commit", "-qm", "first")
    (planted / "docs").mkdir()
    (planted / "docs" / "deep-run.md").write_text(f"- commit: {_git(planted, 'rev-parse', 'HEAD')}\n")
    assert deep_run_warning(planted) == ""
    rule.write_text("LIMIT = 7\n")
    assert "training/core/trade/gloves.py" in deep_run_warning(planted)


def test_a_missing_deep_run_is_named(planted: Path) -> None:
    assert "names no commit" in deep_run_warning(planted)
