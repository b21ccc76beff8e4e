"""`make deep`: every law with 10,000 cases and the tests marked deep; writes a section of docs/deep-run.md.

`make deep ONLY="tests/core/questions tests/core/permission"` runs those folders alone and replaces their section.
"""

from __future__ import annotations

import argparse
import random
import re
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime
from pathlib import Path
from xml.etree import ElementTree

from tests.services.processes import ROOT

REPORT = ROOT / "docs" / "deep-run.md"
HEAD = """# Deep run

Written by `make deep`, a section for each run: the whole suite, or the folders named. Counts are cases that Hypothesis
generated for a law, or the cases that a test marked deep counted itself.
"""
CASES = re.compile(r"^(?P<test>tests/.+):$|(?P<passing>\d+) passing, (?P<failing>\d+) failing", re.M)


def main() -> int:
    """Run the long counts and write down what was run; 0 when all passed."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--seed", type=int, default=random.SystemRandom().randrange(2**31))
    options.add_argument("--only", nargs="*", default=[], help="folders or files of tests; everything when left out")
    chosen = options.parse_args()
    commit = _git("rev-parse", "HEAD")
    changed = bool(_git("status", "--porcelain", "--", "training", "tests"))
    begun, start = f"{datetime.now(UTC):%Y-%m-%d %H:%M} UTC", time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        noted = Path(folder) / "cases.xml"
        ended = _run(chosen.only, chosen.seed, noted)
        cases = count_cases(ended.stdout) | (counted_cases(noted) if noted.exists() else {})
        told = told_lines(noted) if noted.exists() else []
    lines = [
        f"- commit: {commit}{' with uncommitted changes' if changed else ''}",
        f"- begun: {begun}",
        f"- duration: {time.monotonic() - start:.0f} s",
        f"- seed: {chosen.seed}",
        f"- ending: {ended.stdout.strip().splitlines()[-1].strip('= ')}",
        f"- cases in all: {sum(cases.values()):,} in {len(cases)} tests",
        *(f"- {line}" for line in told),
        "",
        "| test | cases |",
        "|---|---|",
        *(f"| {name} | {number:,} |" for name, number in sorted(cases.items())),
    ]
    write_section(" ".join(chosen.only) or "everything", "\n".join(lines))
    return ended.returncode


def _run(only: list[str], seed: int, noted: Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "pytest", "-q", "-m", "not (browser or celery)", "--hypothesis-profile=deep"]
    command += ["--hypothesis-show-statistics", f"--randomly-seed={seed}", f"--hypothesis-seed={seed}"]
    command += [f"--junitxml={noted}", "-o", "junit_family=xunit1", *only]
    ended = subprocess.run(command, cwd=ROOT, stdout=subprocess.PIPE, text=True, check=False)
    print(ended.stdout, flush=True)
    return ended


def write_section(name: str, body: str) -> None:
    """Write the section of one run into the report, in place of an older one of the same name."""
    text = REPORT.read_text(encoding="utf-8") if REPORT.exists() else HEAD
    sections = dict(re.findall(r"^## ([^\n]+)\n\n(.*?)(?=\n## |\Z)", text, re.M | re.S))
    sections[name] = body
    parts = [HEAD, *(f"## {title}\n\n{said.strip()}\n" for title, said in sorted(sections.items()))]
    REPORT.parent.mkdir(exist_ok=True)
    REPORT.write_text("\n".join(parts), encoding="utf-8")


def count_cases(said: str) -> dict[str, int]:
    """Return the generated cases per law from pytest's statistics."""
    cases: dict[str, int] = {}
    test = ""
    for match in CASES.finditer(said):
        if match["test"]:
            test = match["test"]
        elif test:
            cases[test] = cases.get(test, 0) + int(match["passing"]) + int(match["failing"])
    return cases


def counted_cases(noted: Path) -> dict[str, int]:
    """Return the cases that tests counted themselves, with record_property("cases", n); parametrized ones summed."""
    cases: dict[str, int] = {}
    for test in ElementTree.parse(noted).getroot().iter("testcase"):
        for said in test.iter("property"):
            if said.get("name") == "cases":
                name = f"{test.get('classname', '').replace('.', '/')}.py::{test.get('name', '').split('[')[0]}"
                cases[name] = cases.get(name, 0) + int(said.get("value", "0"))
    return cases


def told_lines(noted: Path) -> list[str]:
    """Return what tests said about their outcome, with record_property("told", line)."""
    said = ElementTree.parse(noted).getroot().iter("property")
    return [each.get("value", "") for each in said if each.get("name") == "told"]


def _git(*words: str) -> str:
    return subprocess.run(["git", *words], cwd=ROOT, capture_output=True, text=True, check=False).stdout.strip()


if __name__ == "__main__":
    sys.exit(main())
