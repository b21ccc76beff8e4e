"""Refitting the recall model to a group's own answers: easiness of each question, and the two population parameters
that day-scale answers of multiple choice identify.

**What is moved, and what is not.** Easiness by ridge scoring with sd 1.44 (memory model, sections 5 and 9), person
shifts alongside. Of the population parameters only ``b`` (the level after an answer against a question never seen) and
``fade`` (how steeply logit recall falls with ln days): answers a day to months apart tell these two apart from the
easiness, since first exposures carry no memory term and later ones carry it at different intervals. The first holds are
one with ``b`` once intervals are long (only b + f ln S matters), the increments need many answers to one question at
varied intervals, the standard deviations many people, and the session clock is read by nobody in the product: they
stay as they are.

Both keep within a reach of the shipped values, so that no refit leaves the range in which the laws of ``gates.py``
hold (a_r f R (1 - R) < 1 above R = .8 asks for f < 1.46).

**Chance floor.** P(right) = g + (1 - g - slip) R enters the fit as it enters the posterior; right answers at face value
break the band (memory model, section 6). Hence scoring steps of their own instead of ``evaluation/effects.py``, whose
answers are typed in.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

import numpy as np
from numpy.typing import NDArray

from training.core.memory.fold import Answered, Trace, after_answer, is_counted, nothing_answered
from training.core.memory.parameters import DEFAULT, SESSION_DAYS, Parameters
from training.core.memory.posterior import PersonMoments, moments
from training.core.memory.recall import chance_right, recall_mean
from training.core.memory.steps import days_between

Floats = NDArray[np.float64]
Easiness = Mapping[str, tuple[float, float]]
"""Per question its easiness and the standard deviation of that, in logits."""
People = Mapping[str, Sequence[Answered]]
"""Per person their answers in order of instant, then record."""

SWEEPS: Final = 8
ROUNDS: Final = 2
"""Replays in which holds and easiness are brought into line."""
LEVELS: Final = (-0.6, -0.3, 0.0, 0.3, 0.6)
FADES: Final = (0.9, 1.0, 1.1)
LEVEL_REACH: Final = 2.5
FADE_REACH: Final = (0.8, 1.4)
LEAST_CHANCE: Final = 1e-6
FEWEST_OF_A_QUESTION: Final = 5
"""Answers below which a question keeps the easiness of a question never answered."""


@dataclass(frozen=True, slots=True, eq=False)
class Replayed:
    """The answers that count (day scale), as the model met them: arrays of one length, and who and what they name.

    ``term`` is the memory term b - f ln(1 + tau / S), 0 for a question never seen; ``chance`` the predicted chance of a
    right answer, from the person's earlier answers alone; ``seconds`` the instant.
    """

    people: tuple[str, ...]
    questions: tuple[str, ...]
    person: NDArray[np.int64]
    question: NDArray[np.int64]
    right: NDArray[np.bool_]
    chance_floor: Floats
    term: Floats
    chance: Floats
    seconds: Floats

    def losses(self) -> Floats:
        """Return -ln of the chance given to what happened, in nats, per answer."""
        inside = np.clip(self.chance, LEAST_CHANCE, 1.0 - LEAST_CHANCE)
        return np.asarray(-np.log(np.where(self.right, inside, 1.0 - inside)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """A refit: the parameters and the easiness of the questions with enough answers."""

    parameters: Parameters
    easiness: Easiness


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """A refit on the earlier answers, scored on the later ones that it has not seen, against the set in use.

    ``answers`` counts all day-scale answers, ``held_out`` those scored; losses are nats an answer, and ``gain_sd`` is
    the standard error of their difference, answer by answer.
    """

    answers: int
    held_out: int
    loss_before: float
    loss_after: float
    gain_sd: float

    def is_better(self, least_gain_nats: float) -> bool:
        """Whether the refit gains at least this much an answer, and more than chance explains (one standard error)."""
        return self.loss_before - self.loss_after >= max(least_gain_nats, self.gain_sd)


def counted(people: People, parameters: Parameters = DEFAULT) -> int:
    """Return how many answers are at day scale: the first to a question in a session, and slow enough to be read."""
    return sum(1 for answers in people.values() for _answer in _counted_of(answers))


def instant_of_share(people: People, share: float) -> datetime:
    """Return the instant before which this share (0 to 1) of the day-scale answers was given. ValueError for none."""
    instants = sorted(one.at for answers in people.values() for one in _counted_of(answers))
    if not instants:
        raise ValueError("there are no answers that count")
    return instants[min(int(len(instants) * share), len(instants) - 1)]


def try_refit(people: People, used: Fitted, held_out_from: datetime) -> Trial:
    """Fit on what was answered before an instant and score what came after, beside the set in use.

    ValueError when there is nothing before or nothing after. Both sets predict each later answer from the same
    person's earlier ones, so only the sets differ.
    """
    early = {key: [one for one in answers if one.at < held_out_from] for key, answers in people.items()}
    answers = counted(people)
    if not 0 < counted(early) < answers:
        raise ValueError("a trial needs answers on both sides of the instant from which answers are held out")
    before, after = replay(people, used), replay(people, refit(early, used))
    late = before.seconds >= held_out_from.timestamp()
    gains = (before.losses() - after.losses())[late]
    return Trial(
        answers=answers,
        held_out=len(gains),
        loss_before=float(before.losses()[late].mean()),
        loss_after=float(after.losses()[late].mean()),
        gain_sd=float(gains.std() / math.sqrt(len(gains))),
    )


def refit(people: People, used: Fitted) -> Fitted:
    """Return the parameters and easiness that fit these answers best, starting from the set in use.

    Level and fade are chosen from a small grid by the loss of predicting each answer from earlier ones; its step is
    coarse on purpose, so that noise does not move them.
    """
    start = _with_easiness(people, replace(used, easiness={}))
    tried = [_moved(used.parameters, level, fade) for level in LEVELS for fade in FADES]
    unlike = [parameters for parameters in dict.fromkeys(tried) if parameters != used.parameters]
    best, least = used.parameters, _loss(people, start)
    for parameters in unlike:
        loss = _loss(people, replace(start, parameters=parameters))
        if loss < least:
            best, least = parameters, loss
    return start if best == used.parameters else _with_easiness(people, replace(start, parameters=best))


def replay(people: People, fitted: Fitted) -> Replayed:
    """Fold everybody's answers with a set, and keep what it predicted of each answer that counts."""
    rows = [(key, row) for key, answers in people.items() for row in _replayed(answers, fitted)]
    names = sorted({row.question for _key, row in rows})
    places = {name: place for place, name in enumerate(names)}
    who = {key: place for place, key in enumerate(people)}
    return Replayed(
        people=tuple(people),
        questions=tuple(names),
        person=np.array([who[key] for key, _row in rows], dtype=np.int64),
        question=np.array([places[row.question] for _key, row in rows], dtype=np.int64),
        right=np.array([row.right for _key, row in rows], dtype=bool),
        chance_floor=np.array([row.chance_floor for _key, row in rows]),
        term=np.array([row.term for _key, row in rows]),
        chance=np.array([row.chance for _key, row in rows]),
        seconds=np.array([row.seconds for _key, row in rows]),
    )


