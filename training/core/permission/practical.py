"""A practical task and its steps, and when one watched attempt passes."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from training.core.permission.evidence import Supervision
from training.core.questions.kinds import Topic
from training.core.questions.reading_fields import FieldReader

_IDENT = re.compile(r"[A-Z][A-Z0-9]{0,11}")
_REQUIRED = frozenset({"id", "version", "title", "topic", "minutes", "source", "steps", "ends_with"})


class StepResult(StrEnum):
    DONE = "done"
    PROMPTED = "prompted"
    MISSED = "missed"
    NOT_OBSERVED = "not observed"


class Judgement(StrEnum):
    """The mentor's overall one, beside the steps."""

    READY = "ready"
    NOT_YET = "not yet"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step; a critical one missed or prompted fails the attempt. ``looks_for`` and ``trap`` are for the mentor."""

    text: str
    critical: bool
    looks_for: str
    trap: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticalTask:
    id: str
    version: int
    title: str
    topic: Topic
    minutes: int
    sources: tuple[str, ...]
    steps: tuple[Step, ...]
    ends_with: str


class Flaw(StrEnum):
    """Why an attempt does not pass; the shell turns each into a sentence."""

    OTHER_STEPS = "steps and results do not belong together"
    NOT_OBSERVED = "step not observed"
    CRITICAL = "critical step not done unaided"
    NOT_YET = "overall judgement not yet"
    NOT_JUDGED = "overall judgement missing"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One reason why an attempt does not pass; ``step`` counts from 1 and is 0 where it is about the whole."""

    flaw: Flaw
    step: int = 0
    result: StepResult | None = None


def faults_of_attempt(
    task: PracticalTask,
    results: Sequence[StepResult | None],
    judgement: Judgement | None,
    supervision: Supervision = Supervision.ALONE,
) -> tuple[Fault, ...]:
    """Why this attempt does not pass; empty when it passes.

    A critical step must be done unaided; with the mentor beside it may be prompted, which is coaching and no proof.
    Where the person watched the mentor, no step of theirs is judged. A step that was not observed, or left open, never
    passes (competence shown, not assumed; after the observation checklists of medical training, common practice, no
    source).
    """
    if supervision is Supervision.WATCHED:
        return ()
    if len(results) != len(task.steps):
        return (Fault(flaw=Flaw.OTHER_STEPS),)
    found = [
        _fault(number, step, result, coached=supervision is Supervision.BESIDE)
        for number, (step, result) in enumerate(zip(task.steps, results, strict=True), 1)
    ]
    if judgement is not Judgement.READY:
        found.append(Fault(flaw=Flaw.NOT_YET if judgement is Judgement.NOT_YET else Flaw.NOT_JUDGED))
    return tuple(fault for fault in found if fault is not None)


def _fault(number: int, step: Step, result: StepResult | None, *, coached: bool) -> Fault | None:
    if result is None or result is StepResult.NOT_OBSERVED:
        return Fault(flaw=Flaw.NOT_OBSERVED, step=number, result=result)
    unaided = result is StepResult.DONE or (coached and result is StepResult.PROMPTED)
    if step.critical and not unaided:
        return Fault(flaw=Flaw.CRITICAL, step=number, result=result)
    return None


def task_from(mapping: Mapping[str, object]) -> PracticalTask:
    """Read one practical task. Raises ``Refused`` with every fault found."""
    reader = FieldReader(mapping)
    reader.expect(_REQUIRED)
    task = PracticalTask(
        id=reader.matching("id", _IDENT, "a capital letter and digits, like T1"),
        version=_whole(reader, "version"),
        title=reader.text("title"),
        topic=reader.word("topic", Topic) or Topic.WORK_AREA,
        minutes=_whole(reader, "minutes"),
        sources=reader.texts("source"),
        steps=tuple(_step(reader, place, row) for place, row in enumerate(reader.mappings("steps"), start=1)),
        ends_with=reader.text("ends_with"),
    )
    if task.steps and not any(step.critical for step in task.steps):
        reader.fault("steps", "S6", "Mark at least one step critical.")
    reader.refuse_if_faulty()
    return task


def _step(reader: FieldReader, place: int, row: Mapping[str, object]) -> Step:
    inner = reader.inside(f"steps[{place}]", row)
    inner.expect(frozenset({"text", "critical", "looks_for"}), optional=frozenset({"trap"}))
    return Step(
        text=inner.text("text"),
        critical=inner.flag("critical"),
        looks_for=inner.text("looks_for"),
        trap=inner.text("trap"),
    )


def _whole(reader: FieldReader, name: str) -> int:
    number = reader.number(name)
    if number is not None and (number < 1 or number != int(number)):
        reader.fault(name, "S3", "Write a whole number above 0.")
    return int(number or 0)
