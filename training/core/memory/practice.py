"""The minutes to spare: once all that counts holds for some days, a part of a drill goes to what counts for nothing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from typing import Final

from training.core.memory.composer import SOON_DAYS, Candidate, compose, gathered
from training.core.memory.gains import low_without
from training.core.memory.gates import is_first_of_session
from training.core.memory.parameters import DEFAULT, Parameters
from training.core.memory.posterior import Belief

SHARE: Final = 1 / 3
"""Of the minutes, once there is time to spare [assumed]."""


def compose_with_practice(
    asked: Sequence[Candidate],
    others: Iterable[Candidate],
    belief: Belief,
    minutes: float,
    at: datetime,
    *,
    parameters: Parameters = DEFAULT,
) -> tuple[str, ...]:
    """Return the questions of a drill, in order: those asked for as ``compose`` chooses them, then practice.

    ``others`` count for nothing. They are asked once all of ``asked`` hold for ``SOON_DAYS``, and none of these comes
    back sooner: never answered first, life before the rest, then the oldest. ValueError as ``compose`` says.
    """
    spare = bool(asked) and hold_for_days(asked, belief, at, parameters)
    practice = sorted(_rested(others, at), key=_turn) if spare else []
    for_asked = minutes * (1.0 - SHARE) if practice else minutes
    drill = compose(asked, belief, for_asked, at, parameters=parameters)
    seconds = {one.question: one.seconds for one in asked}
    left_s = minutes * 60.0 - sum(seconds[question] for question in drill.questions)
    return (*drill.questions, *_that_fit(practice, left_s))


def hold_for_days(asked: Sequence[Candidate], belief: Belief, at: datetime, parameters: Parameters = DEFAULT) -> bool:
    """Say whether all gates still meet their floors ``SOON_DAYS`` from ``at``, and nothing comes back until then."""
    soon = at + timedelta(days=SOON_DAYS)
    if any(one.trace is None or (one.back_at is not None and one.back_at <= soon) for one in asked):
        return False
    offer = gathered(asked, at)
    (low,) = low_without(offer.asked, belief.gate_moments, SOON_DAYS, parameters=parameters)
    return bool((low >= offer.floor).all())


def _rested(others: Iterable[Candidate], at: datetime) -> Iterator[Candidate]:
    """Give those whose answer could count, as for all others."""
    return (one for one in others if is_first_of_session(one.trace.last_at if one.trace else None, at))


def _turn(one: Candidate) -> tuple[bool, float, bool, str]:
    answered_s = one.trace.last_at.timestamp() if one.trace else 0.0
    return one.trace is not None, answered_s, one.consequence != "life", one.question


def _that_fit(practice: Iterable[Candidate], seconds: float) -> Iterator[str]:
    for one in practice:
        if one.seconds > seconds:
            return
        yield one.question
        seconds -= one.seconds
