"""One of the processes that judge mutants: pytest collects the tests once, and every mutant is a child of it."""

from __future__ import annotations

import gc
import json
import os
import sys
from collections.abc import Callable
from dataclasses import asdict, dataclass
from itertools import islice
from pathlib import Path
from typing import Any

import pytest
from hypothesis import Phase, settings

from tests.mutants.cases import INSTANTS_EACH, Answered, Case, contradicts, read
from tests.mutants.equivalent import EQUIVALENT
from tests.mutants.judging import Trial, Verdict, judged, read_verdicts, replayed
from tests.mutants.listing import Mutant, mutants, source_of
from tests.mutants.reach import may_change
from tests.mutants.survey import Survey, survey
from tests.services.processes import ROOT
from training.core.permission.decision import Mode

TESTS = ("tests/core/permission", "tests/core/trade/test_calendar.py")
LEFT_OUT = ("tests/core/permission/test_oracle.py", "test_the_random_cases_meet_every_mode_often")
"""The oracle's cases are tried with opinions formed beforehand; the other is about the cases, not about the code."""
EXAMPLES = 12


@dataclass(frozen=True, slots=True)
class Errand:
    """What a worker is to do: its share of the mutants of some modules, the files of cases, where the verdicts go.

    ``share`` None: nothing is judged, and which tests reach which function is found out instead.
    """

    modules: tuple[str, ...]
    deciding: tuple[str, ...]
    share: int | None
    shares: int
    seed: int
    oracle_cases: int
    cases: tuple[str, ...]
    survey: str
    verdicts: str
    killed_before: str
    quick: bool

    def mutants(self) -> list[tuple[Mutant, str]]:
        """This worker's mutants, each with the source of its module, save those killed in a run before."""
        killed = {verdict.name for verdict in read_verdicts(Path(self.killed_before))}
        sources = [(module, source_of(module)) for module in self.modules]
        every = ((mutant, source) for module, source in sources for mutant in mutants(module, source))
        return list(islice((each for each in every if each[0].name not in killed), self.share, None, self.shares))


class Worker:
    """A pytest plugin that judges mutants where the tests would have run."""

    def __init__(self, errand: Errand) -> None:
        self.errand = errand

    def pytest_collection(self) -> None:
        """Few examples a law, none remembered, none made smaller: what is wanted is the first failure."""
        settings.register_profile(
            "mutants",
            parent=settings.get_profile("suite"),
            max_examples=EXAMPLES,
            database=None,
            phases=[Phase.explicit, Phase.generate],
            print_blob=False,
            report_multiple_bugs=False,
        )
        settings.load_profile("mutants")

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Judge this worker's share, then replay the survivors over every case."""
        tests = {item.nodeid: item for item in session.items if not any(part in item.nodeid for part in LEFT_OUT)}
        if self.errand.share is None:
            text = json.dumps(asdict(survey(list(tests.values()))))
            Path(self.errand.survey).write_text(text, encoding="utf-8")
            return True
        found = Survey(**json.loads(Path(self.errand.survey).read_text(encoding="utf-8")))
        with Path(self.errand.verdicts).open("w", encoding="utf-8", buffering=1) as file:
            survivors = self._judge(found, tests, file.write)
            self._replay(survivors, file.write)
        return True

    def _judge(
        self, found: Survey, tests: dict[str, pytest.Item], write: Callable[[str], object]
    ) -> list[tuple[Mutant, str, Verdict]]:
        answered = [Answered(case, case.opinion(), case.decided()) for case in self._cases(self.errand.oracle_cases)]
        differing = sum(contradicts(one.decision, one.opinion) for one in answered)
        if differing:
            raise RuntimeError(f"the oracle contradicts the unmutated code in {differing} cases")
        gc.freeze()
        survivors = []
        for mutant, source in self.errand.mutants():
            deciding, known = mutant.module in self.errand.deciding, mutant.story in EQUIVALENT
            reaching = found.tests_of(mutant, tests)
            trial = Trial(
                cases=[one for one in answered if may_change(mutant, one.case.reached)] if deciding else [],
                quick=[test for test in reaching if test.nodeid not in found.slow],
                slow=[test for test in reaching if test.nodeid in found.slow and not (self.errand.quick or known)],
            )
            verdict = judged(mutant, source, trial)
            _say(write, asdict(verdict))
            if verdict.survived and not known:
                survivors.append((mutant, source, verdict))
        return survivors

    def _replay(self, survivors: list[tuple[Mutant, str, Verdict]], write: Callable[[str], object]) -> None:
        """Every case that the unmutated code does not clear alone: no mutant can clear more of the others."""
        every = [case for case in self._cases(None) if case.mode is not Mode.ALONE]
        gc.freeze()
        for mutant, source, verdict in survivors:
            if mutant.module in self.errand.deciding:
                met = [case for case in every if may_change(mutant, case.reached)]
                _say(write, asdict(replayed(verdict, mutant, source, met)))

    def _cases(self, most: int | None) -> list[Case]:
        if most is None:
            return [case for path in self.errand.cases for case in read(Path(path))]
        share = -(-most // len(self.errand.cases)) * INSTANTS_EACH  # one instant of each house
        return [case for path in self.errand.cases for case in read(Path(path), share)[::INSTANTS_EACH]]


def _say(write: Callable[[str], object], said: dict[str, object]) -> None:
    write(json.dumps(said) + "\n")


def main(errand: Errand) -> int:
    """Collect the tests and do the errand."""
    os.chdir(ROOT)
    options = ["-q", "--assert=plain", "--tb=no", "-p", "no:randomly", "-p", "no:cacheprovider"]
    options += [f"--hypothesis-seed={errand.seed}", *TESTS]
    return int(pytest.main(options, plugins=[Worker(errand)]))


def _read_errand(text: str) -> Errand:
    said: dict[str, Any] = {k: tuple(v) if isinstance(v, list) else v for k, v in json.loads(text).items()}
    return Errand(**said)


if __name__ == "__main__":
    sys.exit(main(_read_errand(sys.argv[1])))
