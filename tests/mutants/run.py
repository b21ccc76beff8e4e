"""The mutation check: every mutant against the oracle and the tests, and what survives against very many cases.

`.venv/bin/python -m tests.mutants.run --modules recall papers --cases 5000` looks at two modules alone.
"""

from __future__ import annotations

import argparse
import json
import random
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from tests.mutants.cases import read
from tests.mutants.equivalent import EQUIVALENT
from tests.mutants.judging import Verdict, read_verdicts
from tests.mutants.listing import modules, mutants, source_of
from tests.mutants.worker import Errand
from tests.services.processes import ROOT

PROCESSES = 2
ORACLE_CASES = 5_000
CASES = 100_000
ENOUGH = 0.95
KILLED = ("oracle", "test", "time", "import", "crash")


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of every mutant, and the tests that fail on the unmutated code and so can kill nothing.

    ``before`` mutants were killed in a run before and not judged again.
    """

    verdicts: tuple[Verdict, ...]
    failing: tuple[str, ...]
    cases: int
    before: int = 0

    @property
    def equivalent(self) -> list[Verdict]:
        """Survivors that change no answer, each looked at and given a reason."""
        return [v for v in self.verdicts if v.survived and v.story in EQUIVALENT]

    @property
    def survivors(self) -> list[Verdict]:
        """Mutants that nothing has met, or that could not be judged, and that are not known to be equivalent."""
        return [v for v in self.verdicts if v.ending not in KILLED and v not in self.equivalent]

    @property
    def killed(self) -> int:
        """How many were met by something."""
        return sum(v.ending in KILLED for v in self.verdicts)

    @property
    def share_killed(self) -> float:
        """The share killed of all that are not equivalent."""
        return self.killed / max(1, len(self.verdicts) - len(self.equivalent))

    @property
    def clearing_more(self) -> list[Verdict]:
        """Survivors that clear a case which the unmutated code refuses."""
        return [v for v in self.verdicts if v.clears_more]

    def told(self) -> list[str]:
        """The outcome in lines for the report."""
        by = Counter(v.ending for v in self.verdicts)
        replayed = [v for v in self.verdicts if v.cases >= 0]
        return [
            f"mutants: {len(self.verdicts):,}; killed {self.killed:,} ({self.share_killed:.1%} of all that are not"
            f" equivalent): {by['oracle']:,} by the oracle's cases, {by['test']:,} by another test,"
            f" {by['time']:,} out of time, {by['import'] + by['crash']:,} could not be run",
            f"equivalent, each with its reason in tests/mutants/equivalent.py: {len(self.equivalent):,}",
            f"survivors: {len(self.survivors):,}; {len(replayed):,} of them lie below decide and met every one of"
            f" {self.cases:,} cases that calls their function and is not cleared alone"
            f" ({sum(v.cases for v in replayed):,} in all): {len(self.clearing_more):,} clear more than the code",
            *([f"killed in an earlier run over the same source: {self.before:,}"] if self.before else []),
            *(f"{v.ending}: {v.name} [{v.story[1]} -> {v.story[2]}]" for v in self.survivors),
            *(f"CLEARS MORE: {v.name}, {len(v.clears_more):,} cases" for v in self.clearing_more),
            *(f"fails on the unmutated code: {name}" for name in self.failing),
        ]


def look(chosen: Sequence[str], seed: int, cases: int, folder: Path, *, quick: bool = False) -> Outcome:
    """Draw the cases, see which test reaches what, let the workers judge, and read their verdicts.

    What lies in the folder already, from a run before, is not made anew: cases, survey, and mutants that were killed.
    Source, cases and the tests of then have to be the same; further tests kill only more.
    """
    before = folder / "killed-before"
    files = [str(folder / f"cases-{n}") for n in range(PROCESSES)]
    each = -(-cases // PROCESSES)
    survey = Errand(
        modules=tuple(chosen),
        deciding=_deciding(),
        share=None,
        shares=PROCESSES,
        seed=seed,
        oracle_cases=min(ORACLE_CASES, cases),
        cases=tuple(files),
        survey=str(folder / "survey"),
        verdicts="",
        killed_before=str(before),
        quick=quick,
    )
    errands = [replace(survey, share=n, verdicts=str(folder / f"verdicts-{n}")) for n in range(PROCESSES)]
    _keep_killed(errands, before)
    drawing = [["tests.mutants.draw", str(each), str(seed + n), file] for n, file in enumerate(files)]
    made = zip([*drawing, _command(survey)], [*files, survey.survey], strict=True)
    _together([command for command, file in made if not Path(file).exists()])
    _together([_command(errand) for errand in errands])
    return _read(errands, sum(len(read(Path(file))) for file in files))


def _keep_killed(errands: Sequence[Errand], before: Path) -> None:
    """Whatever a run before killed stays killed."""
    killed = [one for file in (before, *(Path(e.verdicts) for e in errands)) for one in read_verdicts(file)]
    before.write_text("".join(f"{json.dumps(asdict(one))}\n" for one in killed if one.ending in KILLED), "utf-8")


def _command(errand: Errand) -> list[str]:
    return ["tests.mutants.worker", json.dumps(asdict(errand))]


def _read(errands: Sequence[Errand], cases: int) -> Outcome:
    """The last word on each mutant: a replay says more than the verdict before it."""
    files = [Path(errands[0].killed_before), *(Path(errand.verdicts) for errand in errands)]
    names = {mutant.name for module in errands[0].modules for mutant in mutants(module, source_of(module))}
    verdicts = {one.name: one for file in files for one in read_verdicts(file) if one.name in names}
    failing = json.loads(Path(errands[0].survey).read_text(encoding="utf-8"))["failing"]
    before = sum(one.name in names for one in read_verdicts(files[0]))
    return Outcome(tuple(verdicts.values()), tuple(failing), cases, before)


def _together(commands: Sequence[Sequence[str]]) -> None:
    """Run them all at once, each in a session of its own, to which Linux gives its own share of the processors."""
    started = [
        (command, subprocess.Popen([sys.executable, "-m", *command], cwd=ROOT, start_new_session=True))
        for command in commands
    ]
    for command, process in started:
        if process.wait():
            raise RuntimeError(f"{command[0]} ended with {process.returncode}")


def _deciding() -> tuple[str, ...]:
    """The modules that ``decide`` stands on: mutants of others cannot change its answer."""
    asked = "import sys, training.core.permission.decide; print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", asked], cwd=ROOT, capture_output=True, text=True, check=True)
    return tuple(set(loaded.stdout.split()) & set(modules()))


def _named(names: Sequence[str]) -> Iterator[str]:
    return (module for module in modules() if not names or module.rpartition(".")[2] in names)


def main() -> int:
    """Look at the modules named and say what survives; 0 when enough are killed and no survivor clears more."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--modules", nargs="*", default=[], help="such as recall papers; all when left out")
    options.add_argument("--seed", type=int, default=random.SystemRandom().randrange(2**31))
    options.add_argument("--cases", type=int, default=ORACLE_CASES)
    options.add_argument("--folder", type=Path, help="where cases and verdicts are kept; a temporary one when left out")
    options.add_argument("--quick", action="store_true", help="leave out the tests that take long")
    chosen = options.parse_args()
    names, folder = list(_named(chosen.modules)), chosen.folder
    with tempfile.TemporaryDirectory() as temporary:
        outcome = look(names, chosen.seed, chosen.cases, folder or Path(temporary), quick=chosen.quick)
    print(f"seed {chosen.seed}", *outcome.told(), sep="\n")
    return 0 if outcome.share_killed >= ENOUGH and not outcome.clearing_more else 1


if __name__ == "__main__":
    sys.exit(main())
