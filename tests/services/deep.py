"""The whole of `make deep`: every law with 10,000 cases and the tests marked deep; writes docs/deep-run.md."""

from __future__ import annotations

import random
import re
import subprocess
import sys
import time
from datetime import UTC, datetime

from tests.services.processes import ROOT

REPORT = ROOT / "docs" / "deep-run.md"
CASES = re.compile(r"^(?P<test>tests/.+):$|(?P<passing>\d+) passing, (?P<failing>\d+) failing", re.M)


def main() -> int:
    """Run the long counts and write down what was run; 0 when all passed."""
    seed = int(sys.argv[1]) if len(sys.argv) > 1 and sys.argv[1] else random.SystemRandom().randrange(2**31)
    commit = _git("rev-parse", "HEAD")
    changed = bool(_git("status", "--porcelain", "--", "training", "tests"))
    begun = f"{datetime.now(UTC):%Y-%m-%d %H:%M} UTC"
    start = time.monotonic()
    command = [sys.executable, "-m", "pytest", "-q", "-m", "not (browser or celery)", "--hypothesis-profile=deep"]
    command += ["--hypothesis-show-statistics", f"--randomly-seed={seed}", f"--hypothesis-seed={seed}"]
    ended = subprocess.run(command, cwd=ROOT, stdout=subprocess.PIPE, text=True, check=False)
    print(ended.stdout, flush=True)
    cases = count_cases(ended.stdout)
    closing = ended.stdout.strip().splitlines()[-1].strip("= ")
    lines = [
        "# Deep run",
        "",
        "Written by `make deep`. Counts are cases that Hypothesis generated for each law.",
        "",
        f"- commit: {commit}{' with uncommitted changes' if changed else ''}",
        f"- begun: {begun}",
        f"- duration: {time.monotonic() - start:.0f} s",
        f"- seed: {seed}",
        f"- ending: {closing}",
        f"- cases in all: {sum(cases.values()):,} in {len(cases)} laws",
        "",
        "| law | cases |",
        "|---|---|",
        *(f"| {name} | {number:,} |" for name, number in sorted(cases.items())),
        "",
    ]
    REPORT.parent.mkdir(exist_ok=True)
    REPORT.write_text("\n".join(lines), encoding="utf-8")
    return ended.returncode


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


def _git(*words: str) -> str:
    return subprocess.run(["git", *words], cwd=ROOT, capture_output=True, text=True, check=False).stdout.strip()


if __name__ == "__main__":
    sys.exit(main())
