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


SECTION = "## {name}\n\n- commit: {commit}\n"


def _ran(folder: Path, name: str, commit: str) -> None:
    (folder / "docs").mkdir(exist_ok=True)
    (folder / "docs" / "deep-run.md").write_text(SECTION.format(name=name, commit=commit))


@pytest.fixture
def committed(planted: Path) -> Path:
    """A checkout with a rule of the trade and one of permission, both committed."""
    for place in ("trade/gloves.py", "permission/decide.py"):
        rule = planted / "training" / "core" / place
        rule.parent.mkdir(parents=True)
        rule.write_text("LIMIT = 6\n")
    _git(planted, "init", "-q")
    _git(planted, "add", ".")
    _git(planted, "commit", "-qm", "first")
    return planted


def test_a_trade_rule_changed_after_the_deep_run_is_named(committed: Path) -> None:
    _ran(committed, "everything", _git(committed, "rev-parse", "HEAD"))
    assert deep_run_warning(committed) == ""
    (committed / "training" / "core" / "trade" / "gloves.py").write_text("LIMIT = 7\n")
    assert deep_run_warning(committed) == "warning: training/core/trade changed since its deep run; run make deep"


def test_a_deep_run_of_one_folder_covers_that_folder_only(committed: Path) -> None:
    _ran(committed, "tests/core/trade tests/core/questions", _git(committed, "rev-parse", "HEAD"))
    assert deep_run_warning(committed) == "warning: no deep run covers training/core/permission; run make deep"


def test_a_deep_run_of_a_commit_that_is_not_here_is_named(committed: Path) -> None:
    _ran(committed, "everything", "0123456789abcdef")
    assert "names a commit that is not in this checkout" in deep_run_warning(committed)


def test_a_missing_deep_run_is_named(planted: Path) -> None:
    assert "no deep run covers training/core/trade" in deep_run_warning(planted)
