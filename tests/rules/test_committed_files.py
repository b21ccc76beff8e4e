"""What is committed works elsewhere: no registry host, no path of one machine, locks with hashes only."""

from __future__ import annotations

import re
import subprocess
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
HOSTS = re.compile(
    r"pythonhosted\.org|pypi\.org/simple|registry\.npmjs|(--)(index-url|extra-index-url|find-links)\b|^-[if] ", re.M
)
MACHINE = re.compile(r"(?<![\w.])/(root|home/\w+|work|opt)/[\w.-]+")
TEXT = {
    ".py",
    ".md",
    ".toml",
    ".txt",
    ".yaml",
    ".yml",
    ".json",
    ".html",
    ".css",
    ".js",
    ".cfg",
    ".ini",
    ".in",
    ".sh",
    ".svg",
    "",
}
ITSELF = "tests/rules/test_committed_files.py"


def committed() -> list[str]:
    """Return the paths that are or will be committed."""
    git = ["git", "ls-files", "-co", "--exclude-standard"]
    said = subprocess.run(git, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    return [name for name in said.splitlines() if (ROOT / name).is_file() and Path(name).suffix in TEXT]


@pytest.mark.parametrize("pattern", [HOSTS, MACHINE], ids=["registry hosts", "paths of a machine"])
def test_no_committed_file_names_a_registry_or_a_machine(pattern: re.Pattern[str]) -> None:
    found = []
    for name in committed():
        text = (ROOT / name).read_text(encoding="utf-8", errors="replace")
        found += [f"{name}: {match[0]}" for match in pattern.finditer(text) if name != ITSELF]
    assert found == []


@pytest.mark.parametrize(
    ("text", "pattern"),
    [("--index-" + "url https://mirror.example", HOSTS), ("see /root" + "/notes", MACHINE), ("-f wheels", HOSTS)],
)
def test_the_patterns_find_what_they_are_for(text: str, pattern: re.Pattern[str]) -> None:
    assert pattern.search(text)


@pytest.mark.parametrize("name", ["requirements.txt", "requirements-dev.txt"])
def test_every_locked_package_has_a_version_and_a_hash(name: str) -> None:
    entries = re.split(r"\n(?=\S)", (ROOT / name).read_text(encoding="utf-8").strip())
    packages = [entry for entry in entries if not entry.startswith("#")]
    assert len(packages) > 20
    assert [entry for entry in packages if "==" not in entry or "--hash=sha256:" not in entry] == []


def _names(entries: list[str]) -> set[str]:
    return {re.split(r"[\[<>=;~ ]", entry)[0].lower().replace("_", "-") for entry in entries}


@pytest.mark.parametrize(("name", "group"), [("requirements.txt", "runtime"), ("requirements-dev.txt", "dev")])
def test_the_lock_holds_all_that_the_project_asks_for(name: str, group: str) -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    asked = project["project"]["dependencies"] if group == "runtime" else project["dependency-groups"]["dev"]
    locked = _names(re.findall(r"^([\w.-]+)==", (ROOT / name).read_text(encoding="utf-8"), re.M))
    assert _names(asked) - locked == set()


def test_both_locks_pin_the_same_versions() -> None:
    pins = [
        dict(re.findall(r"^([\w.-]+)==(\S+)", (ROOT / name).read_text(encoding="utf-8"), re.M))
        for name in ("requirements.txt", "requirements-dev.txt")
    ]
    assert {name: version for name, version in pins[0].items() if pins[1].get(name) != version} == {}
