"""Does the due work where no Celery worker runs: clearances no longer believed, a look at every running job each
minute, the walk of the seal at the start and hourly, signed heads, replayed decisions and the list of records whose
time is over daily, the weekly refit."""

from __future__ import annotations

import logging
import time
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.db import close_old_connections
from django.utils import timezone

from training.board.actions import sweep
from training.board.privacy.tasks import list_due_erasures
from training.board.tasks import replay_decisions, watch_jobs
from training.drill.tasks import refit_parameters, refold_behind
from training.records.tasks import sign_heads, verify_chains

logger = logging.getLogger(__name__)
MINUTE_S, HOUR_S, HOURS_A_DAY = 60.0, 3600, 24


class Command(BaseCommand):
    """`manage.py work [--once] [--every SECONDS]`."""

    help = __doc__

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--once", action="store_true", help="do what is due now and end")
        parser.add_argument("--every", type=float, default=5.0, metavar="SECONDS", help="pause between two looks (5)")

    def handle(self, *, once: bool, every: float, **options: Any) -> None:
        if once:
            stored, stopped = sweep(at=timezone.now()), watch_jobs()
            self.stdout.write(f"worked out {stored} clearances; {stopped} running jobs have to stop")
            return
        verify_chains.apply()
        walked_s, hours, watched_s = time.monotonic(), 0, -MINUTE_S
        while True:
            _look()
            if time.monotonic() - watched_s >= MINUTE_S:
                watched_s = time.monotonic()
                watch_jobs.apply()
            if time.monotonic() - walked_s >= HOUR_S:
                walked_s, hours = time.monotonic(), hours + 1
                _do_of_hour(hours)
            time.sleep(every)


def _do_of_hour(hours: int) -> None:
    """What is due hourly, once a day and once a week; here and now, since nobody else would hear it."""
    verify_chains.apply()
    days, rest = divmod(hours, HOURS_A_DAY)
    if rest:
        return
    weekly = (refit_parameters,) if days % 7 == 0 else ()
    for task in (sign_heads, refold_behind, replay_decisions, list_due_erasures, *weekly):
        task.apply()


def _look() -> None:
    """Sweep once; a failure is logged and tried again, since until then nobody is cleared by it."""
    close_old_connections()
    try:
        sweep(at=timezone.now())
    except Exception:
        logger.exception("The due clearances could not be worked out")
