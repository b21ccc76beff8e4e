"""manage.py load_bank PATH: load question and task files into a workshop group."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from training.bank.actions import load_bank
from training.bank.files import BankRefused
from training.people.models import WorkshopGroup


class Command(BaseCommand):
    help = "Load a folder of question and task files. A fault, named with file, line and rule, refuses the whole load."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("path", type=Path)
        parser.add_argument("--group", help="slug of the workshop group; needed only where there are several")

    def handle(self, *args: Any, **options: Any) -> None:
        group = _group(options["group"])
        try:
            loaded = load_bank(group=group, path=options["path"], at=timezone.now())
        except BankRefused as refused:
            raise CommandError(f"{len(refused.faults)} faults; nothing was loaded.\n{refused}") from refused
        self.stdout.write(f"{loaded.new} new, {loaded.changed} changed, {loaded.same} as before.")
        self.stdout.write("New and changed questions count for nobody until a checker of a workshop accepts them.")


def _group(slug: str | None) -> WorkshopGroup:
    groups = list(WorkshopGroup.objects.filter(slug=slug) if slug else WorkshopGroup.objects.all())
    if len(groups) != 1:
        known = ", ".join(WorkshopGroup.objects.values_list("slug", flat=True)) or "none yet"
        raise CommandError(f"Name one workshop group with --group. There are: {known}.")
    return groups[0]
