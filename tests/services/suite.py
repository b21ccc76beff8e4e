"""The whole of `make test`: fetch the parts, check, then the suite on each real part, with seconds for each."""

from __future__ import annotations

import argparse
import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path

from tests.services.parts import fetch_missing
from tests.services.processes import ROOT
from tests.services.servers import postgres

PYTEST = (sys.executable, "-m", "pytest", "-q", "--no-header", "--durations=5", "--durations-min=3")


@dataclass
class Run:
    """What has run so far: seconds and the ending of each part, and what could not run."""

    seed: int
    missing: dict[str, str]
    strict: bool
    lines: list[tuple[str, float, str]] = field(default_factory=list)
    failed: bool = False

    def part(self, name: str, work: Callable[[], int], needs: Sequence[str] = ()) -> None:
        """Run one part unless a program that it needs is missing; in CI that is a failure."""
        print(f"\n=== {name}", flush=True)
        lacking = [need for need in needs if need in self.missing]
        if lacking:
            for need in lacking:
                print(f"NOT RUN, {need} is missing; {self.missing[need]}")
            self.failed |= self.strict
            self.lines.append((name, 0.0, "failed: part missing" if self.strict else "NOT RUN: part missing"))
            return
        start = time.monotonic()
        code = work()
        self.failed |= code != 0
        self.lines.append((name, time.monotonic() - start, "passed" if code == 0 else f"FAILED ({code})"))

    def tests(self, name: str, expression: str, *, database: str = "", needs: Sequence[str] = ()) -> None:
        """Run the tests that a marker expression chooses, on the named database or in memory."""
        self.part(name, lambda: self._pytest(expression, database), needs)

    def on_postgres(self, name: str, expression: str, needs: Sequence[str] = ()) -> None:
        """Run the tests that a marker expression chooses on a PostgreSQL server of their own."""

        def work() -> int:
            with postgres() as address:
                return self._pytest(expression, address)

        self.part(name, work, ("postgres", *needs))

    def _pytest(self, expression: str, database: str) -> int:
        command = [*PYTEST, "-m", expression, f"--randomly-seed={self.seed}", f"--hypothesis-seed={self.seed}"]
        environ = {**os.environ, "PYTHONDEVMODE": "0"}
        environ.pop("HOOKSIDE_TEST_DATABASE_URL", None)
        if database:
            environ["HOOKSIDE_TEST_DATABASE_URL"] = database
        return subprocess.run(command, cwd=ROOT, env=environ, check=False).returncode


def main() -> int:
    """Run every part; 0 when all passed."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--seed", type=int, default=random.SystemRandom().randrange(2**31))
    options.add_argument("--only", nargs="*", help="parts to run: check sqlite postgres celery browser")
    chosen = options.parse_args()
    start = time.monotonic()
    missing = fetch_missing()
    run = Run(seed=chosen.seed, missing=missing, strict=os.environ.get("CI", "").lower() in {"1", "true"})
    run.lines.append(
        ("fetch parts", time.monotonic() - start, "missing: " + ", ".join(missing) if missing else "all here")
    )
    print(f"seed {run.seed} (repeat with: make test SEED={run.seed})", flush=True)
    with ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="hookside-test-")))
        for name, work in _parts(run, folder).items():
            if not chosen.only or name in chosen.only:
                work()
    return _report(run, time.monotonic() - start)


def _parts(run: Run, folder: Path) -> dict[str, Callable[[], None]]:
    check = ["make", "--no-print-directory", "--keep-going", "check"]
    file = f"sqlite:///{folder}/journeys.sqlite3"
    return {
        "check": lambda: run.part("check", lambda: subprocess.run(check, cwd=ROOT, check=False).returncode),
        "postgres": lambda: run.on_postgres(
            "tests that write or lock, on PostgreSQL", "db and not (browser or celery or deep)"
        ),
        "celery": lambda: run.on_postgres("tasks through a Celery worker over Redis", "celery", ["redis"]),
        "browser": lambda: run.tests("journeys in Chromium", "browser", database=file, needs=["chromium"]),
        # last, so that pytest's own closing line ends what is read from the log
        "sqlite": lambda: run.tests("suite on SQLite", "not (browser or celery or deep)"),
    }


def _report(run: Run, total_s: float) -> int:
    print("\n=== seconds per part")
    for name, seconds, ending in run.lines:
        print(f"{seconds:8.1f}  {name}: {ending}")
    print(f"{total_s:8.1f}  in all; seed {run.seed}; {'FAILED' if run.failed else 'passed'}", flush=True)
    return 1 if run.failed else 0


if __name__ == "__main__":
    sys.exit(main())
