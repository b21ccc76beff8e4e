"""manage.py clearance --workshop SLUG: who may take which job type, at an instant, as known at a record."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from training.board.gaps import first_way, gaps_words
from training.board.labels import Voice, cell_words
from training.board.past.moment import Moment, NoSuchMoment, moment_of
from training.board.queries import decide_all, read_workshop
from training.board.stored import Cell
from training.board.voices import voice_of
from training.core.permission.decision import Decision
from training.core.permission.mapping import as_mapping
from training.people.models import Person, Workshop
from training.people.queries import people_of


class Command(BaseCommand):
    help = "Print the clearance board of a workshop, worked out from the records."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--workshop", required=True, help="slug of the workshop")
        parser.add_argument("--person", help="username; everybody when left out")
        parser.add_argument("--job-type", help="key; every job type when left out")
        parser.add_argument(
            "--at", help="instant asked about, ISO 8601; without an offset in the workshop's zone; now when left out"
        )
        parser.add_argument("--known-at", help="record number, or an instant: the last record written at or before it")
        parser.add_argument("--json", action="store_true", help="print one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        site, now = _workshop(options["workshop"]), timezone.now()
        moment = _moment(options["at"] or "", options["known_at"] or "", site, now)
        at, reading = moment.at, read_workshop(site, read_at=now, known_at=moment.known_at, at=moment.at)
        book = reading.rule_book
        if book is None:
            raise CommandError(
                f"No rule book is in force at {site.slug} as known at record {reading.known_at}: nobody is cleared."
            )
        team = list(people_of(site))
        asked = _asked(options["job_type"], [job_type.key for job_type in book.job_types])
        shown = _people(team, options["person"])
        decided = decide_all(reading, team, at=at)
        voice = voice_of(site, book, now=at)
        board = {
            "workshop": site.slug,
            "at": at.isoformat(),
            "known_at": reading.known_at,
            "rule_book": book.version,
            "people": [_row(person, [decided[person.key][key] for key in asked], voice) for person in shown],
        }
        self.stdout.write(json.dumps(board, indent=2, ensure_ascii=False) if options["json"] else _as_text(board))


def _workshop(slug: str) -> Workshop:
    site = Workshop.objects.select_related("group").filter(slug=slug).first()
    if site is None:
        known = ", ".join(Workshop.objects.values_list("slug", flat=True)) or "none yet"
        raise CommandError(f"There is no workshop {slug!r}. There are: {known}.")
    return site


def _moment(at: str, known_at: str, site: Workshop, now: datetime) -> Moment:
    try:
        return moment_of(at, known_at, site, now=now)
    except NoSuchMoment as wrong:
        raise CommandError(str(wrong)) from wrong


def _asked(key: str | None, known: list[str]) -> list[str]:
    if key and key not in known:
        raise CommandError(f"There is no job type {key!r}. There are: {', '.join(known)}.")
    return [key] if key else known


def _people(team: list[Person], username: str | None) -> list[Person]:
    found = [person for person in team if username in (None, person.username)]
    if not found:
        raise CommandError(f"Nobody called {username!r} is at this workshop.")
    return found


def _row(person: Person, decisions: list[Decision], voice: Voice) -> dict[str, Any]:
    return {
        "person": person.username,
        "name": person.short_name,
        "job_types": [_told(person, decision, voice) for decision in decisions],
    }


def _told(person: Person, decision: Decision, voice: Voice) -> dict[str, Any]:
    cell = Cell(person=person, job_type=decision.job_type, decision=decision)
    words = cell_words(cell, voice, first=first_way(decision, voice))
    return {
        "job_type": decision.job_type,
        "words": ", ".join((words.headline, *words.details)),
        "missing": [f"{gap.title}. {gap.way}" for gap in gaps_words(decision, voice)],
        "decision": as_mapping(decision),
    }


def _as_text(board: dict[str, Any]) -> str:
    lines = [
        f"{board['workshop']} at {board['at']}, as known at record {board['known_at']}, rule book {board['rule_book']}"
    ]
    for row in board["people"]:
        lines.append(row["name"])
        lines += [f"  {cell['job_type']:<14} {cell['words']}" for cell in row["job_types"]]
    return "\n".join(lines)
