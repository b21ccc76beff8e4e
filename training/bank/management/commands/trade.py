"""manage.py trade KIND --json '{...}': one verdict of the trade with its reasons, figures and sources."""

from __future__ import annotations

import json
import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from training.core.trade.asking import CAUTION, KINDS, ask, schema
from training.core.trade.errors import BadInput

FROM_STDIN = "-"


class Command(BaseCommand):
    help = "Ask the trade: gloves, meters, isolation, pads and more. Without KIND it lists the kinds."
    requires_system_checks: list[str] = []
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("kind", nargs="?", help="what to ask about; left out: the kinds are listed")
        parser.add_argument("source", nargs="?", choices=[FROM_STDIN], help="- reads the JSON object from stdin")
        parser.add_argument("--json", metavar="OBJECT", help="the values as one JSON object, or - to read from stdin")
        parser.add_argument("--schema", action="store_true", help="show what KIND takes and gives, with units")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["kind"] is None:
            self.stdout.write(listed())
            return
        try:
            answer = schema(options["kind"]) if options["schema"] else self._asked(options)
        except BadInput as problem:
            raise CommandError(str(problem)) from problem
        self.stdout.write(json.dumps(answer, indent=2, ensure_ascii=False, allow_nan=False))

    def _asked(self, options: dict[str, Any]) -> dict[str, Any]:
        schema(options["kind"])  # an unknown kind is told before anything is read
        text = options["source"] or options["json"]
        if text is None:
            example = f"manage.py trade {options['kind']} --schema shows the fields and an example"
            raise CommandError(f"No values were given. Give --json OBJECT, or - to read from stdin; {example}.")
        return ask(options["kind"], read_object(sys.stdin.read() if text == FROM_STDIN else text))


def listed() -> str:
    """Every kind with what it asks, a line each."""
    width = max(map(len, KINDS))
    lines = [f"{kind.name:<{width}}  {kind.asks}" for kind in KINDS.values()]
    return "\n".join([*lines, "", "manage.py trade KIND --schema shows what a kind takes and gives.", CAUTION])


def read_object(text: str) -> Any:
    """The JSON value of a text; CommandError for anything else, for NaN, and for a field written twice."""
    try:
        return json.loads(text, object_pairs_hook=_once, parse_constant=_no_constant)
    except RecursionError:
        raise CommandError("The JSON is nested too deeply.") from None
    except ValueError as problem:
        raise CommandError(f"This cannot be read as JSON: {problem}.") from problem


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    names = [name for name, _ in pairs]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise ValueError(f"{', '.join(twice)} is written twice")
    return dict(pairs)


def _no_constant(word: str) -> Any:
    raise ValueError(f"{word} is no number")
