"""manage.py erase_bodies: lists what of the records of those who left may go; erases what two managers confirmed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection
from django.db.models import Q
from django.utils import timezone

from training.board.privacy.deciding import confirmed_of
from training.board.privacy.erasing import erase_person
from training.board.privacy.retention import Kept, counted, kept_of
from training.core.trade.calendar import local_day
from training.people.leaving import close_left
from training.people.models import Person
from training.records.actions import Refused


class Command(BaseCommand):
    help = (
        "List what records say of people who have left and may be erased; --yes erases of it what two managers have "
        'confirmed on the page "Who has left". Evidence is kept for six years after leaving, answers of drills 24 '
        "months; of people at work nothing is erased."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        who = parser.add_mutually_exclusive_group(required=True)
        who.add_argument("--person", help="username or tally: all of theirs that does not have to stay")
        who.add_argument("--retention", action="store_true", help="everybody's whose time is over, or who asked")
        parser.add_argument("--group", help="slug of the workshop group, where a tally is given in several")
        parser.add_argument("--before", type=date.fromisoformat, help="only what happened before this day")
        parser.add_argument("--kinds", nargs="+", help="only records of these kinds")
        parser.add_argument("--yes", action="store_true", help="erase what is confirmed; without it nothing is changed")

    def handle(self, *_args: Any, **options: Any) -> None:
        now, erased = timezone.now(), False
        close_left(at=now)
        for person in _people(options):
            asked = [
                row for row in kept_of(person, today=local_day(now, person.workshop.zone)) if _is_asked(row, options)
            ]
            self._list(person, asked)
            if options["yes"]:
                erased = self._erase(person, asked, now) or erased
        if erased and connection.vendor == "sqlite" and not connection.in_atomic_block:
            with connection.cursor() as cursor:
                cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")  # the words stood in the write-ahead file too

    def _list(self, person: Person, asked: list[Kept]) -> None:
        if not asked:
            return
        going = [row for row in asked if not row.held]
        confirmed = _confirmed(person, going)
        over = [row for row in going if row.over]
        self.stdout.write(
            f"tally {person.tally}: {len(going)} of {len(asked)} records may be erased; of {len(over)} the time is "
            f"over; two managers confirmed {len(confirmed)}"
        )
        for kind, count in counted(going):
            self.stdout.write(f"  {kind}: {count}")
        for reason in sorted({row.held for row in asked if row.held}):
            held = [row for row in asked if row.held == reason]
            self.stdout.write(f"  {len(held)} stay: {reason}")

    def _erase(self, person: Person, asked: list[Kept], now: datetime) -> bool:
        """Erase what is confirmed, each with the reason and the name under which it was."""
        erased, left = False, [row.number for row in asked if not row.held]
        for one in confirmed_of(person):
            numbers = [number for number in left if number in one.numbers]
            if not numbers:
                continue
            try:
                record = erase_person(person=person, numbers=numbers, why=one.why, by=one.confirmed_by, at=now)
            except Refused as refusal:
                raise CommandError(str(refusal)) from refusal
            left = [number for number in left if number not in one.numbers]
            self.stdout.write(f"  erased {len(numbers)} by record {record.number}")
            erased = True
        return erased


def _confirmed(person: Person, rows: list[Kept]) -> list[Kept]:
    numbers = {number for one in confirmed_of(person) for number in one.numbers}
    return [row for row in rows if row.number in numbers]


def _people(options: dict[str, Any]) -> Iterable[Person]:
    people = Person.objects.select_related("group", "workshop").order_by("group_id", "tally")
    if options["group"]:
        people = people.filter(group__slug=options["group"])
    if options["retention"]:
        return people.filter(is_active=False)
    return [_named(people.filter(_is_called(options["person"])))]


def _is_called(word: str) -> Q:
    return Q(username=word) | Q(tally=int(word)) if word.isascii() and word.isdigit() else Q(username=word)


def _named(found: Iterable[Person]) -> Person:
    people: Iterator[Person] = iter(found)
    person, other = next(people, None), next(people, None)
    if person is None or other is not None:
        raise CommandError("Nobody is called so." if person is None else "Several are called so. Name the --group.")
    return person


def _is_asked(row: Kept, options: dict[str, Any]) -> bool:
    in_time = options["before"] is None or row.day < options["before"]
    return in_time and (options["kinds"] is None or row.kind in options["kinds"])
