"""A copy of everything on record about one person, as one file to keep: JSON, a table, and what it all is."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from training.board.facts import WorkStarted
from training.board.privacy.facts import CopyGiven
from training.people.facts import StoodDown
from training.people.models import Person
from training.people.own_records import in_their_name
from training.people.sentences import all_said, names_of
from training.records.actions import append
from training.records.canonical import canonical_text, instant_text
from training.records.facts import Fact, as_builtins
from training.records.models import Record
from training.records.queries import Written, newest_about, numbered

FORMULA = ("=", "+", "-", "@", "\t", "\r")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One record as it is handed out. ``says`` None: it is no longer kept, or cannot be read."""

    record: int
    kind: str
    happened_at: str
    recorded_at: str
    in_words: str
    entered_by: str
    says: dict[str, Any] | None


def copy_of(person: Person, *, at: datetime) -> bytes:
    """The zip file: records.json, records.csv and README.txt."""
    rows = list(_rows(person))
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as file:
        for name, text in (
            ("README.txt", _readme(person, len(rows), at)),
            ("records.json", _as_json(person, rows, at)),
            ("records.csv", _as_table(rows)),
        ):
            file.writestr(zipfile.ZipInfo(name, at.timetuple()[:6]), text)
    return held.getvalue()


@transaction.atomic
def copy_for(person: Person, *, why: str, by: Person, at: datetime) -> bytes:
    """The same for somebody else who asked for it; that it was given is on record, and shows in the next copy."""
    copied = copy_of(person, at=at)
    append(CopyGiven(why=why, by=by.key), chain_id=person.group.chain_id, about=person.key, at=at)
    return copied


def _rows(person: Person) -> Iterator[Row]:
    names, papers = names_of(person.group_id), _written(person)
    for paper, text in zip(papers, all_said(papers, names), strict=True):
        yield Row(
            record=paper.number,
            kind=paper.kind,
            happened_at=instant_text(paper.happened_at),
            recorded_at=instant_text(paper.recorded_at),
            in_words=text,
            entered_by=names.get(getattr(paper.fact, "by", ""), ""),
            says=_says(paper.fact),
        )


def _written(person: Person) -> list[Written[Fact]]:
    """All about the person, what of jobs names them, and what of kit is on record in their name, oldest first."""
    chain_id = person.group.chain_id
    about = newest_about(person.key, chain_id=chain_id, most=None)
    of_jobs = Record.objects.filter(chain_id=chain_id, kind__startswith="board.", body__text__contains=person.key)
    others = numbered(of_jobs.exclude(about=person.key).values_list("number", flat=True), chain_id=chain_id)
    about += [row for row in others if row.fact is not None and _is_named(person.key, row.fact)]
    about += in_their_name(person)
    return sorted(about, key=lambda row: row.number)


def _is_named(key: str, fact: Fact) -> bool:
    """Whether the fact names this person other than as who entered it."""
    said = {name: value for name, value in as_builtins(fact).items() if name != "by"}
    return any(value == key or (isinstance(value, list) and key in value) for value in said.values())


def _says(fact: Fact | None) -> dict[str, Any] | None:
    """The fact without what is another person's, and without the reason of a medical stand-down."""
    if fact is None:
        return None
    plain = as_builtins(fact)
    if isinstance(fact, WorkStarted):
        del plain["decision"]  # holds the answers about everybody named
    if isinstance(fact, StoodDown) and fact.medical:
        del plain["reason"], plain["cause"]
    return plain


def _as_json(person: Person, rows: Iterable[Row], at: datetime) -> str:
    who = {
        "given_name": person.given_name,
        "family_name": person.family_name,
        "username": person.username,
        "tally": person.tally,
        "contract": person.contract,
        "workshop": person.workshop.name,
        "key": person.key,
    }
    whole = {"person": who, "as_of": instant_text(at), "records": [asdict(row) for row in rows]}
    return json.dumps(whole, indent=2, ensure_ascii=False)


def _as_table(rows: Iterable[Row]) -> str:
    held = io.StringIO()
    table = csv.writer(held)
    table.writerow(list(Row.__slots__))
    for row in rows:
        plain = asdict(row) | {"says": canonical_text(row.says) if row.says is not None else ""}
        table.writerow([_as_cell(value) for value in plain.values()])
    return held.getvalue()


def _as_cell(value: object) -> str:
    """Text that a spreadsheet shows and never works out."""
    text = str(value)
    return f"'{text}" if text.startswith(FORMULA) else text


def _readme(person: Person, count: int, at: datetime) -> str:
    lines = (
        _("Everything that is on record about %(name)s, as of %(at)s: %(count)d records.")
        % {"name": person.full_name, "at": instant_text(at), "count": count},
        "",
        _("records.json holds every record with all it says. records.csv is the same as a table."),
        _("Times are UTC. A record is never changed; a correction is a new record that names the old one."),
        _("People and workshops stand in records as random keys; who entered a record is named beside it."),
        _("Left out: what you entered about others, which is theirs, and answers about others at a start of work."),
        _("What was erased says so and nothing else."),
        _('You may ask your manager to correct a record, or dispute it under "My records".'),
    )
    return "\n".join(lines) + "\n"
