"""Who may import whom: the tree keeps every contract, and each contract is broken once on purpose and seen to bite."""

from __future__ import annotations

import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
CORE = "The core imports no framework and no app"
APPS = "Apps import downwards only"
ORDER = "Permission stands on memory and questions, both stand on trade"
MEMORY = "Memory knows nothing of the trade"
WITHIN = "Within an app"

# contract, file of the tree that is changed or made, what is planted in it
PLANTS = [
    (CORE, "core/trade/calendar.py", "import django.db"),
    (CORE, "core/memory/planted.py", "import celery"),
    (CORE, "core/questions/planted.py", "import redis"),
    (
        CORE,
        "core/permission/planted.py",
        "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    import training.people.models",
    ),
    (CORE, "core/permission/planted.py", "import training.records.models"),
    (APPS, "drill/planted.py", "import training.board.models"),
    (APPS, "signoff/planted.py", "import training.drill.models"),
    (APPS, "drill/planted.py", "import training.equipment.models"),
    (APPS, "equipment/planted.py", "import training.signoff.models"),
    (APPS, "bank/planted.py", "import training.drill.models"),
    (APPS, "people/planted.py", "import training.bank.models"),
    (APPS, "records/planted.py", "import training.people.models"),
    (APPS, "web/planted.py", "import training.records.models"),
    (APPS, "board/planted.py", "import training.config.urls"),
    (APPS, "newcomer/__init__.py", ""),
    (ORDER, "core/trade/planted.py", "import training.core.permission.evidence"),
    (ORDER, "core/trade/planted.py", "import training.core.questions.kinds"),
    (ORDER, "core/questions/planted.py", "import training.core.permission.evidence"),
    (ORDER, "core/questions/planted.py", "import training.core.memory.recall"),
    (ORDER, "core/memory/planted.py", "import training.core.questions.kinds"),
    (ORDER, "core/newcomer/__init__.py", ""),
    (MEMORY, "core/memory/planted.py", "import training.core.trade.calendar"),
    (WITHIN, "drill/actions.py", "import training.drill.tasks"),
    (WITHIN, "people/queries.py", "import training.people.actions"),
    (WITHIN, "bank/models.py", "import training.bank.queries"),
    (WITHIN, "signoff/tasks.py", "import training.signoff.views"),
    (WITHIN, "equipment/views.py", "import training.equipment.urls"),
    (WITHIN, "board/forms.py", "import training.board.views"),
    (WITHIN, "board/forms.py", "import training.board.actions"),
    (WITHIN, "records/models.py", "import training.records.actions"),
    (WITHIN, "drill/facts.py", "import training.drill.models"),
]
NEEDED = ("tasks", "queries", "actions", "views", "urls", "forms")


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the tree in which every app has every module that a plant imports."""
    top = tmp_path_factory.mktemp("contracts")
    shutil.copytree(ROOT / "training", top / "training", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", top)
    for app in ("records", "people", "bank", "drill", "signoff", "equipment", "board"):
        for name in NEEDED:
            module = top / "training" / app / f"{name}.py"
            if not module.exists() and not module.with_suffix("").is_dir():
                module.write_text('"""Stands in."""\n')
    return top


def lint(top: Path) -> tuple[int, str]:
    """Run import-linter on the tree under `top`; return its exit code and what it said."""
    command = [str(Path(sys.executable).with_name("lint-imports")), "--no-logo"]
    ended = subprocess.run(command, cwd=top, capture_output=True, text=True, check=False)
    return ended.returncode, ended.stdout + ended.stderr


@contextmanager
def planted(top: Path, place: str, text: str) -> Iterator[None]:
    """Add the text to a module of the copy, and take it away afterwards."""
    path = top / "training" / place
    before = path.read_text(encoding="utf-8") if path.exists() else None
    new_folder = not path.parent.exists()
    path.parent.mkdir(exist_ok=True)
    path.write_text(f"{before or ''}\n{text}\n", encoding="utf-8")
    try:
        yield
    finally:
        if before is not None:
            path.write_text(before, encoding="utf-8")
        elif new_folder:
            shutil.rmtree(path.parent)
        else:
            path.unlink()


def test_the_tree_keeps_every_contract(copy: Path) -> None:
    code, said = lint(copy)
    assert code == 0, said
    assert "0 broken" in said


@pytest.mark.parametrize(("contract", "place", "text"), PLANTS)
def test_a_forbidden_import_breaks_its_contract(copy: Path, contract: str, place: str, text: str) -> None:
    with planted(copy, place, text):
        code, said = lint(copy)
    assert code != 0, said
    assert contract in said
    assert f"{contract} KEPT" not in said
    assert f"{contract} BROKEN" in said or "newcomer" in said


def test_every_contract_is_broken_by_some_plant() -> None:
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"][
        "contracts"
    ]
    assert {contract["name"] for contract in contracts} == {name for name, _, _ in PLANTS}


def test_the_package_itself_stays_empty() -> None:
    """Celery's guide puts its app there; then importing the core would load Celery, and import-linter stays green."""
    assert (ROOT / "training" / "__init__.py").read_text(encoding="utf-8") == ""
