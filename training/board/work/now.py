"""Jobs that run now, each with what has ended its work: for every page, and for whoever watches over them."""

from __future__ import annotations

import logging
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from django.core.cache import caches

from training.board.models import Job
from training.board.work.jobs import JobRead, jobs_read, keys_going_on
from training.board.work.watch import fallen_of
from training.core.permission.running_rules import stops
from training.core.trade.reasons import Reason, because
from training.people.models import Person, RoleHeld, Workshop
from training.people.queries import is_manager
from training.records.queries import head_of

logger = logging.getLogger(__name__)

KEPT_S: Final = 30  # what time alone ends shows so much later at most; whatever is written shows at once
_NOT_KNOWN: Final = because(
    "not_worked_out",
    "Whether the work may go on could not be worked out: unknown counts as no.",
    "Hookside: what cannot be worked out stops the work",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Now:
    """A running job and what ends its work at this moment."""

    workshop: Workshop
    job: JobRead
    ended: tuple[Reason, ...]


def running_at(workshop: Workshop, *, at: datetime) -> list[Now]:
    """The running jobs of a workshop."""
    chain_id = workshop.group.chain_id
    keys = keys_going_on(chain_id)
    sites = _sites(keys, workshop.group_id) if keys else {}
    own = [key for key, site in sites.items() if site.pk == workshop.pk]
    return _now(jobs_read(own, chain_id=chain_id).values(), sites, at) if own else []


def running_for(person: Person, *, at: datetime) -> list[Now]:
    """The running jobs that somebody has to know of: those that they are on, and whatever of their workshop cannot be
    read; for a manager all of their workshop, and of workshops that have no manager.
    """
    keys = keys_going_on(person.group.chain_id)
    if not keys:
        return []
    sites, watched = _sites(keys, person.group_id), _watched_by(person)
    found = [
        job
        for job in jobs_read(sites, chain_id=person.group.chain_id).values()
        if person.key in job.state.busy
        or sites[job.key].pk in watched
        or (job.state.unreadable and sites[job.key].pk == person.workshop_id)
    ]
    return _now(found, sites, at)


def ended_of(job: JobRead, at: datetime, fallen: Sequence[Reason]) -> tuple[Reason, ...]:
    """What ends the work of a running job; nothing once it is re-energised, since then it is only handed back."""
    if not job.is_running or (job.state.energised and not job.state.unreadable):
        return ()
    return stops(job.state, at, fallen)


def _sites(keys: Iterable[str], group_id: int) -> dict[str, Workshop]:
    """The workshop of each job, in the order of the jobs."""
    rows = Job.objects.filter(key__in=list(keys), workshop__group_id=group_id).select_related("workshop__group")
    return {row.key: row.workshop for row in rows.order_by("pk")}


def _watched_by(person: Person) -> frozenset[int]:
    """The workshops whose running jobs a manager looks after."""
    if not is_manager(person):
        return frozenset()
    managers = RoleHeld.objects.filter(role=RoleHeld.Role.MANAGER, person__is_active=True, person__group=person.group)
    managed = managers.values_list("person__workshop_id", flat=True)
    left = Workshop.objects.filter(group=person.group).exclude(pk__in=managed).values_list("pk", flat=True)
    return frozenset({person.workshop_id, *left})


def _now(jobs: Iterable[JobRead], sites: Mapping[str, Workshop], at: datetime) -> list[Now]:
    by_site: dict[Workshop, list[JobRead]] = defaultdict(list)
    for job in jobs:
        by_site[sites[job.key]].append(job)
    return [
        Now(workshop=site, job=job, ended=ended_of(job, at, fallen[job.key]))
        for site, of_site in by_site.items()
        for fallen in [_fallen(site, of_site, at)]
        for job in of_site
    ]


def _fallen(site: Workshop, jobs: Sequence[JobRead], at: datetime) -> dict[str, tuple[Reason, ...]]:
    """What has fallen of each job, kept for a moment while nothing is written; a fault counts as a stop."""
    head, near = head_of(site.group.chain_id), caches["near"]
    moment = f"{head.number}.{head.is_sound}.{int(at.timestamp()) // KEPT_S}"
    kept: dict[str, tuple[Reason, ...]] = near.get(f"fallen.{site.pk}.{moment}") or {}
    if all(job.key in kept for job in jobs):
        return kept
    try:
        found = fallen_of(site, jobs, at=at)
    except Exception:
        logger.exception("What has fallen of the running jobs of %s could not be worked out", site.slug)
        return {job.key: (_NOT_KNOWN,) for job in jobs}
    near.set(f"fallen.{site.pk}.{moment}", kept | found, KEPT_S)
    return found
