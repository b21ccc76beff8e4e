"""A simple choice of questions for a shift drill, by what is due; never longer than the minutes given."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from typing import Final

from training.core.memory.gates import is_first_of_session
from training.core.memory.pace import DEFAULT_SECONDS

NEW_PER_MINUTE: Final = 1
NEW_AT_LEAST: Final = 3
_CONSEQUENCES: Final = ("life", "injury", "damage")


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One question that could be asked. ``due_at`` None or ``last_at`` None: never answered.

    ``consequence`` is life, injury or damage. ``must``: an unsafe answer comes back at ``due_at``. ``rank``: 0 for the
    nearest job type worked towards, 1 for the next. ``floor`` is carried for whoever shows why a question was chosen.
    """

    question: str
    topic: str
    consequence: str
    due_at: datetime | None = None
    seconds: float = DEFAULT_SECONDS
    floor: float = 0.0
    must: bool = False
    last_at: datetime | None = None
    last_wrong: bool = False
    rank: int = 0

    def __post_init__(self) -> None:
        if self.consequence not in _CONSEQUENCES:
            raise ValueError(f"consequence {self.consequence} of {self.question} is none of {', '.join(_CONSEQUENCES)}")
        if not self.seconds > 0.0:
            raise ValueError(f"seconds {self.seconds} of {self.question} must be above 0")


def choose(candidates: Iterable[Candidate], minutes: float, at: datetime) -> tuple[str, ...]:
    """Return the questions to ask, in order; their seconds add up to no more than ``minutes``.

    First the unsafe returns whose day has come; then what is due, life before injury before damage, nearest job type
    first, longest due first; then a small portion of new ones (one per minute, at least three); then what is soonest
    due. Nothing seen within half a day comes again, except wrong answers at the very end: it could not count. Topics
    are interleaved behind the unsafe returns. Equal input gives equal output, in whatever order the candidates come.
    """
    ordered = _in_order_of_need(sorted(candidates, key=lambda one: one.question), minutes, at)
    taken = _that_fit(ordered, minutes * 60.0)
    returns = [one for one in taken if one.must]
    rest = _interleaved([one for one in taken if not one.must], returns[-1].topic if returns else "")
    return tuple(one.question for one in (*returns, *rest))


def _in_order_of_need(candidates: Sequence[Candidate], minutes: float, at: datetime) -> list[Candidate]:
    returns = sorted((one for one in candidates if one.must and _is_due(one, at)), key=_need)
    plain = [one for one in candidates if not one.must]
    seen = [one for one in plain if one.last_at is not None]
    rested = [one for one in seen if is_first_of_session(one.last_at, at)]
    due = sorted((one for one in rested if _is_due(one, at)), key=_need)
    new = sorted((one for one in plain if one.last_at is None), key=lambda one: (one.rank, *_need(one)))
    portion = max(NEW_AT_LEAST, int(minutes * NEW_PER_MINUTE))
    later = sorted((one for one in rested if not _is_due(one, at)), key=_soonest)
    again = sorted((one for one in seen if one.last_wrong and not is_first_of_session(one.last_at, at)), key=_need)
    return [*returns, *due, *islice(new, portion), *later, *again]


def _is_due(one: Candidate, at: datetime) -> bool:
    return one.due_at is None or one.due_at <= at


def _need(one: Candidate) -> tuple[int, int, float, str]:
    return (_CONSEQUENCES.index(one.consequence), one.rank, _seconds_of(one.due_at), one.question)


def _soonest(one: Candidate) -> tuple[float, int, int, str]:
    return (_seconds_of(one.due_at), _CONSEQUENCES.index(one.consequence), one.rank, one.question)


def _seconds_of(instant: datetime | None) -> float:
    return float("-inf") if instant is None else instant.timestamp()


def _that_fit(ordered: Sequence[Candidate], seconds: float) -> list[Candidate]:
    """Return, in order, every candidate that still fits into what the ones before it left."""
    taken: list[Candidate] = []
    for one in ordered:
        if one.seconds <= seconds:
            taken.append(one)
            seconds -= one.seconds
    return taken


def _interleaved(ordered: Sequence[Candidate], topic_before: str) -> list[Candidate]:
    """Return the same candidates, the neediest first as far as no topic follows itself."""
    left, mixed, topic = list(ordered), list[Candidate](), topic_before
    while left:
        crowded, count = Counter(one.topic for one in left).most_common(1)[0]
        fresh = [one for one in left if one.topic != topic] or left
        pressing = [one for one in fresh if one.topic == crowded] if count * 2 > len(left) else []
        one = (pressing or fresh)[0]
        left.remove(one)
        mixed.append(one)
        topic = one.topic
    return mixed
