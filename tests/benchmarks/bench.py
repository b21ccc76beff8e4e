"""`make bench`: times each piece of work beside its floor in one run and writes docs/benchmarks.md."""

from __future__ import annotations

import os
import platform
import statistics
import tempfile
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TypeAlias

import numpy as np

from tests.benchmarks import cases
from tests.services.processes import ROOT

REPORT = ROOT / "docs" / "benchmarks.md"
ROUNDS = 60
Times: TypeAlias = Mapping[str, list[float]]
Clock: TypeAlias = Callable[[], float]
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
    """Time everything and write the report; 0 whatever comes out, since another machine or hour gives other figures."""
    with tempfile.TemporaryDirectory() as folder:
        times = {
            **timed(cases.arrays(), ROUNDS),
            **{f"{name}, warm": one for name, one in timed(cases.arrays(), ROUNDS, warm=True).items()},
            **timed(cases.one_answer(Path(folder)), ROUNDS, clock=time.perf_counter),
            **timed(cases.full_history(), ROUNDS),
            **timed(cases.drill(), ROUNDS),
            **timed(cases.night(), 3),
        }
    lines = report_lines(times)
    REPORT.write_text(written(lines, times), encoding="utf-8")
    for line in lines:
        print(_row(line))
    return 0


def timed(
    works: Mapping[str, cases.Work], rounds: int, *, warm: bool = False, clock: Clock = time.thread_time
) -> Times:
    """Return the seconds a call of each work took in each round, in which each has its turn and meets the same noise.

    Warm: called twice, and the second call counts, so that its arrays still lie in the caches. The clock is the
    processor time of this thread, so that waiting for a busy core does not count; the wall's where a disk is.
    """
    repeats = {name: _repeats(work, clock) for name, work in works.items()}
    times: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(rounds):
        for name, work in works.items():
            if warm:
                work()
            times[name].append(_seconds(work, 1 if warm else repeats[name], clock))
    return times


def ratio_of(times: Times, name: str, floor: str) -> float:
    """Return the median over the rounds of how many times the floor's time the work took in that round."""
    return statistics.median(one / other for one, other in zip(times[name], times[floor], strict=True))


def _repeats(work: cases.Work, clock: Clock) -> int:
    work()
    return max(1, int(LEAST_S / max(_seconds(work, 1, clock), 1e-6)))


def _seconds(work: cases.Work, repeats: int, clock: Clock) -> float:
    start = clock()
    for _ in range(repeats):
        work()
    return (clock() - start) / repeats


def report_lines(times: Times) -> list[Line]:
    """Return the lines of the report: limits are those of the memory model's first section, 4."""
    exp, states = "numpy.exp over one array", f"{cases.STATES:,} states"
    against_exp = [
        _against(times, f"{work}{way}", f"{what}{way}", f"{floor}{way}", f"numpy.exp over {over}", most)
        for way in ("", ", warm")
        for work, what, read, limit in (
            ("recall", f"recall of {states} (2 arrays read)", 2, 6),
            ("recall, easiness each", "recall, an easiness for each (3 arrays read)", 3, 6),
            ("bound", f"lower bound of {states} (2 arrays read)", 2, 20),
            ("bound, all each", "lower bound, easiness and two variances for each (5 arrays read)", 5, 20),
        )
        for floor, over, most in ((f"exp of {read}", "the same arrays", limit), ("exp", "one array", None))
    ]
    against_exp += [_against(times, "exp", "numpy.exp itself", "copy", "copying as many numbers (memory)", None)]
    night = f"nightly bounds, {cases.PEOPLE:,} people x {cases.QUESTIONS} questions"
    posterior, drill = min(times["posterior"]), min(times["drill"])
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
        _times_faster(times, "posterior", "plain posterior", "posterior of one answer", "plain Python", 5),
        _against(times, "answer", "all that one answer moves", "insert", "one row inserted and committed", None),
        _against(times, "night", night, "night exp", exp, None),
        Line(
            f"a drill from {cases.OFFERED:,} questions",
            drill,
            "limit in time",
            drill / 2e-3,
            "at most 2 ms",
            drill <= 2e-3,
        ),
        _times_faster(times, "by hold", "by history", "recall by hold", f"full history of {cases.HISTORY} answers", 10),
    ]


def _against(times: Times, name: str, what: str, floor: str, floor_name: str, limit: float | None) -> Line:
    ratio = ratio_of(times, name, floor)
    said = "" if limit is None else f"at most {limit:g} times"
    return Line(what, min(times[name]), floor_name, ratio, said, None if limit is None else ratio <= limit)


def _times_faster(times: Times, name: str, slow: str, what: str, slow_name: str, least: float) -> Line:
    ratio = ratio_of(times, slow, name)
    return Line(
        what, min(times[name]), f"{slow_name} takes", ratio, f"at least {least:g} times as long", ratio >= least
    )


def written(lines: list[Line], times: Times) -> str:
    """Return the report as Markdown."""
    load = os.getloadavg()[0]
    head = [
        "# Benchmarks",
        "",
        "Written by `make bench`. Every ratio is the median over rounds in which the two are timed in turn, on one "
        "thread; times are the shortest, of the processor where no disk is waited for. *Warm*: called twice and "
        "the second call counts, so that its arrays lie in the caches. Times are this machine's; under load ratios "
        "wander too.",
        "",
        f"- when: {datetime.now(UTC):%Y-%m-%d %H:%M} UTC; load {load:.1f} on {os.cpu_count()} cores",
        f"- with: Python {platform.python_version()}, numpy {np.__version__}, {platform.machine()}",
        "",
        "| work | takes | floor | times the floor | limit | met |",
        "|---|---|---|---|---|---|",
    ]
    return "\n".join([*head, *map(_row, lines), "", *_floors(times), ""])


def _row(line: Line) -> str:
    met = {True: "yes", False: "**no**", None: ""}[line.met]
    return f"| {line.what} | {_time(line.took_s)} | {line.floor} | {_ratio(line.ratio)} | {line.limit} | {met} |"


def _ratio(ratio: float) -> str:
    return f"{ratio:,.0f}" if ratio >= 20.0 else f"{ratio:.1f}" if ratio >= 1.0 else f"{ratio:.2g}"


def _time(seconds: float) -> str:
    for unit, size in (("s", 1.0), ("ms", 1e-3), ("us", 1e-6)):
        if seconds >= size:
            return f"{seconds / size:.3g} {unit}"
    return f"{seconds * 1e9:.3g} ns"


def _floors(times: Times) -> list[str]:
    """Say what each floor is and what lies between it and us."""
    gigabytes = 16 * cases.STATES / min(times["copy"]) / 1e9
    return [
        "What the floors are:",
        "",
        f"- **Arrays.** Memory allows {gigabytes:.0f} GB/s here (a copy reads and writes 16 bytes a number), so a pass "
        "over memory is not what costs: two exponentials, a logarithm and a division do, which alone are about four "
        "times one exponential, and some six cheap passes over blocks that stay in the cache. The limit is set over "
        "the same arrays, that is all that are read. The stricter figure beside it counts one exponential for each "
        "state: warm, where an exponential is cheapest, recall then lies at six to seven of them, and numpy has no "
        "cheaper way to these two exponentials and one logarithm (base 2, log1p, tanh and powers were timed).",
        "- **One answer.** Whatever it moves is small beside the one row that records it.",
        "- **Night.** One call a person; its floor is one exponential over all states at once.",
        "- **Drill.** The minutes are filled exactly, so its floor is that filling, not a sort; the limit is in time.",
    ]


if __name__ == "__main__":
    raise SystemExit(main())
