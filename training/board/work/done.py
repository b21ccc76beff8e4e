"""Tasks done on jobs, as currency: a closed job's task that somebody else on it confirmed. Never a sign-off."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace

from training.board.facts import TaskDone
from training.core.permission.evidence import Observation, PersonEvidence
from training.people.disputes import counting, disputes_of
from training.records.queries import Written, facts_of


def with_tasks_done(
    everybody: Mapping[str, PersonEvidence], *, chain_id: int, known_at: int
) -> dict[str, PersonEvidence]:
    """Everybody's evidence, with what they did on jobs; a record of it that cannot be read blocks whom it is about.

    One that its person disputes counts for nothing until that is settled and it stands.
    """
    rows = defaultdict(list)
    for row in facts_of([TaskDone], chain_id=chain_id, about=everybody, known_at=known_at):
        rows[row.about].append(row)
    disputes = disputes_of(rows, chain_id=chain_id, known_at=known_at) if rows else {}
    counted = {key: counting(done, disputes.get(key, ())) for key, done in rows.items()}
    return {key: _with(evidence, counted[key]) if key in counted else evidence for key, evidence in everybody.items()}


def _with(evidence: PersonEvidence, rows: list[Written[TaskDone]]) -> PersonEvidence:
    done = tuple(_observation(row.number, row, row.fact) for row in rows if row.fact is not None)
    unreadable = tuple(row.number for row in rows if row.fact is None)
    return replace(evidence, observations=evidence.observations + done, unreadable=evidence.unreadable + unreadable)


def _observation(number: int, row: Written[TaskDone], fact: TaskDone) -> Observation:
    return Observation(
        record=number,
        happened_at=row.happened_at,
        task=fact.task,
        task_version=fact.version,
        observer=fact.by,
        passed=True,
        workshop=fact.workshop,
        done_only=True,
    )
