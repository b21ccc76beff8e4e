"""Rows of a practice file read into arrays, with what is wrong said by line."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

COLUMNS = ("person", "split", "question", "ms", "answer", "latency_s")
SPLITS = ("train", "test")
ANSWERS = ("right", "wrong", "read")
MS_PER_DAY = 86.4e6


class BadRows(ValueError):
    """The file cannot be read as practice rows; the message names the line and what to do."""


@dataclass(frozen=True, slots=True, eq=False)
class Trials:
    """One row per showing, by person, then instant. ``answered`` False: shown only, and then ``right`` is False too.

    ``person`` and ``question`` are numbers from 0; ``turn`` counts each person's showings from 0.
    """

    person: NDArray[np.int64]
    question: NDArray[np.int64]
    turn: NDArray[np.int64]
    ms: NDArray[np.int64]
    answered: NDArray[np.bool_]
    right: NDArray[np.bool_]
    test: NDArray[np.bool_]
    latency_s: NDArray[np.float64]
    people: int
    questions: int

    @property
    def days(self) -> NDArray[np.float64]:
        """Days since the earliest row."""
        return np.asarray((self.ms - self.ms.min()) / MS_PER_DAY)

    def turns(self) -> list[NDArray[np.int64]]:
        """Return, turn by turn, the rows of everybody who had one: no person twice in any of them."""
        by_turn = np.argsort(self.turn, kind="stable")
        return np.split(by_turn, np.cumsum(np.bincount(self.turn))[:-1])

    def by_person(self) -> list[NDArray[np.int64]]:
        """Return each person's rows, in order."""
        return np.split(np.arange(len(self.ms)), np.flatnonzero(self.turn == 0)[1:])


@dataclass(frozen=True, slots=True)
class _Row:
    person: str
    test: bool
    question: str
    ms: int
    answer: str
    latency_s: float


def read_trials(lines: Iterable[str]) -> Trials:
    """Return the trials of CSV lines with the columns ``COLUMNS`` in any order; BadRows says what is wrong, and where.

    ``ms`` are epoch milliseconds, ``latency_s`` seconds; ``split`` is one of ``SPLITS``, the same for all rows of a
    person; ``answer`` one of ``ANSWERS``.
    """
    reader = csv.reader(lines)
    try:
        header = next(reader, [])
        places = _places(header)
        rows = [_row(cells, places, len(header), reader.line_num) for cells in reader if cells]
    except csv.Error as broken:
        raise BadRows(f"line {reader.line_num}: not readable as CSV ({broken}); export the file again") from broken
    if not rows:
        raise BadRows("line 2: no rows after the header; export the file again")
    return _trials(rows)


def _places(header: Sequence[str]) -> list[int]:
    names = [name.strip().removeprefix("\ufeff") for name in header]
    missing = [column for column in COLUMNS if column not in names]
    if missing:
        raise BadRows(f"line 1: no column {', '.join(missing)}; the header must name {', '.join(COLUMNS)}")
    return [names.index(column) for column in COLUMNS]


def _row(cells: Sequence[str], places: Sequence[int], width: int, line: int) -> _Row:
    if len(cells) != width:
        raise BadRows(f"line {line}: {len(cells)} cells where the header has {width}; correct or remove the line")
    person, split, question, ms, answer, latency_s = (cells[place].strip() for place in places)
    for name, cell in (("person", person), ("question", question)):
        if not cell:
            raise BadRows(f"line {line}: no {name}; fill it in or remove the line")
    return _Row(
        person=person,
        test=_one_of("split", split, SPLITS, line) == "test",
        question=question,
        ms=_whole(ms, line),
        answer=_one_of("answer", answer, ANSWERS, line),
        latency_s=_seconds(latency_s, line),
    )


def _one_of(name: str, cell: str, allowed: Sequence[str], line: int) -> str:
    if cell not in allowed:
        raise BadRows(f"line {line}: {name} '{cell}' is not one of {', '.join(allowed)}; correct it")
    return cell


def _whole(cell: str, line: int) -> int:
    if not cell.isascii() or not cell.isdigit() or len(cell) > 15:
        raise BadRows(f"line {line}: ms '{cell}' is not a whole number of epoch milliseconds; correct it")
    return int(cell)


def _seconds(cell: str, line: int) -> float:
    try:
        seconds = float(cell)
    except ValueError:
        seconds = math.nan
    if not math.isfinite(seconds):
        raise BadRows(f"line {line}: latency_s '{cell}' is not a number of seconds; correct it")
    return seconds


def _trials(rows: list[_Row]) -> Trials:
    _refuse_mixed_people(rows)
    rows = sorted(rows, key=lambda row: (row.person, row.ms))
    people, person = np.unique([row.person for row in rows], return_inverse=True)
    questions, question = np.unique([row.question for row in rows], return_inverse=True)
    starts = np.searchsorted(person, np.arange(len(people)))
    return Trials(
        person=person,
        question=question,
        turn=np.arange(len(rows)) - starts[person],
        ms=np.array([row.ms for row in rows]),
        answered=np.array([row.answer != "read" for row in rows]),
        right=np.array([row.answer == "right" for row in rows]),
        test=np.array([row.test for row in rows]),
        latency_s=np.array([row.latency_s for row in rows]),
        people=len(people),
        questions=len(questions),
    )


def _refuse_mixed_people(rows: Iterable[_Row]) -> None:
    split_of: dict[str, bool] = {}
    for row in rows:
        if split_of.setdefault(row.person, row.test) != row.test:
            raise BadRows(f"person {row.person} is both train and test; give all rows of a person one split")
