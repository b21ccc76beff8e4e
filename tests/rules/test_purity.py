"""The core runs where no framework is installed: a fresh Python with all of them blocked imports every module of it."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
IMPORT_ALL = """
import importlib, pkgutil, sys
for name in ("django", "celery", "redis", "msgspec", "yaml", "rfc8785", "kombu", "django_htmx"):
    sys.modules[name] = None
import training.core
names = [found.name for found in pkgutil.walk_packages(training.core.__path__, "training.core.")]
for name in names:
    importlib.import_module(name)
print(len(names))
"""


def import_all(top: Path) -> subprocess.CompletedProcess[str]:
    """Import every module under training.core of the tree at `top`, with the frameworks blocked."""
    return subprocess.run([sys.executable, "-c", IMPORT_ALL], cwd=top, capture_output=True, text=True, check=False)


def test_every_module_of_the_core_imports_without_any_framework() -> None:
    ended = import_all(ROOT)
    assert ended.returncode == 0, ended.stderr
    assert int(ended.stdout) >= 20


def test_celery_in_the_package_itself_is_caught(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "training", tmp_path / "training", ignore=shutil.ignore_patterns("__pycache__"))
    (tmp_path / "training" / "__init__.py").write_text("import celery\n")
    ended = import_all(tmp_path)
    assert ended.returncode != 0
    assert "celery" in ended.stderr
