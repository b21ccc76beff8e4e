"""Work for the workers: clearances worked out anew, one person's or whatever is no longer believed."""

from __future__ import annotations

import logging

from celery import shared_task
from django.core.cache import cache
from django.core.mail import mail_admins
from django.urls import reverse
from django.utils import timezone

from training.board.actions import sweep, work_out
from training.board.replaying import replay
from training.board.work.now import Now, running_at
from training.board.work.stopped import readers_of
from training.people.models import Person, Workshop

logger = logging.getLogger(__name__)
MAILED_AGAIN_S = 3600


class DecisionsDiffer(RuntimeError):
    """Stored decisions come out otherwise when they are worked out again; the message names them."""


@shared_task(name="board.sweep_clearances")
def sweep_clearances(**_later: object) -> int:
    """Work out every clearance that is no longer believed; safe to run twice and at any moment."""
    return sweep(at=timezone.now())


@shared_task(name="board.work_out_person")
def work_out_person(*, person_id: int, **_later: object) -> int:
    """Work out one person's clearances; a person who has left is nobody's work."""
    person = Person.objects.select_related("workshop__group").filter(pk=person_id, is_active=True).first()
    if person is None:
        return 0
    return work_out(workshop=person.workshop, people=[person], at=timezone.now())


@shared_task(name="board.replay_decisions")
def replay_decisions(**_later: object) -> int:
    """Work every stored decision out again, alarm where one comes out otherwise; returns how many were the same."""
    found = [one for site in _sites() for one in replay(site, read_at=timezone.now())]
    different = [one.stored for one in found if not one.same and not one.erased]
    if different:
        listed = ", ".join(f"{one.workshop.slug} {one.where}" for one in different[:20])
        logger.critical("%s stored decisions come out otherwise: %s", len(different), listed)
        mail_admins("Stored decisions come out otherwise", f"{len(different)}: {listed}. manage.py replay_decisions")
        raise DecisionsDiffer(listed)
    return len(found)


@shared_task(name="board.watch_jobs")
def watch_jobs(**_later: object) -> int:
    """Look at every running job anew; one that has to stop goes to the log, and by mail to whom alarms go.

    The mail comes at once, and hourly until somebody has read it in Hookside. Writes nothing, closes nothing.
    """
    now = timezone.now()
    ended = [one for site in _sites() for one in running_at(site, at=now) if one.ended]
    for one in ended:
        codes = ", ".join(reason.code for reason in one.ended)
        logger.warning("%s: job %s has to stop: %s", one.workshop.slug, one.job.key, codes)
        if not readers_of(one.job, one.ended):
            _mail(one, codes)
    return len(ended)


def _mail(one: Now, codes: str) -> None:
    """Say by mail that a job has to stop: where, never who or why, since mail is open to many."""
    told = f"mailed.{one.job.key}.{codes.replace(', ', '.')}"
    if not cache.add(told, True, MAILED_AGAIN_S):
        return
    said, place = one.job.said, reverse("board:job", args=[one.workshop.slug, one.job.key])
    job_type, bay = (said.job_type, said.bay) if said else ("?", "?")
    text = (
        f"{one.workshop.name}, job type {job_type}, bay {bay}: the work has to stop, and nobody has said yet that they "
        f"have read it. See {place} in Hookside, and go there."
    )
    try:
        mail_admins(f"Stop work: {one.workshop.name}, bay {bay}", text)
    except OSError:  # pages and log say it all the same
        cache.delete(told)
        logger.exception("The mail about job %s did not go out", one.job.key)


def _sites() -> list[Workshop]:
    return list(Workshop.objects.select_related("group").order_by("pk"))
