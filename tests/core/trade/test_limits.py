"""Every figure stands once, in limits.py, with its source."""

from __future__ import annotations

import ast
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import get_args

import pytest

import training.core.trade
from training.core.trade import limits
from training.core.trade.limits import Limit, Status

TRADE = Path(training.core.trade.__file__).parent
# Arithmetic, not trade: nothing, one, two, half; the thousand between units; digits of rounding; months of a year.
PLAIN_NUMBERS = {0, 1, 2, 0.5, 1000}
ALLOWED = {"calendar.py": {12}, "bonding.py": {9}, "work_area.py": {6}, "isolation.py": {3, 5}}


def every_limit() -> Iterator[tuple[str, Limit]]:
    for name, value in vars(limits).items():
        if name.isupper() and not name.startswith("_"):
            yield from _limits_in(name, value)


def _limits_in(name: str, value: object) -> Iterator[tuple[str, Limit]]:
    if isinstance(value, Limit):
        yield name, value
    elif isinstance(value, Mapping):
        for key, row in value.items():
            yield from _limits_in(f"{name}[{key}]", row)
    elif not isinstance(value, str):
        raise AssertionError(f"{name} is neither a Limit nor a table of them")


@pytest.mark.parametrize(("name", "limit"), list(every_limit()), ids=[name for name, _ in every_limit()])
def test_a_figure_has_unit_source_and_status(name: str, limit: Limit) -> None:
    assert limit.unit.strip()
    assert limit.source.strip()
    assert limit.status in get_args(Status)
    assert not any(part in limit.source for part in ("http", "www.", ".com"))


@pytest.mark.parametrize(("name", "limit"), list(every_limit()), ids=[name for name, _ in every_limit()])
def test_a_figure_without_a_source_says_so_to_the_reader(name: str, limit: Limit) -> None:
    if limit.status == "common practice, no source":
        assert "no source" in limit.cite
    if limit.status == "from memory":
        assert "from memory" in limit.cite
    if limit.confirm_in_standard:
        assert "confirm in the standard" in limit.cite


def test_limits_holds_no_figure_outside_a_limit() -> None:
    tree = ast.parse((TRADE / "limits.py").read_text())
    inside = {
        id(number)
        for call in ast.walk(tree)
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id in {"Limit", "_table"}
        for number in ast.walk(call)
    }
    assert [node.lineno for node in _numbers(tree) if id(node) not in inside] == []


@pytest.mark.parametrize("path", sorted(TRADE.rglob("*.py")), ids=lambda path: str(path.relative_to(TRADE)))
def test_no_other_module_holds_a_figure_of_the_trade(path: Path) -> None:
    if path.name == "limits.py":
        return assert_has_figures(path)
    allowed = PLAIN_NUMBERS | ALLOWED.get(path.name, set())
    found = [(node.lineno, node.value) for node in _numbers(ast.parse(path.read_text())) if node.value not in allowed]
    assert found == []
    return None


def assert_has_figures(path: Path) -> None:
    assert len(list(_numbers(ast.parse(path.read_text())))) > 100


@pytest.mark.parametrize("path", sorted(TRADE.rglob("*.py")), ids=lambda path: str(path.relative_to(TRADE)))
def test_the_trade_core_imports_only_the_standard_library_and_itself(path: Path) -> None:
    outside = {"django", "numpy", "random", "time", "training.core.memory", "training.core.questions"}
    imported = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            imported |= {alias.name for alias in node.names}
        if isinstance(node, ast.ImportFrom):
            assert node.level == 0
            imported.add(str(node.module))
    assert not {name for name in imported if name in outside or name.split(".")[0] in outside}
    assert all(name.startswith("training.core.trade") for name in imported if name.startswith("training"))


def _numbers(tree: ast.AST) -> Iterator[ast.Constant]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and type(node.value) in (int, float):
            yield node
