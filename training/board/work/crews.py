"""Today's crews: who can lead and who can be second person for each waiting job, worked out now from the records."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from training.board.queries import Reading, decide_all, read_workshop
from training.board.work.jobs import JobRead, jobs_besides, jobs_of_day, untold
from training.board.work.watch import appointments_of
from training.core.permission.crew import Crew, CrewJob, Unlock, best_crews, may_take, unlocks
from training.core.permission.decision import Decision
from training.core.permission.rule_book import JobType, RuleBook
from training.core.permission.scope import outside_scope
from training.core.permission.start_of_work import SECOND_PERSON
from training.core.trade.calendar import local_day
from training.core.trade.errors import OutOfRange
from training.people.models import Workshop
from training.people.queries import people_of

Decisions = Mapping[str, Mapping[str, Decision]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """The jobs of today and who could take them; ``refused`` says why no crews are proposed."""

    jobs: tuple[JobRead, ...]
    waiting: tuple[CrewJob, ...] = ()
    crews: tuple[Crew, ...] = ()
    unlocks: tuple[Unlock, ...] = ()
    refused: str = ""


def crews_of_day(workshop: Workshop, *, at: datetime) -> Day:
    """Who staffs most of today's waiting jobs; whoever is on a running job is not free."""
    jobs = tuple(jobs_of_day(workshop, local_day(at, workshop.zone)))
    reading = read_workshop(workshop, read_at=at)
    book = reading.rule_book
    if book is None:
        return Day(jobs=jobs)
    decisions = _of_the_free(reading, at)
    waiting = tuple(
        _to_staff(job, reading, book, decisions) for job in jobs if job.is_waiting and not job.state.unreadable
    )
    try:
        return Day(jobs=jobs, waiting=waiting, crews=best_crews(waiting), unlocks=unlocks(waiting, decisions))
    except OutOfRange as refused:
        return Day(jobs=jobs, waiting=waiting, refused=str(refused))


def _of_the_free(reading: Reading, at: datetime) -> Decisions:
    """The decisions of everybody who is on no job; of nobody while a running job cannot be read."""
    chain_id = reading.workshop.group.chain_id
    busy = {other.person for other in jobs_besides(chain_id, besides="")} | untold(chain_id)
    if "" in busy:
        return {}
    free = [person for person in people_of(reading.workshop) if person.key not in busy]
    return decide_all(reading, free, at=at)


def _to_staff(job: JobRead, reading: Reading, book: RuleBook, decisions: Decisions) -> CrewJob:
    plan = job.plan
    assert plan is not None
    roles = {one.key: one for one in book.job_types}
    role = roles.get(plan.job_type)
    leads = _able(plan.job_type, plan.planned_end, decisions)
    seconds = _able(SECOND_PERSON, plan.planned_end, decisions)
    closed = _outside(decisions, role, job, reading)
    return CrewJob(
        key=job.key,
        job_type=plan.job_type,
        starts=plan.starts,
        ends=plan.planned_end,
        asks_second=bool(role and role.at_start.second_person),
        may_lead=leads - closed,
        may_second=seconds - _outside(decisions, roles.get(SECOND_PERSON), job, reading),
        closed_to=closed,
    )


def _able(role: str, ends: datetime, decisions: Decisions) -> frozenset[str]:
    return frozenset(key for key, by_type in decisions.items() if may_take(by_type.get(role), ends))


def _outside(
    people: Sequence[str] | Mapping[str, object], role: JobType | None, job: JobRead, reading: Reading
) -> frozenset[str]:
    """Whoever's appointment for this role does not reach the job's vehicle."""
    plan = job.plan
    if role is None or plan is None:
        return frozenset(people)
    zone = reading.workshop.zone
    on, ends_on = local_day(plan.starts, zone), local_day(plan.planned_end, zone)
    return frozenset(
        key for key in people if outside_scope(appointments_of(reading, key, role, on, ends_on), plan.family)
    )
