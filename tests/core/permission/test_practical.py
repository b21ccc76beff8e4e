"""A practical task is read or refused with all its faults; an attempt passes only when every step was seen and done."""

from __future__ import annotations

from typing import Any

import pytest

from training.core.permission.evidence import Supervision
from training.core.permission.practical import (
    Fault,
    Flaw,
    Judgement,
    PracticalTask,
    Step,
    StepResult,
    faults_of_attempt,
    task_from,
)
from training.core.questions.kinds import Topic
from training.core.questions.reading_fields import Refused

DONE, PROMPTED, MISSED, NOT_OBSERVED = StepResult.DONE, StepResult.PROMPTED, StepResult.MISSED, StepResult.NOT_OBSERVED
READY, NOT_YET = Judgement.READY, Judgement.NOT_YET
BESIDE, WATCHED = Supervision.BESIDE, Supervision.WATCHED

PLAIN: dict[str, Any] = {
    "id": "T1",
    "version": 2,
    "title": "Tester, proved before and after",
    "topic": "meters and proving",
    "minutes": 20,
    "source": ["common practice, no source"],
    "steps": [
        {"text": "Looks the leads over.", "critical": False, "looks_for": "Both tips."},
        {"text": "Proves the tester.", "critical": True, "looks_for": "The reading, aloud.", "trap": "An empty unit."},
    ],
    "ends_with": "The leads are put away.",
}


def task() -> PracticalTask:
    return task_from(PLAIN)


# ---------------------------------------------------------------------------------------------------- an attempt


def test_all_steps_done_and_judged_ready_passes() -> None:
    assert faults_of_attempt(task(), [DONE, DONE], READY) == ()


@pytest.mark.parametrize("result", [PROMPTED, MISSED])
def test_a_step_that_is_not_critical_may_be_prompted_or_missed(result: StepResult) -> None:
    assert faults_of_attempt(task(), [result, DONE], READY) == ()


@pytest.mark.parametrize("result", [PROMPTED, MISSED])
def test_a_critical_step_has_to_be_done_unaided(result: StepResult) -> None:
    assert faults_of_attempt(task(), [DONE, result], READY) == (Fault(flaw=Flaw.CRITICAL, step=2, result=result),)


def test_with_the_mentor_beside_a_critical_step_may_be_prompted_and_not_missed() -> None:
    assert faults_of_attempt(task(), [DONE, PROMPTED], READY, BESIDE) == ()
    missed = Fault(flaw=Flaw.CRITICAL, step=2, result=MISSED)
    assert faults_of_attempt(task(), [DONE, MISSED], READY, BESIDE) == (missed,)


@pytest.mark.parametrize("supervision", [Supervision.ALONE, BESIDE])
@pytest.mark.parametrize("result", [None, NOT_OBSERVED])
def test_what_was_not_seen_never_passes_critical_or_not(result: StepResult | None, supervision: Supervision) -> None:
    assert faults_of_attempt(task(), [result, DONE], READY, supervision) == (
        Fault(flaw=Flaw.NOT_OBSERVED, step=1, result=result),
    )


def test_without_the_overall_judgement_or_with_not_yet_nothing_passes() -> None:
    assert faults_of_attempt(task(), [DONE, DONE], NOT_YET) == (Fault(flaw=Flaw.NOT_YET),)
    assert faults_of_attempt(task(), [DONE, DONE], None) == (Fault(flaw=Flaw.NOT_JUDGED),)


def test_all_faults_are_told_in_the_order_of_the_steps() -> None:
    assert faults_of_attempt(task(), [None, MISSED], NOT_YET) == (
        Fault(flaw=Flaw.NOT_OBSERVED, step=1),
        Fault(flaw=Flaw.CRITICAL, step=2, result=MISSED),
        Fault(flaw=Flaw.NOT_YET),
    )


@pytest.mark.parametrize("results", [[], [DONE], [DONE, DONE, DONE]])
def test_results_that_do_not_belong_to_the_steps_are_no_pass(results: list[StepResult]) -> None:
    assert faults_of_attempt(task(), results, READY) == (Fault(flaw=Flaw.OTHER_STEPS),)


def test_who_only_watched_the_mentor_is_not_judged() -> None:
    assert faults_of_attempt(task(), [], None, WATCHED) == ()


# ------------------------------------------------------------------------------------------------------- a task


def test_a_task_is_read_as_it_is_written() -> None:
    assert task() == PracticalTask(
        id="T1",
        version=2,
        title="Tester, proved before and after",
        topic=Topic.METERS,
        minutes=20,
        sources=("common practice, no source",),
        steps=(
            Step(text="Looks the leads over.", critical=False, looks_for="Both tips."),
            Step(text="Proves the tester.", critical=True, looks_for="The reading, aloud.", trap="An empty unit."),
        ),
        ends_with="The leads are put away.",
    )


def faults_of(**changes: Any) -> list[tuple[str, str]]:
    with pytest.raises(Refused) as refused:
        task_from({**PLAIN, **changes})
    return [(fault.field, fault.rule) for fault in refused.value.faults]


HARMLESS = {"text": "Looks.", "critical": False, "looks_for": "Both tips."}
BAD: dict[str, tuple[dict[str, Any], list[tuple[str, str]]]] = {
    "a name of its own": ({"id": "t 1"}, [("id", "S5")]),
    "a topic that there is not": ({"topic": "painting"}, [("topic", "S4")]),
    "no whole version": ({"version": 1.5}, [("version", "S3")]),
    "a version of 0": ({"version": 0}, [("version", "S3")]),
    "minutes in words": ({"minutes": "twenty"}, [("minutes", "S3")]),
    "no source": ({"source": []}, [("source", "S3")]),
    "a field of its own": ({"colour": "red"}, [("colour", "S1")]),
    "no critical step": ({"steps": [HARMLESS]}, [("steps", "S6")]),
    "a step without what to look for": (
        {"steps": [{"text": "Proves.", "critical": True}]},
        [("steps[1].looks_for", "S2")],
    ),
    "a step that may be critical": (
        {"steps": [{**HARMLESS, "critical": "maybe"}]},
        [("steps[1].critical", "S3"), ("steps", "S6")],
    ),
}


@pytest.mark.parametrize(("changes", "faults"), BAD.values(), ids=BAD.keys())
def test_a_task_that_cannot_be_read_is_refused_with_the_field_and_the_rule(
    changes: dict[str, Any], faults: list[tuple[str, str]]
) -> None:
    assert faults_of(**changes) == faults


def test_a_task_without_any_field_is_refused_with_every_field_that_is_missing() -> None:
    with pytest.raises(Refused) as refused:
        task_from({})
    assert {(fault.field, fault.rule) for fault in refused.value.faults} == {(name, "S2") for name in PLAIN}


def test_all_faults_of_a_task_are_told_at_once() -> None:
    assert faults_of(id="1", minutes=-3, topic="x") == [("id", "S5"), ("topic", "S4"), ("minutes", "S3")]
