"""Due work of the drill: recall folded anew, caches compared nightly with the answers, parameters refitted weekly."""

from __future__ import annotations

import logging
from typing import Any

from celery import shared_task
from django.db.models import F
from django.utils import timezone

from training.drill.actions import check_recall, refold
from training.drill.disputed import beliefs_behind
from training.drill.models import PersonBelief
from training.drill.parameters import parameters_of
from training.drill.refitting import propose_parameters
from training.people.models import Person, WorkshopGroup

logger = logging.getLogger(__name__)

CHECKED_A_NIGHT = 25
REFOLDED_AT_ONCE = 50


class CacheDrifted(RuntimeError):
    """Cached recall was not the fold of the answers on record; it has been folded anew, but somebody should ask why."""


class RefitIncomplete(RuntimeError):
    """The parameters of at least one group could not be refitted; the message names them."""


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


@shared_task(name="drill.refit_parameters")
def refit_parameters(**_later: Any) -> None:
    """Propose a refitted parameter set to every group whose answers call for one; fails at the end if any failed."""
    failed = []
    for group in WorkshopGroup.objects.order_by("pk"):
        try:
            propose_parameters(group=group, at=timezone.now())
        except Exception:  # one group's trouble does not keep the others from being refitted
            logger.exception("Parameters of group %s could not be refitted", group.pk)
            failed.append(group.pk)
    if failed:
        raise RefitIncomplete(f"Not refitted: groups {failed}")


@shared_task(name="drill.refold_behind")
def refold_behind(*, most: int = REFOLDED_AT_ONCE, **_later: Any) -> None:
    """Fold anew some of those whose cache holds another parameter set than the one in force, or not what was disputed
    or settled since; safe to run twice.

    Nobody waits for it: such a cache is read by nobody, and recall is folded from the answers meanwhile.
    """
    for group in WorkshopGroup.objects.order_by("pk"):
        used = parameters_of(group.chain_id).number
        behind = PersonBelief.objects.filter(person__group=group).exclude(parameter_set=used) | beliefs_behind(group)
        for belief in behind.order_by("pk").select_related("person")[:most]:
            refold(person=belief.person)


def _agrees(person: Person) -> bool:
    try:
        return check_recall(person=person, at=timezone.now())
    except Exception:  # one person's trouble does not keep the others from being checked
        logger.exception("Recall of person %s could not be checked", person.pk)
        return False
