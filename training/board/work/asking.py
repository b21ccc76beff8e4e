"""Who fills in a form of a job's page, and what there is to choose from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from training.board.work.jobs import JobRead
from training.people.models import Person


@dataclass(frozen=True, slots=True, kw_only=True)
class Asking:
    """Who fills a form in, about which job, with whom and which instruments to choose from, and when."""

    job: JobRead
    viewer: Person
    is_manager: bool
    at: datetime
    people: Sequence[tuple[str, str]] = ()
    instruments: Sequence[str] = ()
