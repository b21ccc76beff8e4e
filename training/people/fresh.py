"""Fresh evidence for a release: what was seen of a person since; only apps above this one know, and say so at start."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime

from training.people.models import Person

Finding = Callable[[Person, int, datetime], Sequence[int]]
_findings: list[Finding] = []


def provide(finding: Finding) -> None:
    """Let an app that knows say which records a release of a stand-down, by its number, may stand on at an instant."""
    _findings.append(finding)


def fresh_evidence(person: Person, record: int, at: datetime) -> list[int]:
    """The records that a release given now may stand on, oldest first; none where nobody knows any."""
    return sorted({number for finding in _findings for number in finding(person, record, at)})
