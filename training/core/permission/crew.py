"""Today's crews: who leads and who is second person, so that most jobs are staffed and nobody has two.

Every choice of jobs is tried, the earliest planned first; for each it is settled exactly whether different people can
fill all its places. A supervised lead is never proposed: whoever may supervise could lead, and that takes fewer people.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from itertools import combinations
from typing import Final

from training.core.permission.decision import Decision, Gap, Ground, Mode, RemedyKind
from training.core.permission.start_of_work import SECOND_PERSON
from training.core.trade.errors import OutOfRange

MOST_JOBS: Final = 8
_NO_WAY: Final = frozenset({Ground.UNDER_18, Ground.CHAIN_BROKEN, Ground.CLOCK, Ground.RECORD_UNREADABLE})


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewJob:
    """One job to be staffed. ``closed_to`` are people whose appointment does not reach this vehicle."""

    key: str
    job_type: str
    starts: datetime
    ends: datetime
    asks_second: bool
    may_lead: frozenset[str] = frozenset()
    may_second: frozenset[str] = frozenset()
    closed_to: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Crew:
    """Who leads a job and who is second person ("" where none is asked for)."""

    job: str
    lead: str
    second: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unlock:
    """One person's single gap: closed, ``jobs`` more jobs could be staffed, if it can be closed in time."""

    person: str
    gap: Gap
    job_types: tuple[str, ...]
    jobs: int

    def in_time(self, day: date) -> bool:
        """Whether the gap can be closed by that day, as far as anybody can say."""
        earliest = self.gap.remedy.earliest_on
        return earliest is not None and earliest <= day


def may_take(decision: Decision | None, ends: datetime) -> bool:
    """Whether somebody is cleared alone to beyond the planned end."""
    return (
        decision is not None
        and decision.mode is Mode.ALONE
        and decision.until is not None
        and max(ends, decision.at) < decision.until
    )


def best_crews(jobs: Iterable[CrewJob]) -> tuple[Crew, ...]:
    """The crews that staff most jobs; of equals the earliest planned jobs, then people with the fewest options.

    Raises ``OutOfRange`` for more than eight jobs.
    """
    ordered = _in_order(jobs)
    for size in range(len(ordered), 0, -1):
        for chosen in combinations(ordered, size):
            if _can_be_filled([people for _job, people in _places(chosen)]):
                return _filled(chosen, ordered)
    return ()


def unlocks(jobs: Iterable[CrewJob], decisions: Mapping[str, Mapping[str, Decision]]) -> tuple[Unlock, ...]:
    """Single gaps that let more jobs be staffed when closed: most jobs first, then the soonest, then the shortest.

    ``decisions`` are those of everybody who is free, by person and job type.
    """
    ordered = _in_order(jobs)
    staffed = len(best_crews(ordered))
    found = []
    for person, by_type in decisions.items():
        for gap, opened in _single_gaps(by_type).items():
            more = len(best_crews([_opened(job, person, opened) for job in ordered])) - staffed
            if more > 0:
                found.append(Unlock(person=person, gap=gap, job_types=tuple(sorted(opened)), jobs=more))
    return tuple(sorted(found, key=_worth))


def _in_order(jobs: Iterable[CrewJob]) -> list[CrewJob]:
    ordered = sorted(jobs, key=lambda job: (job.starts, job.key))
    if len(ordered) > MOST_JOBS:
        what = f"Crews are worked out for up to {MOST_JOBS} jobs, and {len(ordered)} are planned"
        raise OutOfRange(what, "Name these crews by hand, or plan fewer jobs for the day")
    return ordered


# ---------------------------------------------------------------- places and people
def _places(jobs: Sequence[CrewJob]) -> list[tuple[CrewJob, frozenset[str]]]:
    """Every place to fill, in order: the lead of each job, then its second person where one is asked for."""
    places = []
    for job in jobs:
        places.append((job, job.may_lead))
        if job.asks_second:
            places.append((job, job.may_second))
    return places


def _can_be_filled(places: Sequence[Iterable[str]]) -> bool:
    """Whether different people can fill all places: each in turn, moving others along where that makes room."""
    holder: dict[str, int] = {}
    return all(_seat(place, places, holder, set()) for place in range(len(places)))


def _seat(place: int, places: Sequence[Iterable[str]], holder: dict[str, int], tried: set[str]) -> bool:
    for person in places[place]:
        if person in tried:
            continue
        tried.add(person)
        if person not in holder or _seat(holder[person], places, holder, tried):
            holder[person] = place
            return True
    return False


def _filled(chosen: Sequence[CrewJob], everything: Sequence[CrewJob]) -> tuple[Crew, ...]:
    """Place by place whoever has the fewest options, as long as the rest can still be filled."""
    options = [person for _job, people in _places(everything) for person in people]
    places = _places(chosen)
    left, named = [people for _job, people in places], list[str]()
    for place, people in enumerate(left):
        scarcest_first = sorted(people - set(named), key=lambda one: (options.count(one), one))
        rest = left[place + 1 :]
        named.append(next(one for one in scarcest_first if _can_be_filled([others - {*named, one} for others in rest])))
    return _crews(chosen, named)


def _crews(chosen: Sequence[CrewJob], named: Sequence[str]) -> tuple[Crew, ...]:
    people = iter(named)
    return tuple(Crew(job=job.key, lead=next(people), second=next(people) if job.asks_second else "") for job in chosen)


# ---------------------------------------------------------------- what unlocks most
def _single_gaps(by_type: Mapping[str, Decision]) -> dict[Gap, set[str]]:
    """The gaps that alone keep somebody from job types, each with the job types that it opens when closed."""
    found: dict[tuple[Ground, str], tuple[Gap, set[str]]] = {}
    for key, decision in by_type.items():
        gaps = [gap for gap in decision.gaps if gap.ground is not Ground.NO_SUPERVISOR]
        same = {(gap.ground, gap.subject) for gap in gaps}
        if decision.mode is Mode.ALONE or len(same) != 1 or not _has_a_way(gaps[0]):
            continue
        found.setdefault(same.pop(), (gaps[0], set()))[1].add(key)
    return dict(found.values())


def _has_a_way(gap: Gap) -> bool:
    return gap.ground not in _NO_WAY and gap.remedy.kind is not RemedyKind.REPAIR


def _opened(job: CrewJob, person: str, opened: set[str]) -> CrewJob:
    """The job as it would be if this person were cleared for these job types."""
    if person in job.closed_to:
        return job
    leads = {person} if job.job_type in opened else set()
    seconds = {person} if SECOND_PERSON in opened else set()
    return replace(job, may_lead=job.may_lead | leads, may_second=job.may_second | seconds)


def _worth(unlock: Unlock) -> tuple[int, date, int, str, str]:
    remedy = unlock.gap.remedy
    return -unlock.jobs, remedy.earliest_on or date.max, remedy.minutes, unlock.person, unlock.gap.subject
