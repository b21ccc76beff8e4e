"""manage.py make_signing_key PATH: makes the key that signs the heads of the chains."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from training.records.heads import make_key


class Command(BaseCommand):
    help = "Make an Ed25519 key for signing heads, readable by its owner alone. Keep it apart from the database."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("path", type=Path)

    def handle(self, *_args: Any, **options: Any) -> None:
        try:
            make_key(options["path"])
        except OSError as wrong:
            raise CommandError(f"{options['path'].name} cannot be made: {wrong.strerror}.") from wrong
        self.stdout.write("Made. Name it in HOOKSIDE_SIGNING_KEY, and keep a copy in a second place.")
