"""The cases that every mutant meets: drawn from the oracle's own houses, each with the oracle's opinion of it."""

from __future__ import annotations

import pickle
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from pathlib import Path

from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from tests.core.permission.houses import House, houses
from tests.core.permission.oracle import Opinion, consult
from tests.core.permission.test_oracle import INSTANTS
from tests.mutants.reach import reached_by
from training.core.permission.decide import decide
from training.core.permission.decision import Decision, Mode

KNOWN_AT = 1000
INSTANTS_EACH = 4
RANKS = {Mode.NOT_CLEARED: 0, Mode.SUPERVISED: 1, Mode.ALONE: 2}


@dataclass(frozen=True, slots=True)
class Case:
    """One question to ``decide``, with the answer of the unmutated code and the functions that it called."""

    house: House
    at: datetime
    mode: Mode
    reached: int

    def decided(self) -> Decision:
        """What ``decide`` says now."""
        return decide(*self.house, "J", at=self.at, known_at=KNOWN_AT)

    def opinion(self) -> Opinion:
        """What the oracle says."""
        return consult(*self.house, "J", at=self.at, known_at=KNOWN_AT)


@dataclass(frozen=True, slots=True)
class Answered:
    """A case with the oracle's opinion and the whole answer of the unmutated code."""

    case: Case
    opinion: Opinion
    decision: Decision


def drawn(number: int, sown: int) -> list[Case]:
    """So many cases, the same ones for the same seed: houses of the oracle's, each at four of its instants.

    A house takes far longer to draw than to judge.
    """
    found: list[Case] = []

    @seed(sown)
    @settings(
        max_examples=-(-number // INSTANTS_EACH),
        phases=[Phase.generate],
        database=None,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(houses(), st.lists(INSTANTS, min_size=INSTANTS_EACH, max_size=INSTANTS_EACH))
    def draw(house: House, instants: list[datetime]) -> None:
        found.extend(_case(house, at) for at in instants)

    draw()
    return found[:number]


def _case(house: House, at: datetime) -> Case:
    decision, reached = reached_by(lambda: decide(*house, "J", at=at, known_at=KNOWN_AT))
    return Case(house, at, decision.mode, reached)


def write(cases: list[Case], path: Path) -> None:
    """Keep cases in a file, one by one."""
    with path.open("wb") as file:
        for case in cases:
            pickle.dump(case, file)


def read(path: Path, most: int | None = None) -> list[Case]:
    """The first cases of a file, or all."""
    with path.open("rb") as file:
        return list(islice(_each(file), most))


def _each(file: object) -> Iterator[Case]:
    while True:
        try:
            yield pickle.load(file)  # type: ignore[arg-type]
        except EOFError:
            return


def contradicts(decision: Decision, opinion: Opinion) -> bool:
    """Whether the oracle would refuse this answer: another mode, another end, or gaps that it does not know."""
    gaps = frozenset((gap.ground, str(gap.subject)) for gap in decision.gaps)
    return decision.mode != opinion.mode or decision.until != opinion.until or gaps not in opinion.gaps


def clears_more(case: Case) -> bool:
    """Whether ``decide`` now lets somebody do more than the unmutated code does."""
    try:
        return RANKS[case.decided().mode] > RANKS[case.mode]
    except Exception:  # whoever gets no answer does not start
        return False
