"""manage.py verify_seal: walks each chain and names the first record that does not verify."""

from __future__ import annotations

import sys
from typing import Any

from django.core.management.base import BaseCommand

from training.records.actions import verify_chain
from training.records.models import Chain


class Command(BaseCommand):
    help = "Walk each chain of records. Names the first bad record of each; ends with 1 when there is one."

    def handle(self, **_options: Any) -> None:
        broken = False
        for chain in Chain.objects.order_by("pk"):
            bad = verify_chain(chain_id=chain.pk)
            broken = broken or bad is not None
            self.stdout.write(f"chain {chain.pk}: {_finding(chain.head_number, bad)}")
        if broken:
            sys.exit(1)


def _finding(head_number: int, bad: int | None) -> str:
    if bad is None:
        return f"all {head_number} records verify"
    return f"record {bad} is the first that does not verify; nobody is cleared until this is looked into"
