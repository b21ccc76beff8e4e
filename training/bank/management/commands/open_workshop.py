"""manage.py open_workshop: a workshop with its first manager, a second signer and its first rule book."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction
from django.utils import timezone

from training.bank.actions import put_in_force
from training.bank.rule_books import starting_book
from training.people.models import Person, Workshop
from training.people.opening import Opening, OpeningRefused, Signer, open_workshop
from training.records.actions import Refused

SIGNER = "username, or for somebody new: username,given name,family name,tally number"
ASKED = {
    "group": "Workshop group, in small letters (a new one is entered)",
    "group_name": "Name of the group (only if it is new)",
    "slug": "Workshop, in small letters, as in addresses",
    "name": "Name of the workshop",
    "zone": "Time zone, such as Europe/Berlin",
    "regime": f"Regime ({', '.join(Workshop.Regime.values)})",
    "opened_on": "Opened on (YYYY-MM-DD)",
    "manager": f"First manager ({SIGNER})",
    "second": f"Second signer ({SIGNER})",
}


class Command(BaseCommand):
    help = (
        "Open a workshop: its group if new, its first manager, a second signer, and the starting rule book of its "
        "regime, which is policy to be edited, not law. Asks for what no option gives. One fault, and nothing is done."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        for name, question in ASKED.items():
            parser.add_argument(f"--{name.replace('_', '-')}", help=question)

    def handle(self, *_args: Any, **options: Any) -> None:
        given = {name: _given(options[name], question) for name, question in ASKED.items()}
        faults: list[str] = []
        opening = Opening(
            **{name: given[name] for name in ("group", "group_name", "slug", "name", "zone", "regime")},
            opened_on=_day(given["opened_on"], faults),
            manager=_signer("manager", given["manager"], faults),
            second=_signer("second", given["second"], faults),
        )
        workshop = _opened(opening, faults, timezone.now())
        self.stdout.write(
            f"{workshop.name} is open, with the starting rule book of its regime in force: read and edit it. "
            "Give each signer a password: manage.py set_password NAME. Then load_roster and load_bank."
        )


def _given(option: str | None, question: str) -> str:
    """The option, or else what is typed; without anybody there to type, nothing."""
    if option is not None:
        return option.strip()
    try:
        return input(f"{question}: ").strip()
    except EOFError:
        return ""


def _opened(opening: Opening, unread: list[str], at: datetime) -> Workshop:
    """The workshop with its first rule book; both or neither."""
    try:
        with transaction.atomic():
            workshop = open_workshop(opening, at=at)
            if unread:
                raise OpeningRefused(())
            manager = Person.objects.get(username=opening.manager.username)
            put_in_force(workshop=workshop, book=starting_book(workshop.regime), by=manager, at=at)
            return workshop
    except OpeningRefused as refused:
        faults = (*unread, *refused.faults)
        count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
        raise CommandError(f"Nothing was entered. {count}:\n" + "\n".join(faults)) from refused
    except Refused as refused:
        raise CommandError(f"Nothing was entered. {refused}") from refused


def _day(text: str, faults: list[str]) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        faults.append(f"opened-on: {text!r} is no date; write YYYY-MM-DD")
        return date(2000, 1, 1)


def _signer(who: str, text: str, faults: list[str]) -> Signer:
    parts = [part.strip() for part in text.split(",")]
    if len(parts) == 1:
        return Signer(username=parts[0])
    if len(parts) != 4:
        faults.append(f"{who}: {text!r} has {len(parts)} parts; write {SIGNER}")
        return Signer(username=parts[0])
    number = int(parts[3]) if parts[3].isascii() and parts[3].isdigit() and len(parts[3]) < 8 else None
    return Signer(username=parts[0], given_name=parts[1], family_name=parts[2], tally=number)
