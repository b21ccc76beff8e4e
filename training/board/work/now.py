"""Jobs that run now, each with what has ended its work: for the first page and for whoever watches over them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from training.board.models import Job
from training.board.work.jobs import JobRead, jobs_read, keys_going_on
from training.board.work.watch import fallen_of
from training.core.permission.running_rules import stops
from training.core.trade.reasons import Reason
from training.people.models import Person, Workshop
from training.people.queries import is_manager


@dataclass(frozen=True, slots=True, kw_only=True)
class Now:
    """A running job and what ends its work at this moment."""

    job: JobRead
    ended: tuple[Reason, ...]


def running_now(workshop: Workshop, *, at: datetime, person: Person | None = None) -> list[Now]:
    """The running jobs of a workshop; for a person who is no manager those that they are on, or that cannot be read."""
    chain_id = workshop.group.chain_id
    keys = Job.objects.filter(workshop=workshop, key__in=keys_going_on(chain_id)).values_list("key", flat=True)
    sees_all = person is None or (bool(keys) and is_manager(person))
    jobs = [
        job
        for job in jobs_read(keys, chain_id=chain_id).values()
        if sees_all or job.state.unreadable or (person is not None and person.key in job.state.busy)
    ]
    fallen = fallen_of(workshop, jobs, at=at)
    return [Now(job=job, ended=stops(job.state, at, fallen[job.key])) for job in jobs]
