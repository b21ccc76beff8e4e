"""One person's months: drill after drill by a way of choosing; what each day looks like in truth and by the gates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from training.core.memory.pace import is_time_up
from training.core.memory.parameters import DEFAULT, Parameters
from training.core.memory.simulation.asked import Part, QuestionShape, Work
from training.core.memory.simulation.crew import Member, would_act
from training.core.memory.simulation.desk import Desk
from training.core.memory.simulation.truth import Floats, Truth
from training.core.memory.simulation.watching import MEDIAN_TALK_DAYS, SPREAD_TALK
from training.core.memory.simulation.ways import MONTH_DAYS, MONTHLY, WAYS

SHIFT_STARTS: Final = 7 / 24
DRILL_STARTS: Final = 8 / 24
"""A day is looked at as the shift starts, before its drill."""
ANSWER_SPREAD: Final = 0.4
SAFE: Final = 0.7
"""A life question whose true recall is below this counts as one that may go wrong."""


@dataclass(frozen=True, slots=True, eq=False)
class Months:
    """One person's days, a row each; days not there are all 0 but for ``there``.

    ``held``: by forgetting alone, a column for each part of the work. ``below`` and ``kept``: counted life questions
    with true recall below ``SAFE``, and at or above the floor; ``life`` is how many count. ``bounds``: questions with a
    recall low above 0, ``honest``: those whose true recall is at least that. ``stood_days``: for each closed unsafe
    answer to a life question.
    """

    work: int
    life: int
    there: NDArray[np.bool_]
    held: NDArray[np.bool_]
    below: NDArray[np.int64]
    kept: NDArray[np.int64]
    blocked: NDArray[np.bool_]
    answers: NDArray[np.int64]
    minutes: Floats
    bounds: NDArray[np.int64]
    honest: NDArray[np.int64]
    stood_days: tuple[float, ...]

    @property
    def held_all(self) -> NDArray[np.bool_]:
        """Whether every job type of the work is held, day by day."""
        return np.asarray(self.held.all(axis=1))


def months_of(
    member: Member,
    bank: Sequence[QuestionShape],
    work: Work,
    way: str,
    minutes: float,
    rng: Generator,
    *,
    truth: Truth | None = None,
    parameters: Parameters = DEFAULT,
) -> Months:
    """Return what one person's months come to; the same for the same generator state. KeyError for another way.

    ``minutes`` are those of one shift; ``truth`` None: the traces of ``truth.py``.
    """
    choose = WAYS[way]
    run = _Run(member, bank, work, rng, truth or member.traces(), parameters)
    saved = 0.0
    for day in range(len(member.there)):
        if not member.there[day]:
            continue
        run.look(day)
        saved += minutes if member.drills[day] else 0.0
        is_time = member.drills[day] if way != MONTHLY else saved >= minutes * MONTH_DAYS * 4 / 7
        if is_time and saved:
            run.drill(day, choose(run.desk, day + DRILL_STARTS, saved, rng), saved)
            saved = 0.0
    return run.months()


class _Run:
    def __init__(
        self,
        member: Member,
        bank: Sequence[QuestionShape],
        work: Work,
        rng: Generator,
        truth: Truth,
        parameters: Parameters,
    ) -> None:
        self.member, self.bank, self.work, self.rng, self.truth = member, bank, work, rng, truth
        self.desk = Desk(bank, work, parameters)
        self.places = {question.name: place for place, question in enumerate(bank)}
        self.life = work.life
        days = len(member.there)
        self.held = np.zeros((days, len(work.parts)), dtype=bool)
        self.blocked = np.zeros(days, dtype=bool)
        self.minutes = np.zeros(days)
        self.counts = {
            name: np.zeros(days, dtype=np.int64) for name in ("below", "kept", "answers", "bounds", "honest")
        }

    def look(self, day: int) -> None:
        """Note what the gates say and what is true as the shift starts."""
        now = day + SHIFT_STARTS
        low, true = self.desk.low(now), self.truth.recall(now)
        self.held[day] = [_holds(part, low, self.desk.last_day) for part in self.work.parts]
        self.blocked[day] = self.desk.blocked(now, self.work.life_of_topics)
        offered = self.work.offered
        bound = low[offered] > 0.0
        of_life = true[self.life]
        for name, flags in (
            ("below", of_life < SAFE),
            ("kept", of_life >= self.work.floor[self.life]),
            ("bounds", bound),
            ("honest", bound & (true[offered] >= low[offered])),
        ):
            self.counts[name][day] = np.count_nonzero(flags)

    def drill(self, day: int, names: Sequence[str], minutes: float) -> None:
        """Ask these questions one after another until the minutes are up."""
        now, spent = day + DRILL_STARTS, 0.0
        for name in names:
            if is_time_up(spent, minutes, self.desk.usual_seconds):
                break
            seconds = float(self.member.seconds * np.exp(ANSWER_SPREAD * self.rng.standard_normal()))
            spent += seconds
            self._ask(self.places[name], now + spent / 86_400.0, seconds)
            self.counts["answers"][day] += 1
        self.minutes[day] += spent / 60.0

    def _ask(self, place: int, now: float, seconds: float) -> None:
        asked, rng, slip = self.bank[place], self.rng, DEFAULT.slip
        chance = float(self.truth.recall(now, np.array([place], dtype=np.intp))[0])
        draws, talk_days = rng.random(2), MEDIAN_TALK_DAYS * np.exp(SPREAD_TALK * rng.standard_normal())
        recalled = bool(draws[0] < chance)
        right = bool(draws[1] < (1.0 - slip if recalled else asked.chance_floor))
        acts = would_act(chance, recalled, asked.chance_floor, asked.consequence, slip, rng)
        self.desk.take(place, now, right=right, acts=acts, seconds=seconds, talk_days=float(talk_days))
        self.truth.show(place, now, recalled=recalled)

    def months(self) -> Months:
        return Months(
            work=self.member.work,
            life=len(self.life),
            there=self.member.there,
            held=self.held,
            blocked=self.blocked,
            minutes=self.minutes,
            stood_days=tuple(self.desk.stood_days),
            **self.counts,
        )


def _holds(part: Part, low: Floats, last_day: Floats) -> bool:
    """Whether a job type's floors are met: each life question, each topic's mean, and enough of the others answered."""
    asks = part.asks
    if np.any(low[part.life] < asks.life_floor):
        return False
    if asks.mean_floor is None:
        return True
    answered = all(np.isfinite(last_day[some]).sum() >= asks.share_answered * len(some) for some in part.others)
    return answered and all(low[topic].mean() >= asks.mean_floor for topic in part.by_topic)
