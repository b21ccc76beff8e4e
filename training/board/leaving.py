"""Nobody who has left is cleared, whatever else is proved: a decision ends with the last day, as known then."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from training.core.permission import remedies
from training.core.permission.decision import Decision, Gap, Ground, Mode
from training.core.permission.ends import at_close_of
from training.people.facts import LeavingDay
from training.records.queries import facts_of


@dataclass(frozen=True, slots=True, kw_only=True)
class LastDay:
    """The last day of somebody with the firm, as ``record`` says."""

    day: date
    record: int


def last_days(chain_id: int, *, known_at: int) -> Mapping[str, LastDay]:
    """The last day of everybody of whom one is entered and not taken back, as known at a record number, by key."""
    newest = {row.about: row for row in facts_of([LeavingDay], chain_id=chain_id, known_at=known_at)}
    return {
        key: LastDay(day=row.fact.last_day, record=row.number)
        for key, row in newest.items()
        if row.fact is not None and row.fact.last_day is not None
    }


def while_here(decision: Decision, last: LastDay | None, zone: str) -> Decision:
    """The decision, ended with the last day; after it not cleared."""
    if last is None:
        return decision
    end = at_close_of(last.day, zone, Ground.APPOINTMENT, decision.job_type)
    if decision.at >= end.at:
        gaps = (_left(decision.job_type, last), *decision.gaps)
        return replace(decision, mode=Mode.NOT_CLEARED, until=None, ends_by=None, supervisors=(), gaps=gaps)
    if decision.until is not None and decision.until > end.at:
        return replace(decision, until=end.at, ends_by=end)
    return decision


def _left(job_type: str, last: LastDay) -> Gap:
    return Gap(
        ground=Ground.APPOINTMENT,
        subject=job_type,
        sentence="Is with the firm on that day.",
        source="Hookside: nobody who has left is cleared",
        remedy=remedies.entry(None),
        records=(last.record,),
    )
