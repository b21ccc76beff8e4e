"""Whether the lower bound holds where the truth is known: made-up people who guess, through the product's own fold.

The truth is the model's own, so this tries the algebra (chance floor, slip, variances), not the world.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from training.core.memory.fold import Answered, PersonRecall, after_answer, nothing_answered
from training.core.memory.parameters import DEFAULT, Parameters
from training.core.memory.posterior import moments
from training.core.memory.recall import recall_low
from training.core.memory.steps import Hold, Shown, first_hold, next_hold, recall_now

QUESTIONS = 20
ANSWERS = 4
GAP_DAYS = (1.0, 30.0)
SD_EASINESS = 0.5
START = datetime(2020, 1, 1, tzinfo=UTC)


@dataclass(slots=True)
class _Known:
    """What one made-up person truly holds of one question."""

    off: float
    easiness: float
    hold: Hold | None = None
    last_day: float = 0.0

    def recalled(self, day: float, fade: float, parameters: Parameters) -> float:
        """Return the true recall at a day."""
        ln_hold = None if self.hold is None else self.hold.ln_hold
        return recall_now(ln_hold, day - self.last_day, self.off, fade, parameters)


def share_held(
    people: int,
    chance_floor: float,
    seed: int,
    *,
    believed_floor: float | None = None,
    ahead_days: float = 14.0,
    parameters: Parameters = DEFAULT,
) -> float:
    """Return the share of people's questions whose true recall lies at or above the bound, ``ahead_days`` later.

    Each person answers 20 questions four times, 1 to 30 days apart; easiness is known to 0.5. People guess right with
    ``chance_floor``, the model takes it to be ``believed_floor`` (None: the same).
    """
    chance = np.random.default_rng(seed)
    believed = chance_floor if believed_floor is None else believed_floor
    crew = [_person(chance, chance_floor, believed, parameters) for _ in range(people)]
    return float(np.mean([_share_above(one, ahead_days, parameters) for one in crew]))


@dataclass(frozen=True, slots=True)
class _Person:
    fade: float
    known: list[_Known]
    state: PersonRecall


def _person(chance: np.random.Generator, chance_floor: float, believed: float, parameters: Parameters) -> _Person:
    ability, fade = chance.normal(0.0, (parameters.sd_ability, parameters.sd_fade)).tolist()
    known = [_begun(ability, chance, parameters) for _ in range(QUESTIONS)]
    state, day = nothing_answered(parameters), 0.0
    for turn in range(ANSWERS):
        for place, question in enumerate(known):
            at = day + place / 1440.0
            right = _answer(question, at, fade, chance_floor, chance, parameters)
            answered = _as_answered(question, place, at, right, believed, turn * QUESTIONS + place)
            state = after_answer(state, answered, parameters)
        day += chance.uniform(*GAP_DAYS)
    return _Person(fade, known, state)


def _begun(ability: float, chance: np.random.Generator, parameters: Parameters) -> _Known:
    easiness, off_by, pair = chance.normal(0.0, (1.0, SD_EASINESS, parameters.sd_pair)).tolist()
    return _Known(off=ability + easiness + off_by + pair, easiness=easiness)


def _answer(
    question: _Known, day: float, fade: float, chance_floor: float, chance: np.random.Generator, parameters: Parameters
) -> bool:
    """Return whether the answer is right, and move what is truly held by whether it was recalled."""
    recalled = bool(chance.random() < question.recalled(day, fade, parameters))
    right = bool(chance.random() < (1.0 - parameters.slip if recalled else chance_floor))
    truth = Shown(right=recalled, chance_floor=0.0, off=question.off, fade=fade)
    sure = replace(parameters, slip=0.0)
    if question.hold is None:
        question.hold = first_hold(truth, sure)
    else:
        question.hold = next_hold(question.hold, day - question.last_day, truth, sure)
    question.last_day = day
    return right


def _as_answered(question: _Known, place: int, day: float, right: bool, chance_floor: float, record: int) -> Answered:
    return Answered(
        question=str(place),
        at=START + timedelta(days=day),
        right=right,
        chance_floor=chance_floor,
        record=record,
        easiness=question.easiness,
        easiness_var=SD_EASINESS**2,
    )


def _share_above(person: _Person, ahead_days: float, parameters: Parameters) -> float:
    traces = [person.state.traces[str(place)] for place in range(QUESTIONS)]
    lows = recall_low(
        [trace.ln_hold for trace in traces],
        ahead_days,
        moments(person.state.belief),
        easiness=[trace.easiness for trace in traces],
        ln_hold_var=[trace.ln_hold_var for trace in traces],
        easiness_var=SD_EASINESS**2,
        parameters=parameters,
    )
    truth = [known.recalled(known.last_day + ahead_days, person.fade, parameters) for known in person.known]
    return float(np.mean(np.array(truth) >= lows))
