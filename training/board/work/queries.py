"""Reading starts of work: one by its record number, and those that are planned to go on."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from training.board.facts import WorkStarted
from training.core.permission.start_of_work import LONGEST, OtherJob
from training.people.models import Workshop
from training.records.models import Record
from training.records.queries import Written, facts_of


def start_on_record(workshop: Workshop, number: int) -> Written[WorkStarted] | None:
    """The start of work of a workshop with this record number; None where there is none that can be read."""
    rows = Record.objects.filter(chain_id=workshop.group.chain_id, number=number, kind=WorkStarted.kind)
    about = rows.values_list("about", flat=True).first()
    if about is None:
        return None
    found = facts_of([WorkStarted], chain_id=workshop.group.chain_id, about=about)
    return next((row for row in found if row.number == number and row.fact and row.fact.workshop == workshop.key), None)


def jobs_going_on(workshop: Workshop, *, at: datetime) -> tuple[OtherJob, ...]:
    """Everybody of the group who is on a job whose planned end is still to come, once for each job."""
    lately = Record.objects.filter(
        chain_id=workshop.group.chain_id, kind=WorkStarted.kind, recorded_at__gte=at - LONGEST
    ).values_list("about", flat=True)
    rows = facts_of([WorkStarted], chain_id=workshop.group.chain_id, about=list(lately))
    return tuple(
        OtherJob(record=row.number, person=person, until=row.fact.planned_end)
        for row in rows
        if row.fact is not None and row.fact.planned_end > at
        for person in _people_on(row.fact)
    )


def told(fact: WorkStarted) -> dict[str, Any]:
    """What the answer stood on, as it was stored; empty when it cannot be read."""
    try:
        stored = json.loads(fact.decision)
    except ValueError:
        return {}
    return stored if isinstance(stored, dict) else {}


def _people_on(fact: WorkStarted) -> Iterator[str]:
    supervisor = told(fact).get("supervisor") or {}
    people = {fact.lead, fact.second_person, supervisor.get("person", "")}
    yield from sorted(person for person in people if person)
