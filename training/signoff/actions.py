"""Watching a task: open a draft, note each step, sign it into the record, or leave it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from training.bank.models import TaskVersion
from training.bank.queries import task_of
from training.core.permission.practical import Judgement, StepResult, faults_of_attempt
from training.people.models import Person
from training.records.actions import Refused, append
from training.signoff.facts import Observed
from training.signoff.models import Draft
from training.signoff.queries import refusals_to_observe


def begin(*, person: Person, task: TaskVersion, by: Person, at: datetime) -> Draft:
    """Open an observation of one attempt, or go on with the one that is open. Raises ``Refused`` without authority."""
    _refuse_without_authority(person=person, task=task, by=by, at=at)
    open_one = Draft.objects.filter(person=person, mentor=by, task=task, signed_at=None, left_at=None).first()
    if open_one:
        return open_one
    steps = [""] * len(task_of(task).steps)
    return Draft.objects.create(
        person=person, mentor=by, workshop=person.workshop, task=task, started_at=at, steps=steps
    )


def note(*, draft: Draft, steps: Sequence[StepResult | None], judgement: Judgement | None, note: str) -> None:
    """Keep what has been noted so far; a signed observation is not changed. Raises ``Refused``."""
    changed = Draft.objects.filter(pk=draft.pk, signed_at=None, left_at=None).update(
        steps=[step.value if step else "" for step in steps], judgement=judgement.value if judgement else "", note=note
    )
    if not changed:
        raise Refused("This observation is signed or was left. Begin a new one.")
    draft.refresh_from_db()


def sign(*, draft: Draft, by: Person, at: datetime) -> Draft:
    """Sign the observation into the record, once; a second tap returns the first signature.

    Raises ``Refused`` while a step or the judgement is open, or when the mentor's authority does not hold at this moment.
    """
    with transaction.atomic():
        held = Draft.objects.select_for_update().select_related("task", "person", "workshop__group").get(pk=draft.pk)
        if held.signed_at is not None:
            return held
        if held.left_at is not None or held.mentor_id != by.pk:
            raise Refused("This observation is not open for you.")
        _refuse_without_authority(person=held.person, task=held.task, by=by, at=at)
        fact = _fact_of(held, by)
        record = append(fact, chain_id=held.person.group.chain_id, about=held.person.key, at=at, names=[by.key])
        held.signed_at, held.record_number = at, record.number
        held.save(update_fields=["signed_at", "record_number"])
    return held


def leave(*, draft: Draft, by: Person, at: datetime) -> None:
    """Leave an attempt unsigned, for example when it was broken off; nothing is recorded."""
    Draft.objects.filter(pk=draft.pk, mentor=by, signed_at=None, left_at=None).update(left_at=at)


def _fact_of(held: Draft, by: Person) -> Observed:
    task = task_of(held.task)
    if "" in held.steps or not held.judgement:
        raise Refused("Some steps or the overall judgement are still open. Say what you saw for each, then sign.")
    results = [StepResult(step) for step in held.steps]
    passed = not faults_of_attempt(task, results, Judgement(held.judgement))
    return Observed(
        task=task.id, version=held.task.number, workshop=held.workshop.key, steps=list(held.steps),
        judgement=held.judgement, passed=passed, note=held.note, by=by.key,
    )  # fmt: skip


def _refuse_without_authority(*, person: Person, task: TaskVersion, by: Person, at: datetime) -> None:
    if person.group_id != by.group_id or task.group_id != by.group_id:
        raise Refused("This belongs to another workshop group.")
    refusals = refusals_to_observe(person, mentor=by, task=task.ident, at=at)
    if refusals:
        raise Refused(" ".join(refusals))
