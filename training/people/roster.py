"""A roster file: who works at a workshop, read whole or refused whole with every fault in a list."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from training.people.models import Person, RoleHeld, Workshop
from training.people.offers import JOB_TYPES, offered

REQUIRED = ("username", "given_name", "family_name", "tally", "contract", "under_18")
COLUMNS = (*REQUIRED[:5], "roles", "works_towards", "under_18")
LONGEST_NAME = 60
HIGHEST_TALLY = 99_999
SEVERAL = ";"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """What is wrong in one line of the file."""

    line: int
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One person as the file gives them."""

    line: int
    username: str
    given_name: str
    family_name: str
    tally: int
    contract: str
    roles: tuple[str, ...]
    works_towards: tuple[str, ...]
    under_18: bool


class RosterRefused(ValueError):
    """The whole file is refused; ``faults`` lists all that is wrong with it."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(sorted(faults, key=lambda fault: fault.line))
        super().__init__("\n".join(f"line {fault.line}: {fault.what}" for fault in self.faults))


def read_roster(path: Path, workshop: Workshop) -> list[Entry]:
    """The people of a roster file for a workshop. Raises ``RosterRefused`` with every fault; changes nothing."""
    rows = list(_rows(path))
    job_types = frozenset(offer.key for offer in offered(JOB_TYPES, workshop))
    faults = [Fault(line=line, what=what) for line, row in rows for what in _faults_of(row, job_types)]
    faults += _repeated(rows, "username", _usernames_taken())
    faults += _repeated(rows, "tally", _tallies_taken(workshop))
    if not rows:
        faults.append(Fault(line=1, what="there is nobody in this file"))
    if faults:
        raise RosterRefused(faults)
    return [_entry(line, row) for line, row in rows]


def _rows(path: Path) -> Iterator[tuple[int, dict[str, str]]]:
    """Each line with its number; an unreadable file or a wrong head refuses at once."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise RosterRefused([Fault(line=1, what=f"the file cannot be read as UTF-8 text: {error}")]) from error
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    try:
        head = [name.strip() for name in next(reader, [])]
        if sorted(head) != sorted(COLUMNS):
            raise RosterRefused([Fault(line=1, what=f"the columns must be {', '.join(COLUMNS)}")])
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield reader.line_num, _row(head, cells)
    except csv.Error as error:
        raise RosterRefused([Fault(line=reader.line_num, what=f"cannot be read: {error}")]) from error


def _row(head: list[str], cells: list[str]) -> dict[str, str]:
    row = dict(zip(head, (cell.strip() for cell in cells), strict=False))
    if len(cells) > len(head):
        row["surplus"] = ", ".join(cells[len(head) :])
    return row


def _faults_of(row: Mapping[str, str], job_types: Collection[str]) -> Iterator[str]:
    for name in REQUIRED:
        if not row.get(name):
            yield f"{name} is missing"
    if "surplus" in row:
        yield f"there are more fields than columns: {row['surplus']}"
    for name in ("username", "given_name", "family_name"):
        if len(row.get(name, "")) > LONGEST_NAME:
            yield f"{name} is longer than {LONGEST_NAME} letters"
    yield from _unknown_words(row, job_types)


def _unknown_words(row: Mapping[str, str], job_types: Collection[str]) -> Iterator[str]:
    username, tally = row.get("username", ""), row.get("tally", "")
    if username and not re.fullmatch(r"[\w.@+-]+", username):
        yield f"username {username!r} may hold letters, digits and . @ + - _ only"
    if tally and not (re.fullmatch(r"[0-9]{1,5}", tally) and 1 <= int(tally) <= HIGHEST_TALLY):
        yield f"tally {tally!r} is no whole number from 1 to {HIGHEST_TALLY}"
    yield from _not_among("contract", _one(row, "contract"), Person.Contract.values)
    yield from _not_among("under_18", _one(row, "under_18"), ["yes", "no"])
    yield from _not_among("roles", _several(row, "roles"), RoleHeld.Role.values)
    if job_types:
        yield from _not_among("works_towards", _several(row, "works_towards"), sorted(job_types))


def _not_among(name: str, words: Iterable[str], known: Collection[str]) -> Iterator[str]:
    for word in words:
        if word not in known:
            yield f"{name} {word!r} is none of {', '.join(known)}"


def _one(row: Mapping[str, str], name: str) -> tuple[str, ...]:
    return (row[name],) if row.get(name) else ()


def _several(row: Mapping[str, str], name: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(word.strip() for word in row.get(name, "").split(SEVERAL) if word.strip()))


def _repeated(rows: list[tuple[int, dict[str, str]]], name: str, taken: Mapping[str, str]) -> Iterator[Fault]:
    """Each value that stands in an earlier line too, or belongs to somebody already."""
    first_at: dict[str, int] = {}
    for line, row in rows:
        value = row.get(name, "")
        key = _same(value)
        if key in taken:
            yield Fault(line=line, what=f"{name} {value} belongs to {taken[key]} already")
        elif key in first_at:
            yield Fault(line=line, what=f"{name} {value} stands in line {first_at[key]} too")
        elif key:
            first_at[key] = line


def _same(value: str) -> str:
    """Two names that differ in capitals only, or two numbers in their zeros, are the same to people."""
    return str(int(value)) if value.isascii() and value.isdigit() else value.casefold()


def _usernames_taken() -> dict[str, str]:
    return {_same(name): "somebody" for name in Person.objects.values_list("username", flat=True)}


def _tallies_taken(workshop: Workshop) -> dict[str, str]:
    return {str(person.tally): person.full_name for person in Person.objects.filter(group_id=workshop.group_id)}


def _entry(line: int, row: Mapping[str, str]) -> Entry:
    return Entry(
        line=line,
        username=row["username"],
        given_name=row["given_name"],
        family_name=row["family_name"],
        tally=int(row["tally"]),
        contract=row["contract"],
        roles=_several(row, "roles"),
        works_towards=_several(row, "works_towards"),
        under_18=row["under_18"] == "yes",
    )
