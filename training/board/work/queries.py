"""Reading starts of work: one by its record number, and what its answer stood on."""

from __future__ import annotations

import json
from typing import Any

from training.board.facts import WorkStarted
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


def told(fact: WorkStarted) -> dict[str, Any]:
    """What the answer stood on, as it was stored; empty when it cannot be read."""
    try:
        stored = json.loads(fact.decision)
    except ValueError:
        return {}
    return stored if isinstance(stored, dict) else {}
