"""manage.py reconcile: lets a restored database answer again, once somebody answers for what it lost."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from training.records.actions import Refused, reconcile
from training.records.heads import HeadsUnreadable, newest_kept
from training.records.models import Chain


class Command(BaseCommand):
    help = "Without --why: say what a restored database lost. With --why and --by: let it answer again."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--chain", type=int, required=True, help="number of the chain, as verify_seal names it")
        parser.add_argument("--why", default="", help="how what was lost was entered again")
        parser.add_argument("--by", default="", help="who answers for it")

    def handle(self, *_args: Any, **options: Any) -> None:
        chain = Chain.objects.filter(pk=options["chain"]).first()
        if chain is None:
            raise CommandError(f"There is no chain {options['chain']}.")
        try:
            kept = newest_kept(chain.pk)
            newest = kept.number if kept else "none"
            self.stdout.write(
                f"chain {chain.pk} ends at record {chain.head_number}; newest head kept outside: {newest}"
            )
            if options["why"]:
                record = reconcile(chain_id=chain.pk, why=options["why"], by=options["by"], at=timezone.now())
                self.stdout.write(f"reconciled by record {record.number}")
        except (Refused, HeadsUnreadable) as wrong:
            raise CommandError(str(wrong)) from wrong
