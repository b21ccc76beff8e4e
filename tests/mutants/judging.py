"""Judges one mutant in a process of its own: the oracle's cases first, then the tests that reach its function."""

from __future__ import annotations

import json
import os
import resource
import signal
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from _pytest.runner import runtestprotocol

from tests.mutants.cases import Answered, Case, clears_more, contradicts
from tests.mutants.grafting import graft
from tests.mutants.listing import Mutant, compiled

CPU_S = 10
"""What one step may take of the processor before it counts as going round for ever."""
REPLAY_CPU_S = 900
MEMORY_BYTES = 6 * 2**30
OF_ITSELF = (signal.SIGSEGV, signal.SIGABRT, signal.SIGBUS, signal.SIGFPE, signal.SIGILL)
"""How a program ends by its own fault; ended from outside, or by a fault of the judging, it was not judged."""
FIRST = 500
"""How many cases are tried before the tests; the rest come after them."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """What became of a mutant: ``by`` says what met it; ``cases`` over how many it was replayed (-1: it was not), and
    ``clears_more`` which of them it clears and should not.
    """

    name: str
    story: tuple[str, str, str]
    ending: str
    by: str = ""
    seconds: float = 0.0
    cases: int = -1
    clears_more: tuple[int, ...] = ()

    @property
    def survived(self) -> bool:
        """Whether nothing has met it."""
        return self.ending == "survived"


def read_verdicts(path: Path) -> list[Verdict]:
    """The verdicts of a file, one a line; none where there is no file."""
    if not path.exists():
        return []
    said = map(json.loads, path.read_text(encoding="utf-8").splitlines())
    return [Verdict(**{**one, "story": tuple(one["story"]), "clears_more": tuple(one["clears_more"])}) for one in said]


@dataclass(frozen=True, slots=True)
class Trial:
    """What a mutant meets: the oracle's cases, quick tests and slow ones."""

    cases: Sequence[Answered]
    quick: Sequence[pytest.Item]
    slow: Sequence[pytest.Item]

    def ending(self) -> tuple[str, str]:
        """What meets it first: a few cases, the quick tests, the other cases, the slow tests."""
        in_words: list[int] = []
        return (
            _by_oracle(self.cases[:FIRST], 0, in_words)
            or _by_tests(self.quick)
            or _by_oracle(self.cases[FIRST:], FIRST, in_words)
            or _by_tests(self.slow)
            or ("survived", f"{len(in_words)} answers in other words: cases {in_words[:3]}" if in_words else "")
        )


def judged(mutant: Mutant, source: str, trial: Trial) -> Verdict:
    """Whether a mutant lives through its trial."""

    def work() -> tuple[str, str]:
        allow(CPU_S)
        try:
            graft(mutant.module, compiled(mutant, source))
        except Exception as fault:
            return "import", type(fault).__name__
        return trial.ending()

    start = time.monotonic()
    ending, by = in_child(work)
    return Verdict(mutant.name, mutant.story, ending, by, round(time.monotonic() - start, 2))


def replayed(verdict: Verdict, mutant: Mutant, source: str, cases: Sequence[Case]) -> Verdict:
    """The verdict on a survivor, with every case that it clears and the unmutated code refuses."""

    def work() -> tuple[str, Any]:
        allow(REPLAY_CPU_S)
        graft(mutant.module, compiled(mutant, source))
        return "replayed", [n for n, case in enumerate(cases) if clears_more(case)]

    ending, found = in_child(work)
    if ending != "replayed":
        return replace(verdict, ending=ending, by=f"replaying: {found}")
    return replace(verdict, cases=len(cases), clears_more=tuple(found))


def _by_oracle(answered: Sequence[Answered], start: int, in_words: list[int]) -> tuple[str, str] | None:
    """The first case that the oracle judges otherwise. Those told in other words, with other proofs or remedies, which
    is not the oracle's to judge, are added to ``in_words``.
    """
    allow(CPU_S)
    for n, one in enumerate(answered, start):
        try:
            decision = one.case.decided()
        except Exception as fault:
            return "oracle", f"case {n}: {type(fault).__name__}"
        if contradicts(decision, one.opinion):
            return "oracle", f"case {n}"
        if decision != one.decision:
            in_words.append(n)
    return None


def _by_tests(tests: Sequence[pytest.Item]) -> tuple[str, str] | None:
    for test in tests:
        allow(CPU_S)
        if any(report.failed for report in runtestprotocol(test, log=False, nextitem=None)):
            return "test", test.nodeid
    return None


def allow(seconds: float) -> None:
    """So much of the processor from now on; then the signal ends this process."""
    signal.setitimer(signal.ITIMER_PROF, seconds)


def in_child(work: Callable[[], tuple[str, Any]]) -> tuple[str, Any]:
    """What some work comes to in a process of its own: its answer, or that it ran out of time or fell over."""
    reader, writer = os.pipe()
    child = os.fork()
    if not child:
        _do(work, writer)
    os.close(writer)
    with os.fdopen(reader, "rb") as answer:
        said = answer.read()
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status):
        ended_by = signal.Signals(os.WTERMSIG(status))
        if ended_by is signal.SIGPROF:
            return "time", "processor time"
        return ("crash" if ended_by in OF_ITSELF else "not judged"), ended_by.name
    ending, by = json.loads(said) if said else ("not judged", "no answer")
    return ending, by


def _do(work: Callable[[], tuple[str, Any]], writer: int) -> None:
    """Do it, say it, and be gone: nothing of the parent is tidied up here."""
    try:
        signal.signal(signal.SIGPROF, signal.SIG_DFL)
        resource.setrlimit(resource.RLIMIT_DATA, (MEMORY_BYTES, MEMORY_BYTES))
        os.write(writer, json.dumps(work()).encode())
    except BaseException as fault:
        os.write(writer, json.dumps(("not judged", repr(fault)[:200])).encode())
    finally:
        os._exit(0)
