"""What came before each showing: days on the session clock and plain, and earlier showings of the same question."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from training.core.memory.evaluation.rows import MS_PER_DAY, Trials
from training.core.memory.parameters import SESSION_DAYS, Parameters
from training.core.memory.session_clock import effective_days


@dataclass(frozen=True, slots=True, eq=False)
class Showings:
    """Per row: the row that last showed this question to this person (-1: none) and the days since then (NaN: none).

    ``clock`` are effective days of the session clock since the person's first row; ``interval_days`` are on that
    clock, ``plain_days`` are not. ``first``: never shown before. ``late``: last shown more than half a plain day ago.
    """

    before: NDArray[np.int64]
    clock: NDArray[np.float64]
    interval_days: NDArray[np.float64]
    plain_days: NDArray[np.float64]

    @property
    def first(self) -> NDArray[np.bool_]:
        """Rows that show a question to a person for the first time."""
        return self.before < 0

    @property
    def late(self) -> NDArray[np.bool_]:
        """Rows that show a question again after more than half a day."""
        return self.plain_days > SESSION_DAYS

    @property
    def day_scale(self) -> NDArray[np.bool_]:
        """First or late: the rows that count toward a person's posterior."""
        return self.first | self.late


def showings_of(trials: Trials, parameters: Parameters) -> Showings:
    """Return what came before each row, with the session clock of ``parameters``."""
    days, before = trials.days, rows_before(trials)
    clock = np.concatenate([effective_days(days[rows].tolist(), parameters) for rows in trials.by_person()])
    # from whole milliseconds, so that half a day to the millisecond is not more than half a day
    return Showings(before, clock, _since(clock, before), _since(trials.ms, before) / MS_PER_DAY)


def rows_before(trials: Trials) -> NDArray[np.int64]:
    """Return, per row, the row that last showed the same question to the same person, or -1."""
    pair = trials.person * trials.questions + trials.question
    order = np.argsort(pair, kind="stable")
    same = np.concatenate([[False], pair[order][1:] == pair[order][:-1]])
    before = np.full(len(pair), -1)
    before[order] = np.where(same, np.concatenate([[-1], order[:-1]]), -1)
    return before


def history_of(before: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return, per row, the rows of all earlier showings of the pair, newest first, padded with -1."""
    columns, back = [], before
    while np.any(back >= 0):
        columns.append(back)
        back = np.where(back >= 0, before[back], -1)
    return np.stack(columns, axis=1) if columns else np.empty((len(before), 0), dtype=np.int64)


def places_of(before: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return, per row, how many showings of the pair came before it."""
    return np.asarray(np.sum(history_of(before) >= 0, axis=1))


def _since(instants: NDArray[np.float64] | NDArray[np.int64], before: NDArray[np.int64]) -> NDArray[np.float64]:
    return np.where(before >= 0, instants - instants[before], np.nan)
