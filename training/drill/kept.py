"""Recall kept beside the answers, of many people at once: believed only where it holds exactly their answers."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from typing import NamedTuple

import msgspec

from training.core.memory.fold import PersonRecall, Trace
from training.core.memory.posterior import Belief
from training.drill.models import PersonBelief, RecallState


class Wanted(NamedTuple):
    """Whose recall, holding the answers up to record ``newest``, folded with the parameter set of that number."""

    person_id: int
    newest: int
    parameter_set: int


def kept_recalls(wanted: Collection[Wanted]) -> dict[Wanted, PersonRecall | None]:
    """The kept recall of each that is wanted; None where there is none, or it holds other answers or does not read."""
    people = [one.person_id for one in wanted]
    beliefs = _beliefs(people)
    states: dict[int, list[RecallState]] = defaultdict(list)
    for row in RecallState.objects.filter(person__in=people):
        states[row.person_id].append(row)
    # asked again behind the rows: an answer stored between the two reads must not mix with the belief before it
    after = {_wanted(row) for row in PersonBelief.objects.filter(person__in=people).defer("packed")}
    return {
        one: _read(beliefs[one], states[one.person_id]) if one in beliefs and one in after else None for one in wanted
    }


def _beliefs(people: Sequence[int]) -> dict[Wanted, PersonBelief]:
    return {_wanted(row): row for row in PersonBelief.objects.filter(person__in=people)}


def _wanted(row: PersonBelief) -> Wanted:
    return Wanted(row.person_id, row.newest_answer, row.parameter_set)


def _read(kept: PersonBelief, rows: Sequence[RecallState]) -> PersonRecall | None:
    try:
        traces = {row.question: msgspec.convert(row.trace, Trace) for row in rows}
        place = (kept.folded_at, kept.folded_to) if kept.folded_at else None
        return PersonRecall(traces, Belief.from_bytes(bytes(kept.packed)), place)
    except (ValueError, msgspec.ValidationError):
        return None