def fit_easiness(rows: Replayed, parameters: Parameters) -> Easiness:
    """Return easiness by question from ``SWEEPS`` scoring steps on the ridge likelihood, person shifts alongside.

    Questions with fewer than ``FEWEST_OF_A_QUESTION`` answers are left out: nothing is said of them.
    """
    people, questions = len(rows.people), len(rows.questions)
    ridge = np.concatenate(
        [np.full(people, parameters.sd_ability**-2.0), np.full(questions, parameters.sd_easiness**-2.0)]
    )
    values: Floats = np.zeros(people + questions)
    inverse: Floats = np.diag(1.0 / ridge)
    for _ in range(SWEEPS):
        logits = values[rows.person] + values[people + rows.question] + rows.term
        slope, weight = _slope_and_weight(rows, logits, parameters)
        inverse = np.asarray(np.linalg.inv(_information(rows, weight) + np.diag(ridge)), dtype=np.float64)
        values += inverse @ (_sums(rows, slope) - ridge * values)
    answers = np.bincount(rows.question, minlength=questions)
    sd = np.sqrt(np.diag(inverse)[people:])
    return {
        name: (float(values[people + place]), float(sd[place]))
        for place, name in enumerate(rows.questions)
        if answers[place] >= FEWEST_OF_A_QUESTION
    }


@dataclass(frozen=True, slots=True)
class _Row:
    question: str
    right: bool
    chance_floor: float
    term: float
    chance: float
    seconds: float


