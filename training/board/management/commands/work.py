"""Does the due work where no Celery worker runs: clearances no longer believed, the daily walk of the seal, and the
weekly refit."""

from __future__ import annotations

import logging
import time
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.db import close_old_connections
from django.utils import timezone

from training.board.actions import sweep
from training.drill.tasks import refit_parameters, refold_behind
from training.records.tasks import verify_chains

logger = logging.getLogger(__name__)
DAY_S = 24 * 3600


class Command(BaseCommand):
    """`manage.py work [--once] [--every SECONDS]`."""

    help = __doc__

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--once", action="store_true", help="do what is due now and end")
        parser.add_argument("--every", type=float, default=5.0, metavar="SECONDS", help="pause between two looks (5)")

    def handle(self, *, once: bool, every: float, **options: Any) -> None:
        if once:
            self.stdout.write(f"worked out {sweep(at=timezone.now())} clearances")
            return
        walked_s, days = time.monotonic(), 0
        while True:
            _look()
            if time.monotonic() - walked_s >= DAY_S:
                walked_s, days = time.monotonic(), days + 1
                _do_of_day(days)
            time.sleep(every)


def _do_of_day(days: int) -> None:
    """What is due once a day, and once a week; here and now, since nobody else would hear it."""
    for task in (verify_chains, refold_behind, *((refit_parameters,) if days % 7 == 0 else ())):
        task.apply()


def _look() -> None:
    """Sweep once; a failure is logged and tried again, since until then nobody is cleared by it."""
    close_old_connections()
    try:
        sweep(at=timezone.now())
    except Exception:
        logger.exception("The due clearances could not be worked out")
