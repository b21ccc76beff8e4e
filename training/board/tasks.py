"""Work for the workers: clearances worked out anew, one person's or whatever is no longer believed."""

from __future__ import annotations

from celery import shared_task
from django.utils import timezone

from training.board.actions import sweep, work_out
from training.people.models import Person


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
