"""`make bench`: times each piece of work beside its floor in one run and writes docs/benchmarks.md."""

from __future__ import annotations

import os
import platform
import tempfile
import time
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from tests.benchmarks import cases
from tests.services.processes import ROOT

REPORT = ROOT / "docs" / "benchmarks.md"
ROUNDS = 60
LEAST_S = 0.002
"""A call shorter than this is repeated within a round until the round lasts so long."""


@dataclass(frozen=True)
class Line:
    """One line of the report: what, its time, how many times its floor that is, and the limit ("": none set)."""

    what: str
    took_s: float
    floor: str
    ratio: float
    limit: str
    met: bool | None


def main() -> int:
    """Time everything, write the report; 1 when a limit is not met."""
    with tempfile.TemporaryDirectory() as folder:
        best = {
            **timed(cases.arrays(), ROUNDS),
            **timed(cases.one_answer(Path(folder)), ROUNDS),
            **timed(cases.full_history(), ROUNDS),
            **timed(cases.drill(), ROUNDS),
            **timed(cases.night(), 3),
        }
    lines = report_lines(best)
    REPORT.write_text(written(lines, best), encoding="utf-8")
    for line in lines:
        print(_row(line))
    return int(any(line.met is False for line in lines))


def timed(works: Mapping[str, cases.Work], rounds: int) -> dict[str, float]:
    """Return the shortest seconds a call of each work; in every round each has its turn, so all meet the same noise."""
    repeats = {name: _repeats(work) for name, work in works.items()}
    best = dict.fromkeys(works, float("inf"))
    for _ in range(rounds):
        for name, work in works.items():
            best[name] = min(best[name], _seconds(work, repeats[name]))
    return best


def _repeats(work: cases.Work) -> int:
    work()
    return max(1, int(LEAST_S / max(_seconds(work, 1), 1e-7)))


def _seconds(work: cases.Work, repeats: int) -> float:
    start = time.perf_counter()
    for _ in range(repeats):
        work()
    return (time.perf_counter() - start) / repeats


def report_lines(best: Mapping[str, float]) -> list[Line]:
    """Return the lines of the report: limits are those of the memory model's first section, 4."""
    exp, states = "numpy.exp over as many numbers", f"{cases.STATES:,} states"
    against_exp = [
        _against(best, "recall", f"recall of {states}", "exp", exp, 6),
        _against(best, "recall, easiness each", "the same, an easiness for each (3 arrays read)", "exp", exp, 6),
        _against(best, "bound", f"lower bound of {states}", "exp", exp, 20),
        _against(
            best, "bound, all each", "the same, easiness and two variances for each (5 arrays read)", "exp", exp, 20
        ),
        _against(best, "exp", "numpy.exp itself", "copy", "copying as many numbers (memory)", None),
    ]
    night = f"nightly bounds, {cases.PEOPLE:,} people x {cases.QUESTIONS} questions"
    posterior = best["posterior"]
    return [
        *against_exp,
        Line(
            "posterior of one answer",
            posterior,
            "limit in time",
            posterior / 50e-6,
            "at most 50 us",
            posterior <= 50e-6,
        ),
        _times_faster(best, "posterior", "plain posterior", "posterior of one answer", "plain Python", 5),
        _against(best, "answer", "all that one answer moves", "insert", "one row inserted and committed", None),
        _against(best, "night", night, "night exp", exp, None),
        Line(
            f"a drill from {cases.OFFERED:,} questions",
            best["drill"],
            "limit in time",
            best["drill"] / 2e-3,
            "at most 2 ms",
            best["drill"] <= 2e-3,
        ),
        _times_faster(best, "by hold", "by history", "recall by hold", f"full history of {cases.HISTORY} answers", 10),
    ]


def _against(best: Mapping[str, float], name: str, what: str, floor: str, floor_name: str, limit: float | None) -> Line:
    ratio = best[name] / best[floor]
    said = "" if limit is None else f"at most {limit:g} times"
    return Line(what, best[name], floor_name, ratio, said, None if limit is None else ratio <= limit)


def _times_faster(best: Mapping[str, float], name: str, slow: str, what: str, slow_name: str, least: float) -> Line:
    ratio = best[slow] / best[name]
    return Line(what, best[name], f"{slow_name} takes", ratio, f"at least {least:g} times as long", ratio >= least)


def written(lines: list[Line], best: Mapping[str, float]) -> str:
    """Return the report as Markdown."""
    load = os.getloadavg()[0]
    head = [
        "# Benchmarks",
        "",
        "Written by `make bench`. Every ratio compares two things timed in turn in the same run, each at its shortest "
        f"over {ROUNDS} rounds, on one thread. Absolute times are this machine's.",
        "",
        f"- when: {datetime.now(UTC):%Y-%m-%d %H:%M} UTC; load {load:.1f} on {os.cpu_count()} cores",
        f"- with: Python {platform.python_version()}, numpy {np.__version__}, {platform.machine()}",
        "",
        "| work | takes | floor | times the floor | limit | met |",
        "|---|---|---|---|---|---|",
    ]
    return "\n".join([*head, *map(_row, lines), "", *_floors(best), ""])


def _row(line: Line) -> str:
    met = {True: "yes", False: "**no**", None: ""}[line.met]
    return f"| {line.what} | {_time(line.took_s)} | {line.floor} | {line.ratio:.2g} | {line.limit} | {met} |"


def _time(seconds: float) -> str:
    for unit, size in (("s", 1.0), ("ms", 1e-3), ("us", 1e-6)):
        if seconds >= size:
            return f"{seconds / size:.3g} {unit}"
    return f"{seconds * 1e9:.3g} ns"


def _floors(best: Mapping[str, float]) -> list[str]:
    """Say what each floor is and what lies between it and us."""
    gigabytes = 16 * cases.STATES / best["copy"] / 1e9
    return [
        "What the floors are:",
        "",
        f"- **Arrays.** Memory allows {gigabytes:.0f} GB/s here (a copy reads and writes 16 bytes a number), so a pass "
        "over memory is not what costs: two exponentials, a logarithm and a division do, which alone are about four "
        "times one exponential. The rest is five cheap passes over blocks that stay in the cache.",
        "- **One answer.** Whatever it moves is small beside the one row that records it.",
        "- **Night.** One call a person; its floor is one exponential over all states at once.",
        "- **Drill.** The minutes are filled exactly, so its floor is that filling, not a sort; the limit is in time.",
    ]


if __name__ == "__main__":
    raise SystemExit(main())
