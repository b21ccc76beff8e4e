"""Due work of the drill: fold one person's recall anew, and nightly compare some caches with the answers on record."""

from __future__ import annotations

import logging
from typing import Any

from celery import shared_task
from django.db.models import F
from django.utils import timezone

from training.drill.actions import check_recall, refold
from training.drill.models import PersonBelief
from training.people.models import Person

logger = logging.getLogger(__name__)

CHECKED_A_NIGHT = 25


class CacheDrifted(RuntimeError):
    """Cached recall was not the fold of the answers on record; it has been folded anew, but somebody should ask why."""


@shared_task(name="drill.refold_recall")
def refold_recall(*, person_id: int, **_later: Any) -> None:
    """Fold all of a person's answers again; safe to run twice, and nothing for somebody who is gone."""
    person = Person.objects.filter(pk=person_id).first()
    if person is not None:
        refold(person=person)


@shared_task(name="drill.check_recall_caches")
def check_recall_caches(*, most: int = CHECKED_A_NIGHT, **_later: Any) -> None:
    """Compare the caches checked longest ago with the answers on record, mend what differs, and fail if any did."""
    waiting = PersonBelief.objects.order_by(F("checked_at").asc(nulls_first=True), "pk").select_related("person")
    drifted = [belief.person_id for belief in waiting[:most] if not _agrees(belief.person)]
    if drifted:
        raise CacheDrifted(f"Recall was not the fold of the answers for people {drifted}")


def _agrees(person: Person) -> bool:
    try:
        return check_recall(person=person, at=timezone.now())
    except Exception:  # one person's trouble does not keep the others from being checked
        logger.exception("Recall of person %s could not be checked", person.pk)
        return False
