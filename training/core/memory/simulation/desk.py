"""One simulated person at the drill: what is remembered of their answers, and what comes back when."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Final

import numpy as np
from numpy.typing import NDArray

from training.core.memory.composer import Candidate
from training.core.memory.due import due_at
from training.core.memory.fold import Answered, PersonRecall, Trace, after_answer, nothing_answered
from training.core.memory.gates import LEAST_DAYS, WRONG_RUN
from training.core.memory.honesty import After, days_until_back
from training.core.memory.pace import DEFAULT_SECONDS, typical_seconds
from training.core.memory.parameters import DEFAULT, Parameters
from training.core.memory.posterior import moments
from training.core.memory.recall import recall_low
from training.core.memory.simulation.asked import QuestionShape, Work
from training.core.memory.simulation.truth import Floats
from training.core.memory.simulation.watching import Watch
from training.core.memory.steps import days_between

START: Final = datetime(2025, 1, 6, tzinfo=UTC)
"""A Monday; only the days since then matter."""
OWN_PACE_FROM: Final = 20
"""Answers from which a person's own median is used; looked at again whenever they have doubled."""


class Desk:
    """The product's own state of one person, and the columns that gates are read from; places are those of the bank."""

    def __init__(self, bank: Sequence[QuestionShape], work: Work, parameters: Parameters = DEFAULT) -> None:
        self.bank, self.work, self.parameters = bank, work, parameters
        self.recall: PersonRecall = nothing_answered(parameters)
        self.watches: dict[int, Watch] = {}
        self.usual_seconds = DEFAULT_SECONDS
        self.taken_s: list[float] = []
        self.stood_days: list[float] = []
        self.answers = 0
        self.last_day = np.full(len(bank), -np.inf)
        self.gap_days = np.zeros(len(bank))
        self._after: dict[int, After | None] = {}
        self._candidates: dict[int, Candidate] = {}
        self._gate = np.full((3, len(bank)), np.nan)

    def trace(self, place: int) -> Trace | None:
        """Return what is remembered of a question."""
        return self.recall.traces.get(self.bank[place].name)

    def low(self, day: float) -> Floats:
        """Return every question's recall low at ``day`` as gates give it, without their rounding; never right: 0."""
        ln_hold, var, at = self._gate
        who, known = self.recall.gate_moments, ~np.isnan(ln_hold)
        low = np.zeros(len(self.bank))
        days = np.maximum(day - at[known], LEAST_DAYS)
        low[known] = recall_low(
            ln_hold[known],
            days,
            who,
            ln_hold_var=var[known],
            easiness_var=self.parameters.sd_easiness**2,
            parameters=self.parameters,
        )
        return low

    def blocked(self, day: float, life: NDArray[np.intp]) -> bool:
        """True when an unsafe answer to one of these life questions is open."""
        return any(watch.is_open(day) for place, watch in self.watches.items() if place in life)

    def unsafe_back(self, day: float) -> list[int]:
        """Return the questions that come back by now since they were answered unsafe."""
        back = {place: watch.back_at(day) for place, watch in self.watches.items()}
        return sorted(place for place, at in back.items() if at is not None and at <= day)

    def candidates(self, day: float) -> list[Candidate]:
        """Return what the composer may choose from: what counts, and what comes back since it was answered unsafe."""
        return [self._kept(place, day) for place in (*self.work.offered.tolist(), *self._others_back(day))]

    def practice(self, day: float) -> list[Candidate]:
        """Return what counts for nothing, of the same topics."""
        back = self._others_back(day)
        return [self._kept(place, day) for place in self.work.others.tolist() if place not in back]

    def _others_back(self, day: float) -> list[int]:
        others = set(self.work.others.tolist()) & self.watches.keys()
        return sorted(place for place in others if self.watches[place].back_at(day) is not None)

    def _kept(self, place: int, day: float) -> Candidate:
        if place in self.watches or place not in self._candidates:
            self._candidates[place] = self._candidate(place, day)
        return self._candidates[place]

    def take(self, place: int, day: float, *, right: bool, acts: bool, seconds: float, talk_days: float) -> None:
        """Take in one answer, as the records would."""
        asked, at = self.bank[place], START + timedelta(days=day)
        self.answers += 1
        answered = Answered(
            question=asked.name,
            at=at,
            right=right,
            chance_floor=asked.chance_floor,
            record=self.answers,
            easiness_var=self.parameters.sd_easiness**2,
        )
        self.recall = after_answer(self.recall, answered, self.parameters)
        self._keep_gate(place, day)
        self._keep_watch(place, day, right, acts, talk_days)
        self._keep_return(place, right, acts)
        self.gap_days[place] = (2.0 * self.gap_days[place] or 1.0) if right else 1.0
        self.last_day[place] = day
        self._candidates.pop(place, None)
        self._keep_pace(seconds)

    def _keep_gate(self, place: int, day: float) -> None:
        trace = self.trace(place)
        assert trace is not None
        gate = trace.gate
        if gate.wrong_running >= WRONG_RUN or gate.ln_hold is None or gate.last_at is None:
            self._gate[:, place] = np.nan
        else:
            self._gate[:, place] = gate.ln_hold, gate.ln_hold_var, days_between(START, gate.last_at)

    def _keep_watch(self, place: int, day: float, right: bool, acts: bool, talk_days: float) -> None:
        watch = self.watches.get(place)
        if right:
            stood = watch.right(day) if watch else []
            self.stood_days += stood if self.bank[place].consequence == "life" else []
        elif acts or watch:
            self.watches.setdefault(place, Watch()).wrong(day, unsafe=acts, talk_days=talk_days)

    def _keep_return(self, place: int, right: bool, acts: bool) -> None:
        self._after[place] = None if right and acts else After.CAREFUL if right else After.HELD_BACK

    def _keep_pace(self, seconds: float) -> None:
        self.taken_s.append(seconds)
        count = len(self.taken_s)
        if count >= OWN_PACE_FROM and (count & (count - 1) == 0 or count == OWN_PACE_FROM):
            self.usual_seconds = typical_seconds(self.taken_s)
            self._candidates.clear()

    def _candidate(self, place: int, day: float) -> Candidate:
        asked, (after, back_at) = self.bank[place], self._return(place, day)
        return Candidate(
            question=asked.name,
            topic=asked.topic,
            consequence=asked.consequence,
            trace=self.trace(place),
            floor=float(self.work.floor[place]),
            rank=int(self.work.rank[place]),
            seconds=self.usual_seconds,
            chance_floor=asked.chance_floor,
            after=after,
            back_at=back_at,
        )

    def _return(self, place: int, day: float) -> tuple[After | None, datetime | None]:
        """Return after which outcome a question comes back, and when; (None, None): by recall alone."""
        watch, after, trace = self.watches.get(place), self._after.get(place), self.trace(place)
        unsafe_at = watch.back_at(day) if watch else None
        if unsafe_at is not None:
            return After.UNSAFE, START + timedelta(days=unsafe_at)
        if after is None or trace is None:
            return None, None
        held_days = 0.0
        if after is After.CAREFUL:
            due = due_at(trace, moments(self.recall.belief), float(self.work.floor[place]), self.parameters)
            held_days = days_between(trace.last_at, due)
        return after, trace.last_at + timedelta(days=days_until_back(after, held_days))
