"""Which tests reach which function, and how long each takes: so that a mutant meets the quickest ones that matter."""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import coverage
import pytest
from _pytest.runner import runtestprotocol

from tests.mutants.grafting import forget_what_was_cached
from tests.mutants.listing import Mutant, functions, modules, source_of
from tests.services.processes import ROOT

SLOW_S = 0.1  # of the processor


@dataclass(frozen=True)
class Survey:
    """The names of all tests, quickest first; of those that fail on the unmutated code; of those reaching a function;
    of those that take long.

    Functions are named with their module: "training.core.permission.ends:earliest".
    """

    quickest: tuple[str, ...]
    failing: tuple[str, ...]
    reaching: dict[str, tuple[str, ...]]
    slow: tuple[str, ...]

    def tests_of(self, mutant: Mutant, tests: Mapping[str, pytest.Item]) -> list[pytest.Item]:
        """The tests for a mutant, quickest first; for what lies outside of every function, those that reach any of its
        module or of one that takes something from it.
        """
        place = mutant.place
        names = self.reaching[place] if place in self.reaching else self._around(mutant.module)
        return [tests[name] for name in names]

    def _around(self, module: str) -> list[str]:
        near = [each for each in modules() if each == module or f"from {module} import" in source_of(each)]
        reached = {name for place, names in self.reaching.items() if place.partition(":")[0] in near for name in names}
        return [name for name in self.quickest if name in reached]


def survey(tests: Sequence[pytest.Item]) -> Survey:
    """Run every test once on the unmutated code and note which lines it reaches."""
    watch = coverage.Coverage(data_file=None, config_file=False, include=[str(ROOT / "training" / "core" / "*")])
    took: dict[str, float] = {}
    failing = []
    watch.start()
    for test in tests:
        watch.switch_context(test.nodeid)
        forget_what_was_cached()
        start = time.process_time()
        if any(report.failed for report in runtestprotocol(test, log=False, nextitem=None)):
            failing.append(test.nodeid)
        took[test.nodeid] = time.process_time() - start
    watch.stop()
    quickest = tuple(sorted(took.keys() - set(failing), key=lambda name: took[name]))
    found = (each for module in modules() for each in _reaching(watch.get_data(), module))
    return Survey(
        quickest=quickest,
        failing=tuple(failing),
        slow=tuple(name for name in quickest if took[name] > SLOW_S),
        reaching={function: tuple(name for name in quickest if name in names) for function, names in found},
    )


def _reaching(noted: coverage.CoverageData, module: str) -> Iterator[tuple[str, frozenset[str]]]:
    """Each function of a module with the tests that ran a line of its body."""
    contexts: dict[int, list[str]] = defaultdict(list, noted.contexts_by_lineno(str(_file_of(module))))
    for name, function in functions(module).items():
        lines = range(function.body[0].lineno, (function.end_lineno or 0) + 1)
        yield f"{module}:{name}", frozenset(test for line in lines for test in contexts[line])


def _file_of(module: str) -> str:
    return str(ROOT / f"{module.replace('.', '/')}.py")
