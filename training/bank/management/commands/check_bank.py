"""manage.py check_bank PATH: read a bank, lint it, count it; write nothing."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from training.bank.files import BankFiles, read_bank


class Command(BaseCommand):
    help = "Read and lint a folder of question and task files without loading it."
    requires_system_checks: list[str] = []
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("path", type=Path)
        parser.add_argument("--json", action="store_true", help="print one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        bank = read_bank(options["path"])
        counts = counted(bank)
        if options["json"]:
            self.stdout.write(json.dumps(counts, indent=2))
        else:
            self.stdout.write(f"{counts['fixed']} fixed, {counts['worked_out']} worked out, {counts['tasks']} tasks")
            for fault in bank.faults:
                self.stdout.write(f"{'error' if fault.is_error else 'look at'}: {fault}")
        if bank.errors:
            raise CommandError(f"{len(bank.errors)} errors")


def counted(bank: BankFiles) -> dict[str, Any]:
    """What stands in a bank: counts by topic, kind and consequence, errors and warnings."""
    questions = [entry.question for entry in bank.entries]
    return {
        "fixed": sum(not entry.worked_out for entry in bank.entries),
        "worked_out": sum(bool(entry.worked_out) for entry in bank.entries),
        "tasks": len(bank.tasks),
        "errors": len(bank.errors),
        "warnings": len(bank.faults) - len(bank.errors),
        "by_topic": dict(sorted(Counter(question.topic.value for question in questions).items())),
        "by_kind": dict(sorted(Counter(question.kind.value for question in questions).items())),
        "by_consequence": dict(sorted(Counter(question.consequence.value for question in questions).items())),
        "faults": [str(fault) for fault in bank.faults],
    }
