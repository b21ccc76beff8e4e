"""manage.py replay_decisions: works every stored decision out again and lists those that come out otherwise."""

from __future__ import annotations

import sys
from collections import Counter
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from training.board.replaying import replay
from training.people.models import Workshop


class Command(BaseCommand):
    help = "Work every stored decision out again, as known then, and compare the bytes. Ends with 1 on a difference."

    def handle(self, *_args: Any, **_options: Any) -> None:
        different = False
        for site in Workshop.objects.select_related("group").order_by("slug"):
            counts: Counter[str] = Counter()
            for one in replay(site, read_at=timezone.now()):
                counts["same" if one.same else "erased" if one.erased else "different"] += 1
                if not one.same and not one.erased:
                    self.stdout.write(f"{site.slug}: {one.stored.where}, {one.stored.plain.get('job_type')}: different")
            different = different or counts["different"] > 0
            self.stdout.write(
                f"{site.slug}: {counts['same']} come out the same, {counts['different']} different, "
                f"{counts['erased']} not answerable since records were erased"
            )
        if different:
            sys.exit(1)