def _with_easiness(people: People, fitted: Fitted) -> Fitted:
    for _ in range(ROUNDS):
        fitted = replace(fitted, easiness=fit_easiness(replay(people, fitted), fitted.parameters))
    return fitted


def _loss(people: People, fitted: Fitted) -> float:
    return float(replay(people, fitted).losses().mean())


def _moved(parameters: Parameters, level: float, fade: float) -> Parameters:
    """The parameters with another level and fade, within reach of the shipped ones, to three decimals."""
    lowest, highest = FADE_REACH
    b = min(max(parameters.b + level, DEFAULT.b - LEVEL_REACH), DEFAULT.b + LEVEL_REACH)
    steeper = min(max(parameters.fade * fade, lowest), highest)
    # the hold's own scale: with another fade the level at a day after one answer stays, so that the two are told apart
    b += (steeper - parameters.fade) * -DEFAULT.first_right
    b = min(max(b, DEFAULT.b - LEVEL_REACH), DEFAULT.b + LEVEL_REACH)
    return replace(parameters, b=round(b, 3), fade=round(steeper, 3))


def _counted_of(answers: Sequence[Answered]) -> Iterator[Answered]:
    last: dict[str, datetime] = {}
    for one in answers:
        if not one.too_fast and (one.question not in last or days_between(last[one.question], one.at) > SESSION_DAYS):
            yield one
        last[one.question] = one.at


def _replayed(answers: Sequence[Answered], fitted: Fitted) -> Iterator[_Row]:
    parameters = fitted.parameters
    state = nothing_answered(parameters)
    for one in answers:
        easiness, sd = fitted.easiness.get(one.question, (0.0, parameters.sd_easiness))
        own = replace(one, easiness=easiness, easiness_var=sd * sd)
        trace = state.traces.get(one.question)
        if is_counted(trace, own):
            yield _row(own, trace, moments(state.belief), parameters)
        state = after_answer(state, own, parameters)


def _row(one: Answered, trace: Trace | None, who: PersonMoments, parameters: Parameters) -> _Row:
    ln_hold, hold_var = (trace.ln_hold, trace.ln_hold_var) if trace else (math.nan, 0.0)
    interval_days = days_between(trace.last_at, one.at) if trace else 0.0
    likely = recall_mean(
        ln_hold, interval_days, who, easiness=one.easiness, ln_hold_var=hold_var, easiness_var=one.easiness_var,
        parameters=parameters,
    )  # fmt: skip
    return _Row(
        question=one.question,
        right=one.right,
        chance_floor=one.chance_floor,
        term=_term(trace, interval_days, parameters),
        chance=float(chance_right(likely, one.chance_floor, parameters)),
        seconds=one.at.timestamp(),
    )


def _term(trace: Trace | None, interval_days: float, parameters: Parameters) -> float:
    if trace is None:
        return 0.0
    return parameters.b - parameters.fade * math.log1p(interval_days * math.exp(min(-trace.ln_hold, 600.0)))


def _slope_and_weight(rows: Replayed, logits: Floats, parameters: Parameters) -> tuple[Floats, Floats]:
    """Per answer the slope of its log likelihood by the logit, and the information that it carries."""
    recalled = 1.0 / (1.0 + np.exp(-np.clip(logits, -500.0, 500.0)))
    share = 1.0 - rows.chance_floor - parameters.slip
    chance = np.clip(rows.chance_floor + share * recalled, LEAST_CHANCE, 1.0 - LEAST_CHANCE)
    by_logit = share * recalled * (1.0 - recalled)
    spread = chance * (1.0 - chance)
    return (rows.right - chance) * by_logit / spread, by_logit * by_logit / spread


def _sums(rows: Replayed, weight: Floats) -> Floats:
    by_person = np.bincount(rows.person, weight, len(rows.people))
    return np.concatenate([by_person, np.bincount(rows.question, weight, len(rows.questions))])


def _information(rows: Replayed, weight: Floats) -> Floats:
    people, questions = len(rows.people), len(rows.questions)
    matrix = np.diag(_sums(rows, weight))
    crossed = np.bincount(rows.person * questions + rows.question, weight, people * questions)
    matrix[:people, people:] = crossed.reshape(people, questions)
    matrix[people:, :people] = matrix[:people, people:].T
    return matrix
