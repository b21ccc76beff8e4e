"""The judging of mutants: killed by a case, by a test or by the clock; survivors that clear more are named."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from tests.core.permission.builders import AT, asks, evidence, instructed, instruction, person
from tests.mutants import judging
from tests.mutants.cases import Answered, Case, drawn
from tests.mutants.judging import Trial, Verdict, allow, in_child, judged, replayed
from tests.mutants.listing import PERMISSION, Mutant, mutants, source_of
from tests.mutants.reach import may_change, reached_by
from tests.mutants.run import Outcome
from training.core.permission import standing
from training.core.permission.decision import Mode

SOUND = evidence(person(instructions=(instruction(),)))
RULES = asks(instructed())
CASE = Case((SOUND, RULES), AT, Mode.ALONE, 0)
BROKEN = Case((replace(SOUND, chain_sound=False), RULES), AT, Mode.NOT_CLEARED, 0)


def mutant_of(module: str, kind: str, before: str) -> tuple[Mutant, str]:
    source = source_of(f"{PERMISSION}.{module}")
    found = (m for m in mutants(f"{PERMISSION}.{module}", source) if m.kind == kind and before in m.before)
    return next(found), source


def answered(*cases: Case) -> list[Answered]:
    return [Answered(case, case.opinion(), case.decided()) for case in cases]


BLIND = mutant_of("standing", "if left out", "if not evidence.chain_sound")
WIDE_HAIR = mutant_of("recall", "1e-09 to 1.000000001", "1e-09")


def test_a_mutant_that_answers_other_than_the_oracle_is_killed_by_its_case() -> None:
    verdict = judged(*BLIND, Trial(cases=answered(CASE, BROKEN), quick=(), slow=()))
    assert (verdict.ending, verdict.by) == ("oracle", "case 1")


def test_an_equivalent_mutant_survives() -> None:
    cases = [CASE, BROKEN, *drawn(30, 1)]
    assert judged(*WIDE_HAIR, Trial(cases=answered(*cases), quick=(), slow=())).ending == "survived"


def test_a_survivor_that_clears_more_is_named_with_its_cases() -> None:
    alive = Verdict(BLIND[0].name, BLIND[0].story, "survived")
    verdict = replayed(alive, *BLIND, [CASE, BROKEN, CASE])
    assert (verdict.cases, verdict.clears_more) == (3, (1,))
    assert Outcome((verdict,), (), 3).clearing_more == [verdict]


def test_a_case_knows_which_functions_it_called() -> None:
    decision, reached = reached_by(CASE.decided)
    assert decision == CASE.decided()
    other, _ = mutant_of("recall", "answer withheld", "return end")
    constant, _ = mutant_of("standing", "2 to 3", "2")
    assert [may_change(mutant, reached) for mutant in (BLIND[0], other, constant)] == [True, False, True]


def test_nothing_of_a_mutant_is_left_in_this_process() -> None:
    before = standing.check_records.__code__
    assert judged(*BLIND, Trial(cases=answered(BROKEN), quick=(), slow=())).ending == "oracle"
    assert standing.check_records.__code__ is before
    assert BROKEN.decided().mode is Mode.NOT_CLEARED


def test_a_mutant_is_killed_by_a_test_that_fails_with_it(monkeypatch: pytest.MonkeyPatch) -> None:
    def run(test: Any, **_: Any) -> list[SimpleNamespace]:
        return [SimpleNamespace(failed=not test.holds())]

    def named(name: str, holds: Callable[[], bool]) -> Any:
        return SimpleNamespace(nodeid=name, holds=holds)

    monkeypatch.setattr(judging, "runtestprotocol", run)
    tests = [named("idle", lambda: True), named("watchful", lambda: BROKEN.decided().mode is Mode.NOT_CLEARED)]
    verdict = judged(*BLIND, Trial(cases=(), quick=tests, slow=()))
    assert (verdict.ending, verdict.by) == ("test", "watchful")


def test_a_mutant_that_goes_round_for_ever_runs_out_of_time() -> None:
    def work() -> tuple[str, str]:
        allow(0.05)
        while True:
            pass

    assert in_child(work) == ("time", "processor time")


def test_a_fault_of_the_judging_kills_nothing_and_is_told() -> None:
    def work() -> tuple[str, str]:
        raise KeyError("gone")

    assert in_child(work) == ("not judged", "KeyError('gone')")


def test_the_share_killed_leaves_out_what_is_equivalent(monkeypatch: pytest.MonkeyPatch) -> None:
    story = ("m.f", "a", "b")
    monkeypatch.setattr("tests.mutants.run.EQUIVALENT", {story: "the same"})
    verdicts = [Verdict(str(n), (str(n), "", ""), "test") for n in range(18)]
    verdicts += [Verdict("alive", ("g", "", ""), "survived"), Verdict("same", story, "survived")]
    outcome = Outcome(tuple(verdicts), (), 10)
    assert (outcome.share_killed, len(outcome.survivors), len(outcome.equivalent)) == (18 / 19, 1, 1)
    assert "survived: alive [ -> ]" in outcome.told()
