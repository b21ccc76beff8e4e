"""The house's limits of size, and whether the deep run is older than what it proves: `python -m tests.rules.limits`."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
FILE_LINES = 400
FUNCTION_LINES = 50
PROVED_DEEP = ("training/core/permission", "training/core/trade")


def sources(root: Path) -> Iterator[Path]:
    """Yield the product's Python files, migrations left out."""
    return (path for path in sorted((root / "training").rglob("*.py")) if "migrations" not in path.parts)


def too_long(root: Path) -> list[str]:
    """Return each file over 400 lines and each function over 50, with its place."""
    found = []
    for path in sources(root):
        text = path.read_text(encoding="utf-8")
        place = path.relative_to(root).as_posix()
        lines = text.count("\n")
        if lines > FILE_LINES:
            found.append(f"{place}: {lines} lines; split it by subject")
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)) and node.end_lineno:
                length = node.end_lineno - node.lineno + 1
                if length > FUNCTION_LINES:
                    found.append(f"{place}:{node.lineno}: {node.name} has {length} lines")
    return found


def without_docstring(root: Path) -> list[str]:
    """Return each module with content that does not say in a sentence what it is for."""
    return [
        path.relative_to(root).as_posix()
        for path in sources(root)
        if (text := path.read_text(encoding="utf-8")).strip() and ast.get_docstring(ast.parse(text)) is None
    ]


def deep_run_warning(root: Path) -> str:
    """Return a warning when permission or trade changed since a deep run that covers it, else nothing."""
    report = root / "docs" / "deep-run.md"
    text = report.read_text(encoding="utf-8") if report.exists() else ""
    runs = re.findall(r"^## (.+)\n\n- commit: ([0-9a-f]{7,40})", text, re.M)
    return "; ".join(said for place in PROVED_DEEP if (said := _since_deep_run(root, place, runs)))


def _since_deep_run(root: Path, place: str, runs: list[tuple[str, str]]) -> str:
    tests = place.replace("training/", "tests/")
    commits = [commit for name, commit in runs if name == "everything" or tests in name.split()]
    if not commits:
        return f"warning: no deep run covers {place}; run make deep"
    changes = [_changed_since(root, commit, place) for commit in commits]
    if all(change is None for change in changes):
        return f"warning: the deep run of {place} names a commit that is not in this checkout"
    if "" in changes:
        return ""
    return f"warning: {place} changed since its deep run; run make deep"


def _changed_since(root: Path, commit: str, place: str) -> str | None:
    """Return the files changed since a commit, "" for none, None when the commit is not here."""
    git = ["git", "diff", "--name-only", commit, "--", place]
    ended = subprocess.run(git, cwd=root, capture_output=True, text=True, check=False)
    return None if ended.returncode else ended.stdout.strip()


def main() -> int:
    """Print what breaks a limit; 1 when anything does. An old deep run only warns."""
    found = too_long(ROOT) + [f"{place}: no module docstring" for place in without_docstring(ROOT)]
    for line in [*found, deep_run_warning(ROOT)]:
        if line:
            print(line)
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
