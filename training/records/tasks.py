"""Walks every chain by the clock, so that tampering is found without anybody asking."""

from __future__ import annotations

import logging
from typing import Any

from celery import shared_task

from training.records.actions import verify_chain
from training.records.models import Chain

logger = logging.getLogger(__name__)


class SealBroken(RuntimeError):
    """At least one chain does not verify; the message names each with its first bad record."""


@shared_task
def verify_chains(**_later: Any) -> None:
    """Verify every chain and fail loudly when one is broken; safe to run twice."""
    broken = []
    for chain_id in Chain.objects.values_list("pk", flat=True):
        bad = verify_chain(chain_id=chain_id)
        if bad is not None:
            logger.error("Chain %s does not verify from record %s on", chain_id, bad)
            broken.append(f"chain {chain_id} from record {bad}")
    if broken:
        raise SealBroken("Does not verify: " + ", ".join(broken))
