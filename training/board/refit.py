"""What a proposed parameter set would change: who gains and who loses which job type, before a manager confirms it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from training.board.queries import Reading, decide_all, read_workshop
from training.core.permission.decision import Decision, Mode
from training.drill.parameters import ParameterSet
from training.drill.queries import histories_of
from training.people.models import Person, Workshop, WorkshopGroup
from training.people.queries import people_of

RANK = {Mode.NOT_CLEARED: 0, Mode.SUPERVISED: 1, Mode.ALONE: 2}
Decisions = Mapping[str, Mapping[str, Decision]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One job type at one workshop: who would gain it or hold it more freely, and who would lose it or hold it less."""

    workshop: Workshop
    job_type: str
    gain: tuple[str, ...]
    lose: tuple[str, ...]
    stay: int


def changes(group: WorkshopGroup, proposed: ParameterSet, *, at: datetime) -> list[Change]:
    """What would change at each workshop of a group; job types that change for nobody are told too, with who holds it.

    Worked out twice from the same records, so it takes as long as folding everybody's answers.
    """
    found = []
    for workshop in Workshop.objects.filter(group=group).select_related("group").order_by("name"):
        reading, people = read_workshop(workshop, read_at=at), list(people_of(workshop))
        if reading.rule_book is None:
            continue
        now = decide_all(reading, people, at=at)
        then = decide_all(_with_set(reading, people, proposed), people, at=at)
        keys = [job_type.key for job_type in reading.rule_book.job_types]
        found += [_change(workshop, key, people, now, then) for key in keys]
    return found


def _with_set(reading: Reading, people: list[Person], proposed: ParameterSet) -> Reading:
    """The same reading, with everybody's answers to be folded with another set."""
    chain_id, keys = reading.workshop.group.chain_id, [person.key for person in people]
    histories = histories_of(keys, chain_id=chain_id, known_at=reading.known_at)
    return replace(reading, histories={key: replace(one, parameter_set=proposed) for key, one in histories.items()})


def _change(workshop: Workshop, key: str, people: list[Person], now: Decisions, then: Decisions) -> Change:
    before = {person: RANK[now[person.key][key].mode] for person in people}
    after = {person: RANK[then[person.key][key].mode] for person in people}
    return Change(
        workshop=workshop,
        job_type=key,
        gain=tuple(one.short_name for one in people if after[one] > before[one]),
        lose=tuple(one.short_name for one in people if after[one] < before[one]),
        stay=sum(after[one] == before[one] > 0 for one in people),
    )
