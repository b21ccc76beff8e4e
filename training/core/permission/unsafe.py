"""Unsafe answers: how one opens, what closes it, and when a later wrong answer opens it anew (DESIGN section 3)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from training.core.permission.evidence import UnsafeAnswer
from training.core.questions.kinds import Consequence, Topic

SOONEST_RIGHT = timedelta(hours=12)  # a right answer counts only when more than half a day has passed
SECOND_RETURN = timedelta(days=6)  # "about a week later": the return that ends the watch on a question [assumed]


@dataclass(frozen=True, slots=True, kw_only=True)
class GivenAnswer:
    """One answer to one question. ``unsafe`` is wrong with "I'd act on it"; ``too_fast`` never counts for anyone."""

    record: int
    question: str
    topic: Topic
    consequence: Consequence
    happened_at: datetime
    right: bool
    unsafe: bool
    too_fast: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TalkThrough:
    """A mentor talked the question through with the person."""

    record: int
    question: str
    happened_at: datetime


class _Watch:
    """The openings of one question for one person, and whether a wrong answer would open it anew."""

    def __init__(self) -> None:
        self.openings: list[UnsafeAnswer] = []
        self.watched = False

    def take_answer(self, answer: GivenAnswer) -> None:
        if not answer.right:
            self._take_wrong(answer)
        elif not answer.too_fast:
            self._take_right(answer.happened_at)

    def take_talk(self, at: datetime) -> None:
        self.openings = [
            _settled(replace(o, talked_through=True), at) if o.closed_at is None and at > o.happened_at else o
            for o in self.openings
        ]

    def _take_wrong(self, answer: GivenAnswer) -> None:
        if not (answer.unsafe or self.watched):
            return
        self.watched = True
        self.openings.append(
            UnsafeAnswer(
                record=answer.record,
                question=answer.question,
                topic=answer.topic,
                consequence=answer.consequence,
                happened_at=answer.happened_at,
            )
        )

    def _take_right(self, at: datetime) -> None:
        if self._second_return(at):
            self.watched = False
        self.openings = [
            _settled(replace(o, right_since=True), at)
            if o.closed_at is None and at - o.happened_at > SOONEST_RIGHT
            else o
            for o in self.openings
        ]

    def _second_return(self, at: datetime) -> bool:
        closings = [o.closed_at for o in self.openings]
        return all(closed is not None and at - closed >= SECOND_RETURN for closed in closings)


def close_unsafe(answers: Iterable[GivenAnswer], talk_throughs: Iterable[TalkThrough]) -> tuple[UnsafeAnswer, ...]:
    """Every unsafe answer of one person, with what has happened to it since; the order of arrival does not matter.

    It closes when a talk-through dated after it and a right answer to the same question more than half a day after it
    both exist, in either order; ``closed_at`` is the later one. Until the question has come back about a week after
    closing and was answered right, any wrong answer to it opens anew.
    """
    watches: dict[str, _Watch] = {}
    events: set[GivenAnswer | TalkThrough] = {*answers, *talk_throughs}
    for event in sorted(events, key=_order):
        watch = watches.setdefault(event.question, _Watch())
        if isinstance(event, TalkThrough):
            watch.take_talk(event.happened_at)
        else:
            watch.take_answer(event)
    opened = [opening for watch in watches.values() for opening in watch.openings]
    return tuple(sorted(opened, key=lambda o: (o.happened_at, o.record)))


def _order(event: GivenAnswer | TalkThrough) -> tuple[datetime, int, str]:
    """Record numbers are never shared; should corrupt ones be, the same events still come in the same order."""
    return event.happened_at, event.record, repr(event)


def _settled(opening: UnsafeAnswer, at: datetime) -> UnsafeAnswer:
    return replace(opening, closed_at=at) if opening.talked_through and opening.right_since else opening
