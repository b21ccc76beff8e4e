"""The shortest remedy of each kind of gap, with an honest estimate of minutes and the first day it can be closed.

The minutes are assumed: common practice, no source. Recall counts its own seconds per question (``recall.py``).
"""

from __future__ import annotations

from datetime import date

from training.core.permission.decision import Remedy, RemedyKind

OBSERVATION_MINUTES = 30
TALK_THROUGH_MINUTES = 3  # trade-practice C34
SIGNATURE_MINUTES = 2
RELEASE_MINUTES = 10
INSTRUCTION_MINUTES = 30
ENTRY_MINUTES = 2


def signature(on: date, who: tuple[str, ...] = ()) -> Remedy:
    """A manager writes and signs a naming."""
    return Remedy(kind=RemedyKind.SIGNATURE, minutes=SIGNATURE_MINUTES, earliest_on=on, who=who)


def entry(on: date | None) -> Remedy:
    """Somebody enters what is not on record."""
    return Remedy(kind=RemedyKind.ENTRY, minutes=ENTRY_MINUTES, earliest_on=on)


def release(on: date) -> Remedy:
    """Somebody with the right releases a stand-down."""
    return Remedy(kind=RemedyKind.RELEASE, minutes=RELEASE_MINUTES, earliest_on=on)


def instruction(on: date) -> Remedy:
    """Instruction is given and entered."""
    return Remedy(kind=RemedyKind.INSTRUCTION, minutes=INSTRUCTION_MINUTES, earliest_on=on)


def certificate() -> Remedy:
    """A certificate comes from elsewhere: how long that takes is not for us to say."""
    return Remedy(kind=RemedyKind.CERTIFICATE, minutes=0, earliest_on=None)


def repair() -> Remedy:
    """Something in the records or the rule book has to be put right first."""
    return Remedy(kind=RemedyKind.REPAIR, minutes=0, earliest_on=None)


def supervisor() -> Remedy:
    """Somebody else has to be cleared alone first."""
    return Remedy(kind=RemedyKind.SUPERVISOR, minutes=0, earliest_on=None)


def observations(
    today: date, days_from_now: tuple[int, ...], who: tuple[str, ...], *, can_be_had: bool = True
) -> Remedy:
    """Observations on these days from now, by mentors who may; without enough such mentors there is no honest day."""
    per_day = {day: days_from_now.count(day) * OBSERVATION_MINUTES for day in sorted(set(days_from_now))}
    return Remedy(
        kind=RemedyKind.OBSERVATION,
        minutes=sum(per_day.values()),
        earliest_on=date.fromordinal(today.toordinal() + max(days_from_now)) if who and can_be_had else None,
        minutes_by_day=tuple(per_day.items()),
        who=who,
    )


def talk_through(on: date, questions: tuple[str, ...], by_day: tuple[tuple[int, int], ...]) -> Remedy:
    """A mentor's talk-through, and a right answer on another day where that is missing too."""
    return Remedy(
        kind=RemedyKind.TALK_THROUGH,
        minutes=sum(minutes for _, minutes in by_day),
        earliest_on=on,
        minutes_by_day=by_day,
        questions=questions,
    )


def drill(on: date | None, questions: tuple[str, ...], by_day: tuple[tuple[int, int], ...]) -> Remedy:
    """Right answers to these questions, so many minutes on each of these days from now."""
    return Remedy(
        kind=RemedyKind.DRILL,
        minutes=sum(minutes for _, minutes in by_day),
        earliest_on=on,
        minutes_by_day=by_day,
        questions=questions,
    )
