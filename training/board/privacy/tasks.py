"""The nightly look at whose records' time is over; it erases nothing."""

from __future__ import annotations

import logging

from celery import shared_task
from django.utils import timezone

from training.board.privacy.deciding import leavers
from training.people.leaving import close_left
from training.people.models import WorkshopGroup

logger = logging.getLogger(__name__)


@shared_task(name="board.list_due_erasures")
def list_due_erasures(**_later: object) -> int:
    """Say in the log how many people left so long ago that managers have to decide; the page says who."""
    now, waiting = timezone.now(), 0
    close_left(at=now)
    for group in WorkshopGroup.objects.order_by("pk"):
        due = [one for one in leavers(group, at=now) if one.waits]
        waiting += len(due)
        if due:
            numbers = sum(len(one.over) for one in due)
            logger.warning("%s: the time of %d records of %d people who left is over", group.slug, numbers, len(due))
    return waiting
