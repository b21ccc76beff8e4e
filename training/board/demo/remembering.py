"""One person's mind in the demo: what the core's own recall model says that they know, and what it asks them next."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from random import Random

from training.bank.queries import AcceptedQuestion
from training.core.memory.composer import HORIZON_DAYS, Candidate, compose
from training.core.memory.due import due_at
from training.core.memory.fold import Answered as MemoryAnswer
from training.core.memory.fold import PersonRecall, Trace, after_answer
from training.core.memory.gates import gate_low
from training.core.memory.honesty import NEXT_SESSION_DAYS, After
from training.core.memory.posterior import moments
from training.core.memory.steps import days_between, recall_now
from training.core.permission.evidence import UnsafeAnswer
from training.core.permission.unsafe import GivenAnswer, TalkThrough, close_unsafe
from training.core.questions.kinds import Consequence, Outcome, Topic
from training.drill.facts import Answered
from training.drill.picking import CHANCE_FLOOR, Aim
from training.drill.queries import PPM
from training.drill.returning import Return, returns_of

SECONDS_EACH = 35.0
FEWEST_DUE, MANY_DUE = 3, 30
ALL_THE_SAME = 0.1


class Mind:
    """``ability`` and ``fade`` are the person's true ones, which the model only guesses at from the answers."""

    def __init__(self, *, ability: float, fade: float, chance: Random) -> None:
        self.ability, self.fade, self.chance = ability, fade, chance
        self.recall = PersonRecall()
        self.answers: list[MemoryAnswer] = []
        self._answers: list[GivenAnswer] = []
        self._talks: list[TalkThrough] = []
        self._unsafe: tuple[UnsafeAnswer, ...] = ()
        self._due: dict[str, tuple[float, datetime]] = {}

    def knows(self, ident: str, at: datetime, chance_floor: float, *, surely: bool) -> bool:
        """Whether the answer comes out right: known, or guessed. ``surely``: what was seen before is known."""
        trace = self.recall.traces.get(ident)
        interval_days = days_between(trace.last_at, at) if trace else 0.0
        known = recall_now(trace.ln_hold if trace else None, interval_days, self.ability, self.fade)
        guessed = self.chance.random() < chance_floor
        return self.chance.random() < known or guessed or (surely and trace is not None)

    def pick(
        self, rows: Sequence[tuple[AcceptedQuestion, Aim]], *, minutes: int, at: datetime, ahead: timedelta | None
    ) -> tuple[str, ...]:
        """The questions of a shift drill, by the core's choice; none where little is due, twice as many where much is.

        ``ahead``: they drill in any case, and what will not hold for so long counts as due.
        """
        returns = returns_of(self._unsafe)
        weak = set() if ahead is None else {row.ident for row, aim in rows if not self._holds(row, aim, at + ahead)}
        due = sum(row.ident in weak or self._is_due(row, aim, returns.get(row.ident), at) for row, aim in rows)
        if ahead is None and due < FEWEST_DUE and self.chance.random() >= ALL_THE_SAME:
            return ()
        candidates = [self._candidate(row, aim, returns.get(row.ident)) for row, aim in rows]
        horizon_days = HORIZON_DAYS if ahead is None else ahead / timedelta(days=1)
        minutes *= 2 if due > MANY_DUE else 1
        return compose(candidates, self.recall.belief, minutes, at, horizon_days=horizon_days).questions

    def take(self, ident: str, fact: Answered, at: datetime) -> None:
        """Remember an answer."""
        number = len(self._answers) + 1
        self._answers.append(_given(fact, number, at))
        answered = MemoryAnswer(
            question=ident, at=at, right=fact.right, chance_floor=fact.chance_floor_ppm / PPM, record=number
        )
        self.recall = after_answer(self.recall, answered)
        self._due.pop(ident, None)
        self.answers.append(answered)
        if fact.outcome == Outcome.UNSAFE or any(one.question == ident for one in self._unsafe):
            self._watch()

    def talked(self, question: str, at: datetime) -> None:
        """Remember a talk-through."""
        self._talks.append(TalkThrough(record=len(self._talks) + 1, question=question, happened_at=at))
        self._watch()

    def untalked(self, since: datetime) -> list[UnsafeAnswer]:
        """Unsafe answers since an instant that nobody has talked through."""
        return [one for one in self._unsafe if not one.talked_through and one.happened_at >= since]

    def ever_unsafe(self) -> set[str]:
        """Questions that were ever answered unsafe."""
        return {one.question for one in self._answers if one.unsafe}

    def _watch(self) -> None:
        ever = self.ever_unsafe()
        self._unsafe = close_unsafe((one for one in self._answers if one.question in ever), self._talks)

    def _holds(self, row: AcceptedQuestion, aim: Aim, at: datetime) -> bool:
        trace = self.recall.traces.get(row.ident)
        return trace is None or gate_low(trace.gate, self.recall.gate_moments, at) >= aim.floor

    def _candidate(self, row: AcceptedQuestion, aim: Aim, back: Return | None) -> Candidate:
        trace = self.recall.traces.get(row.ident)
        after, back_at = None, None
        if trace and back and _is_awaited(back, trace):
            after, back_at = After.UNSAFE, back.at
        elif trace and not trace.last_right:
            after, back_at = After.HELD_BACK, trace.last_at + timedelta(days=NEXT_SESSION_DAYS)
        return Candidate(
            question=row.ident,
            topic=row.topic.value,
            consequence=row.consequence.value,
            trace=trace,
            floor=aim.floor,
            rank=aim.rank,
            seconds=SECONDS_EACH,
            chance_floor=CHANCE_FLOOR[row.kind],
            after=after,
            back_at=back_at,
        )

    def _is_due(self, row: AcceptedQuestion, aim: Aim, back: Return | None, at: datetime) -> bool:
        trace = self.recall.traces.get(row.ident)
        if trace and back and _is_awaited(back, trace):
            return back.at <= at
        return trace is None or self._due_at(row.ident, aim.floor) <= at

    def _due_at(self, ident: str, floor: float) -> datetime:
        """When it is due by what was believed of the person at their last answer to it: kept, since it costs time."""
        kept = self._due.get(ident)
        if kept is None or kept[0] != floor:
            kept = floor, due_at(self.recall.traces[ident], moments(self.recall.belief), floor)
            self._due[ident] = kept
        return kept[1]


def _is_awaited(back: Return, trace: Trace) -> bool:
    return back.until_right or trace.last_at < back.at


def _given(fact: Answered, number: int, at: datetime) -> GivenAnswer:
    return GivenAnswer(
        record=number,
        question=fact.question,
        topic=Topic(fact.topic),
        consequence=Consequence(fact.consequence),
        happened_at=at,
        right=fact.right,
        unsafe=fact.outcome == Outcome.UNSAFE,
    )
