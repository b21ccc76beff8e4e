"""manage.py load_demo: invented people with months of invented history; --sign-ins says who may sign in."""

from __future__ import annotations

import json
from time import perf_counter
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from training.board.demo.loading import Loaded, finish, is_loaded, load_history, sign_ins

KINDS = {
    "drill.answered": "answers",
    "drill.talked_through": "talk-throughs",
    "signoff.observed": "observations",
}


class Command(BaseCommand):
    help = "Load the invented demo group. Its passwords are public, so it runs only in a demo or in development."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--sign-ins", action="store_true", help="load nothing; say who may sign in, one per role")
        parser.add_argument("--json", action="store_true", help="the sign-ins as a JSON list")

    def handle(self, *args: Any, **options: Any) -> None:
        if not (settings.DEMO or settings.DEBUG):
            raise CommandError(
                "The demo's people have public passwords. It loads only with HOOKSIDE_DEMO=1, or in development."
            )
        if options["sign_ins"]:
            self.stdout.write(_as_json() if options["json"] else _as_lines())
            return
        if is_loaded():
            raise CommandError("The demo group is there already. Nothing was loaded. make demo-fresh starts over.")
        began = perf_counter()
        loaded = load_history(at=timezone.now())
        written = perf_counter()
        clearances = finish(loaded.house, at=timezone.now())
        self._say(loaded, clearances, written - began, perf_counter() - written)

    def _say(self, loaded: Loaded, clearances: int, writing_s: float, working_out_s: float) -> None:
        house = loaded.house
        self.stdout.write(f"{house.group.name}: {len(house.workshops)} workshops, {len(house.people)} people, invented")
        told = ", ".join(f"{loaded.kinds.get(kind, 0)} {words}" for kind, words in KINDS.items())
        self.stdout.write(f"{loaded.records} records: {told}, and papers, kit, rule books")
        self.stdout.write(
            f"{clearances} clearances worked out; {writing_s:.0f} s to write, {working_out_s:.0f} s to work out"
        )


def _as_json() -> str:
    return json.dumps(sign_ins(), indent=2)


def _as_lines() -> str:
    return "\n".join(f"{one['role']:<12} {one['username']:<12} {one['password']}" for one in sign_ins())
