"""A person's answers folded, in order, into what is remembered: one compact trace per question and one belief."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import reduce

from training.core.memory.gates import Gate, gate_after, is_first_of_session
from training.core.memory.parameters import DEFAULT, Parameters
from training.core.memory.posterior import Belief, PersonMoments, moments, observe, prior
from training.core.memory.steps import Hold, Shown, days_between, first_hold, next_hold


class OutOfOrder(ValueError):
    """An answer older than what is already folded: fold all of the person's answers again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """One answer as the model sees it. ``at`` carries a zone (ValueError otherwise); ``record`` orders equal instants.

    ``chance_floor`` is the chance of a right guess. ``easiness`` (logits) and its variance belong to the question and
    the parameter set. Commitment and consequence are absent on purpose: they never enter recall.
    """

    question: str
    at: datetime
    right: bool
    chance_floor: float
    record: int
    too_fast: bool = False
    easiness: float = 0.0
    easiness_var: float = DEFAULT.sd_easiness**2

    def __post_init__(self) -> None:
        if self.at.utcoffset() is None:
            raise ValueError(f"the instant of the answer to {self.question} carries no zone")
        if not 0.0 <= self.chance_floor < 1.0:
            raise ValueError(f"chance floor {self.chance_floor} of {self.question} must be at least 0 and below 1")


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """The drill state of one person and question, and its gate.

    ``ln_hold`` (ln days) and ``ln_hold_var`` hold from ``last_at``, the last answer of any kind; ``last_counted_at`` is
    the last answer that the belief counted. ``last_right``: the last answer was right and slow enough to have been
    read.
    """

    ln_hold: float
    ln_hold_var: float
    last_at: datetime
    gate: Gate
    answers: int
    last_right: bool
    last_counted_at: datetime | None = None
    easiness: float = 0.0
    easiness_var: float = DEFAULT.sd_easiness**2


@dataclass(frozen=True, slots=True)
class PersonRecall:
    """All that is remembered of one person: a trace per question, the belief, and the last answer folded."""

    traces: Mapping[str, Trace] = field(default_factory=dict)
    belief: Belief = field(default_factory=prior)
    folded_to: tuple[datetime, int] | None = None

    @property
    def gate_moments(self) -> PersonMoments:
        """What gates read (``gate_low``, ``Evidence.moments``); drills read ``posterior.moments``."""
        return self.belief.gate_moments


def nothing_answered(parameters: Parameters = DEFAULT) -> PersonRecall:
    """Return the state of someone who has answered nothing."""
    return PersonRecall(belief=prior(parameters))


def after_answer(state: PersonRecall, answered: Answered, parameters: Parameters = DEFAULT) -> PersonRecall:
    """Return the state after one more answer; OutOfOrder when it is older than the last one folded."""
    place = (answered.at, answered.record)
    if state.folded_to is not None and place < state.folded_to:
        raise OutOfOrder(f"record {answered.record} is older than what is folded: fold all answers again")
    who = moments(state.belief)
    trace = state.traces.get(answered.question)
    easiness = answered.easiness if trace is None else trace.easiness
    shown = Shown(right=answered.right, chance_floor=answered.chance_floor, off=who.ability + easiness, fade=who.fade)
    moved = trace_after(trace, answered, shown, parameters)
    belief = _belief_after(state.belief, trace, answered, parameters)
    return PersonRecall({**state.traces, answered.question: moved}, belief, place)


def fold(answers: Iterable[Answered], parameters: Parameters = DEFAULT) -> PersonRecall:
    """Return the state after all of one person's answers, in order of instant, then record number."""
    ordered = sorted(answers, key=lambda answered: (answered.at, answered.record))
    start = nothing_answered(parameters)
    return reduce(lambda state, answered: after_answer(state, answered, parameters), ordered, start)


def trace_after(trace: Trace | None, answered: Answered, shown: Shown, parameters: Parameters = DEFAULT) -> Trace:
    """Return one question's trace after an answer; ``shown`` holds the person's point from before it."""
    counts = is_counted(trace, answered)
    hold = _drill_hold(trace, answered, shown, parameters)
    gate = _gate_after(trace, answered, shown, hold.ln_hold, parameters)
    return Trace(
        ln_hold=hold.ln_hold,
        ln_hold_var=hold.var,
        last_at=answered.at,
        gate=gate,
        answers=1 if trace is None else trace.answers + 1,
        last_right=answered.right and not answered.too_fast,
        last_counted_at=answered.at if counts else trace.last_counted_at if trace else None,
        easiness=gate.easiness,
        easiness_var=gate.easiness_var,
    )


def is_counted(trace: Trace | None, answered: Answered) -> bool:
    """True when the belief counts this answer: first of its session and slow enough to have been read."""
    return not answered.too_fast and is_first_of_session(trace.last_at if trace else None, answered.at)


def _gate_after(
    trace: Trace | None, answered: Answered, shown: Shown, drill_ln_hold: float, parameters: Parameters
) -> Gate:
    """Return the gate after the answer, never above the drill's hold at that instant."""
    unseen = Gate(easiness=answered.easiness, easiness_var=answered.easiness_var)
    before = trace.gate if trace else unseen
    gate = gate_after(before, shown, answered.at, too_fast=answered.too_fast, parameters=parameters)
    if gate.last_at == before.last_at or gate.ln_hold is None:
        return gate  # it did not move; not even when the answer before bears the same instant
    return replace(gate, ln_hold=min(gate.ln_hold, drill_ln_hold))


def _drill_hold(trace: Trace | None, answered: Answered, shown: Shown, parameters: Parameters) -> Hold:
    """Return the drill's hold; an answer too fast to have been read only shows the reasons, as reading does."""
    if trace is None:
        return Hold(parameters.first_read) if answered.too_fast else first_hold(shown, parameters)
    before = Hold(trace.ln_hold, trace.ln_hold_var)
    if answered.too_fast:
        return before
    return next_hold(before, days_between(trace.last_at, answered.at), shown, parameters)


def _belief_after(belief: Belief, trace: Trace | None, answered: Answered, parameters: Parameters) -> Belief:
    if not is_counted(trace, answered):
        return belief
    return observe(
        belief,
        right=answered.right,
        chance_floor=answered.chance_floor,
        ln_hold=trace.ln_hold if trace else None,
        interval_days=days_between(trace.last_at, answered.at) if trace else 0.0,
        easiness=trace.easiness if trace else answered.easiness,
        parameters=parameters,
    )
