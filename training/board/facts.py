"""Facts of the workshop as a whole: a start of work with the answer it stood on."""

from __future__ import annotations

from datetime import datetime
from typing import ClassVar

from training.records.facts import Fact


class WorkStarted(Fact, frozen=True):
    """A start of work that was answered yes: job, people, kit, and the decisions it stood on (JSON text)."""

    kind: ClassVar[str] = "board.work_started"
    workshop: str
    job_type: str
    vehicle: str
    lead: str
    second_person: str
    kit: list[str]
    planned_end: datetime
    decision: str
    by: str
