"""manage.py sign_head: signs the head of each chain and keeps it outside the database."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from training.records.actions import Refused, keep_head
from training.records.heads import HeadsUnreadable
from training.records.models import Chain


class Command(BaseCommand):
    help = "Sign the head of each chain and append it to the heads kept in HOOKSIDE_HEADS_DIR."

    def handle(self, **_options: Any) -> None:
        for chain_id in Chain.objects.order_by("pk").values_list("pk", flat=True):
            try:
                kept = keep_head(chain_id=chain_id, at=timezone.now())
            except (Refused, HeadsUnreadable) as wrong:
                raise CommandError(str(wrong)) from wrong
            self.stdout.write(f"chain {chain_id}: head {kept.number} {kept.hash} signed")
