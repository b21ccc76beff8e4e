"""Watching a task: open a draft, note each step, sign it into the record, or leave it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from training.bank.models import TaskVersion
from training.bank.queries import task_of
from training.core.permission.evidence import Supervision
from training.core.permission.practical import Judgement, StepResult, faults_of_attempt
from training.people.models import Person
from training.records.actions import Refused, append, hold
from training.signoff.facts import Observed
from training.signoff.models import Draft
from training.signoff.queries import next_step, refusals_to_observe

LONGEST_OPEN = timedelta(hours=12)  # a mentor signs what was watched this shift [assumed]


def begin(*, person: Person, task: TaskVersion, by: Person, at: datetime) -> Draft:
    """Open an observation of one attempt, or go on with the one that is open. Raises ``Refused`` without authority."""
    _refuse_without_authority(person=person, task=task, by=by, at=at)
    open_now = {"person": person, "mentor": by, "task": task, "signed_at": None, "left_at": None}
    begun = {
        "workshop": person.workshop,
        "started_at": at,
        "steps": [""] * len(task_of(task).steps),
        "supervision": lambda: next_step(person, task.ident, at).value,  # looked for only where one is made
    }
    draft, _made = Draft.objects.get_or_create(**open_now, defaults=begun)
    return draft


def note(
    *,
    draft: Draft,
    steps: Sequence[StepResult | None],
    judgement: Judgement | None,
    note: str,
    supervision: Supervision = Supervision.ALONE,
) -> None:
    """Keep what has been noted so far; a signed observation is not changed. Raises ``Refused``."""
    changed = Draft.objects.filter(pk=draft.pk, signed_at=None, left_at=None).update(
        steps=[step.value if step else "" for step in steps],
        judgement=judgement.value if judgement else "",
        note=note,
        supervision=supervision.value,
    )
    if not changed:
        raise Refused(_("This observation is signed or was left. Begin a new one."))
    draft.refresh_from_db()


def sign(*, draft: Draft, by: Person, at: datetime) -> Draft:
    """Sign the observation into the record, once; a second tap returns the first signature.

    The head row is held from here on, so that the mentor's authority cannot fall between the check and the record.
    Raises ``Refused`` while a step or the judgement is open, without authority at this moment, or when it was begun
    longer ago than one shift.
    """
    with transaction.atomic():
        hold(by.group.chain_id)
        rows = Draft.objects.select_for_update(of=("self",)).select_related("task", "person__group", "workshop__group")
        held = rows.get(pk=draft.pk)
        if held.mentor_id != by.pk or held.left_at is not None:
            raise Refused(_("This observation is not open for you."))
        if held.signed_at is not None:
            return held
        if at - held.started_at > LONGEST_OPEN:
            raise Refused(_("This was begun more than half a day ago. Leave it, and watch the task again."))
        _refuse_without_authority(person=held.person, task=held.task, by=by, at=at)
        fact = _fact_of(held, by)
        record = append(fact, chain_id=held.person.group.chain_id, about=held.person.key, at=at, names=[by.key])
        # what was signed keeps the number of its record; both stand or fall together
        held.signed_at, held.record_number = at, record.number
        held.save(update_fields=["signed_at", "record_number"])
    return held


def leave(*, draft: Draft, by: Person, at: datetime) -> None:
    """Leave an attempt unsigned, for example when it was broken off; nothing is recorded."""
    Draft.objects.filter(pk=draft.pk, mentor=by, signed_at=None, left_at=None).update(left_at=at)


def _fact_of(held: Draft, by: Person) -> Observed:
    task, supervision = task_of(held.task), Supervision(held.supervision)
    if supervision is Supervision.WATCHED:
        return Observed(
            task=task.id, version=held.task.number, workshop=held.workshop.key, steps=[], judgement="", passed=True,
            note=held.note, by=by.key, supervision=supervision.value,
        )  # fmt: skip
    if "" in held.steps or not held.judgement:
        raise Refused(_("Some steps or the overall judgement are still open. Say what you saw for each, then sign."))
    results = [StepResult(step) for step in held.steps]
    passed = not faults_of_attempt(task, results, Judgement(held.judgement), supervision)
    return Observed(
        task=task.id, version=held.task.number, workshop=held.workshop.key, steps=list(held.steps),
        judgement=held.judgement, passed=passed, note=held.note, by=by.key, supervision=supervision.value,
    )  # fmt: skip


def _refuse_without_authority(*, person: Person, task: TaskVersion, by: Person, at: datetime) -> None:
    if person.group_id != by.group_id or task.group_id != by.group_id:
        raise Refused(_("This belongs to another workshop group."))
    if not (person.is_active and by.is_active):
        raise Refused(_("One of the two is no longer with the workshop group."))
    refusals = refusals_to_observe(person, mentor=by, task=task.ident, at=at)
    if refusals:
        raise Refused(" ".join(refusals))
