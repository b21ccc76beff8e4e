"""manage.py trade_pages: write the figures and worked examples of docs/trade as the code makes them now."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from training.bank.trade_pages import made, pages


class Command(BaseCommand):
    help = "Write the figures and worked examples of the pages in docs/trade anew."
    requires_system_checks: list[str] = []
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--check", action="store_true", help="write nothing; fail when a page is out of date")
        parser.add_argument("--folder", type=Path, default=settings.BASE_DIR / "docs" / "trade")

    def handle(self, *args: Any, **options: Any) -> None:
        old = [page for page in pages(options["folder"]) if page.read_text(encoding="utf-8") != _now(page)]
        if options["check"]:
            if old:
                raise CommandError(f"Out of date: {', '.join(page.name for page in old)}. Run manage.py trade_pages.")
            return
        for page in old:
            page.write_text(_now(page), encoding="utf-8")
        self.stdout.write(f"{len(old)} of {len(pages(options['folder']))} pages written anew.")


def _now(page: Path) -> str:
    return made(page.read_text(encoding="utf-8"))
