"""manage.py draw_question ID --seed N: one question with its numbers settled and its worked answer."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from training.bank.files import Entry, read_bank
from training.core.questions.kinds import Question
from training.core.questions.marking import right_keys, shown_order
from training.core.questions.variants import draw


class Command(BaseCommand):
    help = "Show a question as it is drawn from a seed: situation, question, options and the worked answer."
    requires_system_checks: list[str] = []
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("ident")
        parser.add_argument("--seed", type=int, default=1)
        parser.add_argument("--json", action="store_true", help="print one JSON object")
        parser.add_argument(
            "--bank", type=Path, default=settings.BASE_DIR / "fixtures_demo" / "bank", help="folder to read"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        bank = read_bank(options["bank"])
        found = [entry for entry in bank.entries if options["ident"] in (entry.question.id, entry.worked_out)]
        if not found:
            raise CommandError(f"No question {options['ident']} in {options['bank'].name}.")
        shown = as_mapping(drawn(found[0], options["seed"]), options["seed"])
        if options["json"]:
            self.stdout.write(json.dumps(shown, indent=2, ensure_ascii=False))
        else:
            self.stdout.write("\n".join(f"{name}: {value}" for name, value in shown.items() if name != "picture"))


def drawn(entry: Entry, seed: int) -> Question:
    """The entry's question at this seed; a fixed one is the same at every seed."""
    if not entry.worked_out:
        return entry.question
    return draw(entry.worked_out, seed, id=entry.question.id, review_by=entry.question.review_by)


def as_mapping(question: Question, seed: int) -> dict[str, Any]:
    """A question as JSON values, options in the order shown at this seed."""
    by_key = {option.key: option for option in question.options}
    number = question.number
    return {
        "id": question.id,
        "seed": seed,
        "topic": question.topic.value,
        "kind": question.kind.value,
        "consequence": question.consequence.value,
        "regime": question.regime.value,
        "situation": question.situation,
        "question": question.stem,
        "options": [
            {"key": key, "text": by_key[key].text, "reason": by_key[key].reason} for key in shown_order(question, seed)
        ],
        "right": list(right_keys(question)),
        "answer": number
        and {"value": number.value, "unit": number.unit, "tolerance": number.tolerance, "reason": number.reason},
        "sources": list(question.sources),
        "picture_text": question.picture_text,
        "picture": question.picture,
    }
