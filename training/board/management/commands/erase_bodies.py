"""manage.py erase_bodies: lists what of a person's records may be erased, and erases it when told so."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection
from django.db.models import Q
from django.utils import timezone

from training.board.privacy.erasing import erase_person
from training.board.privacy.retention import Kept, counted, kept_of
from training.core.trade.calendar import local_day
from training.people.models import Person
from training.records.actions import Refused

RETENTION = "Kept as long as they are needed, and no longer."


class Command(BaseCommand):
    help = (
        "List what records say of people who have left and may be erased; --yes erases it. Evidence is kept for six "
        "years after leaving, answers of drills at most 24 months; of people at work nothing is erased."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        who = parser.add_mutually_exclusive_group(required=True)
        who.add_argument("--person", help="username or tally: all of theirs that does not have to stay")
        who.add_argument("--retention", action="store_true", help="everybody's whose time is over")
        parser.add_argument("--group", help="slug of the workshop group, where a tally is given in several")
        parser.add_argument("--left", type=date.fromisoformat, help="the day the person left, where it is later")
        parser.add_argument("--before", type=date.fromisoformat, help="only what happened before this day")
        parser.add_argument("--kinds", nargs="+", help="only records of these kinds")
        parser.add_argument("--why", default="", help="who asked, and on what ground")
        parser.add_argument("--by", default="", help="who erases")
        parser.add_argument("--yes", action="store_true", help="erase; without it nothing is changed")

    def handle(self, *_args: Any, **options: Any) -> None:
        now, erased = timezone.now(), False
        for person in _people(options):
            kept = kept_of(person, today=local_day(now, person.workshop.zone), left=options["left"])
            asked = [row for row in kept if _is_asked(row, options)]
            going = [row for row in asked if not row.held]
            self._list(person, going, asked)
            if options["yes"] and going:
                self._erase(person, going, options, now)
                erased = True
        if erased and connection.vendor == "sqlite" and not connection.in_atomic_block:
            with connection.cursor() as cursor:
                cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")  # the words stood in the write-ahead file too

    def _list(self, person: Person, going: list[Kept], asked: list[Kept]) -> None:
        if not asked:
            return
        self.stdout.write(f"tally {person.tally}: {len(going)} of {len(asked)} records may be erased")
        for kind, count in counted(going):
            self.stdout.write(f"  {kind}: {count}")
        for reason in sorted({row.held for row in asked if row.held}):
            held = [row for row in asked if row.held == reason]
            self.stdout.write(f"  {len(held)} stay: {reason}")

    def _erase(self, person: Person, going: list[Kept], options: dict[str, Any], now: datetime) -> None:
        why = options["why"] or (RETENTION if options["retention"] else "")
        by = options["by"] or ("retention" if options["retention"] else "")
        numbers = [row.number for row in going]
        try:
            record = erase_person(person=person, numbers=numbers, why=why, by=by, at=now, left=options["left"])
        except Refused as refusal:
            raise CommandError(str(refusal)) from refusal
        self.stdout.write(f"  erased by record {record.number}")


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
    if options["retention"] and not row.over:
        return False
    in_time = options["before"] is None or row.day < options["before"]
    return in_time and (options["kinds"] is None or row.kind in options["kinds"])
