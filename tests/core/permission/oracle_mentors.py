"""The oracle's view of who might watch whom: attempts are gone through in order of time, each on the earlier ones."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date, datetime
from itertools import groupby

from training.core.permission.evidence import Evidence, Observation, PersonEvidence, StandDown
from training.core.permission.rule_book import RuleBook, SignOffOf
from training.core.trade.calendar import add_months, local_day

Pass = Observation
Figures = tuple[int, int, int, int]
"""Observations, mentors, local days, months for which each is valid."""

OUTSIDE_MONTHS = 36


def enough(passes: Iterable[Pass], day: date, zone: str, figures: Figures) -> bool:
    """Whether these passes are enough on a local day."""
    observations, mentors, days, months = figures
    valid = [p for p in passes if day <= add_months(local_day(p.happened_at, zone), months)]
    return (
        len({(p.observer, p.happened_at) for p in valid}) >= observations
        and len({p.observer for p in valid}) >= mentors
        and len({local_day(p.happened_at, zone) for p in valid}) >= days
    )


def opens(stand_down: StandDown, at: datetime) -> bool:
    """Whether a stand-down is open: it has begun, and no release dated after it has come."""
    if at < stand_down.happened_at:
        return False
    return stand_down.released_at is None or not stand_down.happened_at <= stand_down.released_at <= at


class Watched:
    """All attempts of a house, each with whether it was watched by somebody who might watch it."""

    def __init__(self, evidence: Evidence, rules: RuleBook) -> None:
        self.evidence, self.rules, self.zone = evidence, rules, evidence.zone
        self.people = {**evidence.colleagues, evidence.of.person: evidence.of}
        self.good: dict[str, list[tuple[str, Pass]]] = {}

    def passes(self, person: str, task: str, in_time: Callable[[datetime], bool], at: datetime) -> list[Pass]:
        """Good passes of somebody in time, those before their latest failure up to ``at`` left out."""
        if task not in self.good:
            self.good[task] = []
            self.go_through(task)
        failures = [
            o.happened_at
            for o in self.people[person].observations
            if o.task == task and not o.passed and o.happened_at <= at
        ]
        return [
            o
            for who, o in self.good[task]
            if who == person and in_time(o.happened_at) and all(o.happened_at > failed for failed in failures)
        ]

    def go_through(self, task: str) -> None:
        attempts = {(who, o) for who, one in self.people.items() for o in one.observations if o.task == task}
        in_order = sorted(attempts, key=lambda each: each[1].happened_at)
        for _, at_once in groupby(in_order, key=lambda each: each[1].happened_at):
            found = [(who, o) for who, o in at_once if self.is_attempt(o) and self.might_watch(o.observer, who, o)]
            self.good[task] += found

    def is_attempt(self, o: Observation) -> bool:
        return o.passed and not o.done_only and o.workshop == self.evidence.workshop

    def might_watch(self, mentor: str, person: str, o: Observation) -> bool:
        return self.may_watch(mentor, person, o.task, o.happened_at)

    def may_watch(self, mentor: str, person: str, task: str, at: datetime) -> bool:
        """Judged on good passes strictly before ``at``."""
        if mentor == person or mentor not in self.people:
            return False
        one, day = self.people[mentor], local_day(at, self.zone)
        if one.unreadable or any(opens(s, at) for s in one.stand_downs) or not self.is_named(one, task, day):
            return False
        if self.is_founder(one, task, day):
            return True
        own = self.earlier(mentor, task, at)
        figures = self.hardest(task)
        if enough([p for p in own if p.observer != person], day, self.zone, figures):
            return True
        return (
            enough(own, day, self.zone, figures)
            and self.reaches_outside(mentor, person, task, at)
            and self.reaches_outside(person, mentor, task, at)
        )

    def earlier(self, person: str, task: str, at: datetime) -> list[Pass]:
        return self.passes(person, task, lambda instant: instant < at, at)

    def is_named(self, mentor: PersonEvidence, task: str, day: date) -> bool:
        return any(
            task in a.tasks
            and a.workshop == self.evidence.workshop
            and a.by != mentor.person
            and max(a.from_day, a.entered_on) <= day <= a.through_day
            and (a.from_day <= a.entered_on or (a.confirmed_on is not None and a.from_day <= a.confirmed_on <= day))
            for a in mentor.mentor_appointments
        )

    def is_founder(self, mentor: PersonEvidence, task: str, day: date) -> bool:
        """In the workshop's first months an outside certificate will do."""
        opened = self.evidence.workshop_opened_on
        if opened is None or not opened <= day <= add_months(opened, self.rules.bootstrap_months):
            return False
        return self.is_certified(mentor, task, day)

    def is_certified(self, one: PersonEvidence, task: str, day: date) -> bool:
        for c in one.certificates:
            last = min(c.through_day or date.max, add_months(c.issued_on, OUTSIDE_MONTHS))
            entered = c.entered_on or c.issued_on
            late = c.issued_on > entered and not (c.confirmed_on and c.issued_on <= c.confirmed_on <= day)
            if task in c.tasks and c.issued_on <= day <= last and not late:
                return True
        return False

    def hardest(self, task: str) -> Figures:
        """The hardest that any job type asks for the task, figure by figure; seen once within a year if none does."""
        asked: Sequence[SignOffOf] = [
            r
            for job_type in self.rules.job_types
            for r in job_type.requirements
            if isinstance(r, SignOffOf) and r.task == task
        ]
        if not asked:
            return 1, 1, 1, 12
        return (
            max(r.observations for r in asked),
            max(r.mentors for r in asked),
            max(r.days for r in asked),
            min(r.valid_months for r in asked),
        )

    def reaches_outside(self, person: str, barred: str, task: str, at: datetime) -> bool:
        """Whether signatures not older than 36 months lead to an outside certificate, none of them by ``barred``."""
        day = local_day(at, self.zone)
        reached: set[str] = set()
        more = {person}
        while more - reached:
            reached |= more
            passes = [p for who in reached for p in self.earlier(who, task, at)]
            recent = [p for p in passes if day <= add_months(local_day(p.happened_at, self.zone), OUTSIDE_MONTHS)]
            more = {p.observer for p in recent} - {barred}
        return any(self.is_certified(self.people[who], task, day) for who in reached)
