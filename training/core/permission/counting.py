"""Counting passed observations: how many are still valid on a day, what is short, and until when they are enough."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from training.core.permission.evidence import Observation
from training.core.permission.rule_book import RuleBook, SignOffOf
from training.core.trade.calendar import local_day, through_day

DEFAULT_MONTHS = 12  # for a task that no job type of the rule book asks for: seen once within a year [assumed]
OUTSIDE_SEEN_MONTHS = 12  # how long an observation by somebody from outside speaks as such (trade-practice 4b)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """At least this many observations, mentors and local days, none older than ``valid_months``, all made after
    ``beside_first`` with the mentor beside; ``outside`` of them by mentors from outside, within the last year.
    """

    observations: int
    mentors: int
    days: int
    valid_months: int
    beside_first: int = 0
    outside: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """One passed observation that stands: who saw it, on which local day, and the last day on which it is valid.

    ``outside_through`` is the last day on which it speaks as one by a mentor from outside; None: it was none.
    """

    record: int
    observer: str
    happened_at: datetime
    day: date
    through: date
    outside_through: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Short:
    """What is still short on a day; all zero where nothing is."""

    observations: int
    mentors: int
    days: int
    outside: int = 0

    @property
    def attempts(self) -> int:
        """The fewest further observations that can make up for all of it."""
        return max(self.observations, self.mentors, self.days, self.outside)


def asked_by(rule: SignOffOf) -> Asked:
    """What one sign-off requirement asks."""
    return Asked(
        observations=rule.observations,
        mentors=rule.mentors,
        days=rule.days,
        valid_months=rule.valid_months,
        beside_first=rule.beside_first,
    )


def most_demanding(rule_book: RuleBook, task: str) -> Asked:
    """The hardest of all that the rule book asks for a task, each figure on its own."""
    asked = [
        asked_by(rule)
        for job_type in rule_book.job_types
        for rule in job_type.requirements
        if isinstance(rule, SignOffOf) and rule.task == task
    ]
    return Asked(
        observations=max((a.observations for a in asked), default=1),
        mentors=max((a.mentors for a in asked), default=1),
        days=max((a.days for a in asked), default=1),
        valid_months=min((a.valid_months for a in asked), default=DEFAULT_MONTHS),
        beside_first=max((a.beside_first for a in asked), default=0),
    )


def seen(observation: Observation, valid_months: int, zone: str, *, outside: bool) -> Seen:
    """An observation with its local day and the last day on which it is valid; ``outside``: by somebody from there."""
    day = local_day(observation.happened_at, zone)
    return Seen(
        record=observation.record,
        observer=observation.observer,
        happened_at=observation.happened_at,
        day=day,
        through=through_day(day, valid_months),
        outside_through=through_day(day, OUTSIDE_SEEN_MONTHS) if outside else None,
    )


def short_on(day: date, attempts: Iterable[Seen], asked: Asked) -> Short:
    """What is short on a day, of the observations still valid then.

    Two records of the same mentor at the same instant are one attempt.
    """
    valid = [a for a in attempts if day <= a.through]
    return Short(
        observations=max(0, asked.observations - _attempts(valid)),
        mentors=max(0, asked.mentors - len({a.observer for a in valid})),
        days=max(0, asked.days - len({a.day for a in valid})),
        outside=max(0, asked.outside - _attempts(a for a in valid if a.outside_through and day <= a.outside_through)),
    )


def enough_through(attempts: Sequence[Seen], asked: Asked) -> date | None:
    """The last local day on which the observations are still enough; None where they never are.

    Holding more observations never makes them less, so the latest day on which one of them lapses, and at which nothing
    is short, is the answer.
    """
    lapsing = {a.through for a in attempts} | {a.outside_through for a in attempts if a.outside_through}
    for day in sorted(lapsing, reverse=True):
        if short_on(day, attempts, asked).attempts == 0:
            return day
    return None


def first_day_possible(today: date, attempts: Sequence[Seen], asked: Asked) -> tuple[Short, tuple[int, ...]]:
    """What is short, and on which days from now (0 is today) the fewest further observations can be had.

    Looks ahead to the day of the last one, because what counts today may have lapsed by then.
    """
    short = short_on(today, attempts, asked)
    while (later := short_on(_last_day(today, attempts, short), attempts, asked)) != short:
        short = later  # never less than before, and never more than all that is asked
    return short, _offsets(today, attempts, short)


def _attempts(valid: Iterable[Seen]) -> int:
    return len({(a.observer, a.happened_at) for a in valid})


def _last_day(today: date, attempts: Sequence[Seen], short: Short) -> date:
    return today + timedelta(days=_offsets(today, attempts, short)[-1])


def _offsets(today: date, attempts: Iterable[Seen], short: Short) -> tuple[int, ...]:
    """Days from now for each further observation: new days first, the rest on the first of them."""
    start = 1 if short.days and any(a.day == today for a in attempts) else 0
    new_days = [start + n for n in range(short.days)] or [0]
    same_day = max(1, short.attempts) - len(new_days)
    return tuple([new_days[0]] * same_day + new_days)
