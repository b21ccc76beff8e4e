"""manage.py load_roster FILE.csv --workshop SLUG: adds the people of a workshop, all of them or none."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from training.people.actions import enter_roster
from training.people.models import Workshop
from training.people.roster import COLUMNS, RosterRefused, read_roster
from training.records.actions import Refused


class Command(BaseCommand):
    help = (
        f"Add people from a CSV file with the columns {', '.join(COLUMNS)} (several in one field: separated by ;). "
        "One fault refuses the whole file. Nobody can sign in before manage.py set_password."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--workshop", required=True, metavar="SLUG")

    def handle(self, *, file: Path, workshop: str, **_options: Any) -> None:
        site = Workshop.objects.select_related("group").filter(slug=workshop).first()
        if site is None:
            raise CommandError(f"There is no workshop {workshop!r}.")
        try:
            entries = read_roster(file, site)
        except RosterRefused as refused:
            count = "1 fault" if len(refused.faults) == 1 else f"{len(refused.faults)} faults"
            raise CommandError(f"Nobody was added. {count} in {file}:\n{refused}") from refused
        try:
            enter_roster(entries=entries, workshop=site, at=timezone.now())
        except Refused as refused:
            raise CommandError(f"Nobody was added. {refused}") from refused
        self.stdout.write(
            f"{len(entries)} people added to {site.name}. Give each a password: manage.py set_password NAME"
        )
