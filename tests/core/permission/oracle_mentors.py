"""The oracle's view of who might watch whom: attempts are gone through in order of time, each on the earlier ones."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date, datetime
from itertools import groupby

from training.core.permission.evidence import Evidence, MentorAppointment, Observation, PersonEvidence, StandDown
from training.core.permission.rule_book import RuleBook, SignOffOf
from training.core.trade.calendar import add_months, local_day

Pass = Observation
Figures = tuple[int, int, int, int, int]
"""Observations, mentors, local days, months for which each is valid, attempts with the mentor beside before."""

OUTSIDE_MONTHS = 36
LATELY = 12
"""Months for which what a guest has seen carries a small shop."""


def enough(passes: Iterable[Pass], day: date, zone: str, figures: Figures) -> bool:
    """Whether these passes are enough on a local day."""
    observations, mentors, days, months, _ = figures
    valid = [p for p in passes if day <= add_months(local_day(p.happened_at, zone), months)]
    return (
        len({(p.observer, p.happened_at) for p in valid}) >= observations
        and len({p.observer for p in valid}) >= mentors
        and len({local_day(p.happened_at, zone) for p in valid}) >= days
    )


class Watched:
    """All attempts of a house, each with whether it was watched by somebody who might watch it."""

    def __init__(self, evidence: Evidence, rules: RuleBook) -> None:
        self.evidence, self.rules, self.zone = evidence, rules, evidence.zone
        self.people = {**evidence.colleagues, evidence.of.person: evidence.of}
        self.good: list[tuple[str, Pass]] = []
        self.go_through()

    def passes(
        self, person: str, task: str, in_time: Callable[[datetime], bool], at: datetime, beside: int = 0
    ) -> list[Pass]:
        """Good passes alone of somebody in time, those before their latest failure up to ``at`` left out, and those
        with fewer attempts beside a mentor before them."""
        failures = [
            o.happened_at
            for o in self.people[person].observations
            if o.task == task and not o.passed and o.supervision != "watched" and o.happened_at <= at
        ]
        mine = [o for who, o in self.good if who == person and o.task == task]
        coached = [o for o in mine if o.supervision == "mentor beside"]
        return [
            o
            for o in mine
            if o.supervision == "alone"
            and in_time(o.happened_at)
            and all(o.happened_at > failed for failed in failures)
            and len({c for c in coached if c.happened_at < o.happened_at}) >= beside
        ]

    def go_through(self) -> None:
        attempts = {(who, o) for who, one in self.people.items() for o in one.observations}
        in_order = sorted(attempts, key=lambda each: each[1].happened_at)
        for _, at_once in groupby(in_order, key=lambda each: each[1].happened_at):
            self.good += [(who, o) for who, o in at_once if self.is_attempt(o) and self.might_watch(o.observer, who, o)]

    def is_down(self, person: str, stand_down: StandDown, at: datetime) -> bool:
        """Whether a stand-down has begun and fewer people than it takes have released it by ``at``."""
        enders = {
            r.by
            for r in stand_down.releases
            if stand_down.happened_at < r.happened_at <= at
            and r.by not in {"", person, stand_down.job_given_by}
            and any(n < r.record and self.is_fresh(person, stand_down, n, r.happened_at) for n in r.evidence)
        }
        return stand_down.happened_at <= at and len(enders) < 1 + stand_down.incident

    def is_fresh(self, person: str, stand_down: StandDown, number: int, before: datetime) -> bool:
        """Whether a record shows something since: an attempt alone that stands, or for a medical one a new answer."""
        watched = any(
            who == person
            and o.record == number
            and o.supervision == "alone"
            and stand_down.happened_at < o.happened_at < before
            for who, o in self.good
        )
        return watched or any(
            stand_down.medical
            and c.record == number > stand_down.record
            and c.kind == "medical"
            and c.withdrawn_from is None
            and (c.entered_on or c.issued_on) >= local_day(stand_down.happened_at, self.zone)
            for c in self.people[person].certificates
        )

    def is_attempt(self, o: Observation) -> bool:
        tried = not o.done_only and o.supervision != "watched"
        return o.passed and tried and o.workshop == self.evidence.workshop

    def might_watch(self, mentor: str, person: str, o: Observation) -> bool:
        return self.may_watch(mentor, person, o.task, o.happened_at)

    def may_watch(self, mentor: str, person: str, task: str, at: datetime) -> bool:
        """Judged on good passes strictly before ``at``."""
        if mentor == person or mentor not in self.people:
            return False
        one, day = self.people[mentor], local_day(at, self.zone)
        down = any(self.is_down(mentor, s, at) for s in one.stand_downs)
        if one.unreadable or down or not self.namings(one, task, day):
            return False
        if self.is_founder(one, task, day) or self.is_guest(one, task, day):
            return True
        figures = self.hardest(task)
        own = self.earlier(mentor, task, at, figures[-1])
        if self.is_proved(mentor, task, [p for p in own if p.observer != person], day, figures):
            return True
        return (
            self.is_proved(mentor, task, own, day, figures)
            and self.reaches_outside(mentor, person, task, at)
            and self.reaches_outside(person, mentor, task, at)
        )

    def earlier(self, person: str, task: str, at: datetime, beside: int = 0) -> list[Pass]:
        return self.passes(person, task, lambda instant: instant < at, at, beside)

    def namings(self, mentor: PersonEvidence, task: str, day: date) -> list[MentorAppointment]:
        return [
            a
            for a in mentor.mentor_appointments
            if task in a.tasks
            and a.workshop == self.evidence.workshop
            and a.by != mentor.person
            and max(a.from_day, a.entered_on) <= day <= a.through_day
            and (a.withdrawn_from is None or day < a.withdrawn_from)
            and (a.from_day <= a.entered_on or (a.confirmed_on is not None and a.from_day <= a.confirmed_on <= day))
        ]

    def signed_twice(self, mentor: PersonEvidence, task: str, day: date) -> list[MentorAppointment]:
        """Those that count today and that one more person, neither the first nor the mentor, has signed by today."""
        counting = self.namings(mentor, task, day)
        signed = [a for a in counting if a.second_on is not None and a.second_on <= day and a.second_by != ""]
        return [a for a in signed if len({a.by, a.second_by, mentor.person}) == 3]

    def is_founder(self, mentor: PersonEvidence, task: str, day: date) -> bool:
        """In the workshop's first months an outside certificate will do, where two have signed."""
        opened = self.evidence.workshop_opened_on
        if opened is None or not opened <= day <= add_months(opened, self.rules.bootstrap_months):
            return False
        return bool(self.signed_twice(mentor, task, day)) and self.is_certified(mentor, task, day)

    def is_guest(self, mentor: PersonEvidence, task: str, day: date) -> bool:
        """Somebody who works elsewhere brings a certificate instead of a sign-off, where two have signed."""
        guests = [a for a in self.signed_twice(mentor, task, day) if a.outside is True]
        return bool(guests) and self.is_certified(mentor, task, day)

    def is_from_outside(self, good: Pass) -> bool:
        """Whether whoever watched it was such a guest that day."""
        return self.is_guest(self.people[good.observer], good.task, local_day(good.happened_at, self.zone))

    # ------------------------------------------------------------------------------------------------ small shops

    def is_proved(self, person: str, task: str, passes: Sequence[Pass], day: date, figures: Figures) -> bool:
        """Whether the passes are enough; or enough for a small shop: one more of them, by anybody, one of them watched
        by a guest within a year.
        """
        if enough(passes, day, self.zone, figures):
            return True
        observations, mentors, days, months, beside = figures
        if mentors < 2 or not self.is_small(person, task, day):
            return False
        fresh = [p for p in passes if day <= add_months(local_day(p.happened_at, self.zone), min(months, LATELY))]
        more = (observations + 1, 1, days, months, beside)
        return enough(passes, day, self.zone, more) and any(self.is_from_outside(p) for p in fresh)

    def is_small(self, person: str, task: str, day: date) -> bool:
        """Whether two people, neither of them this one, have signed that the workshop is too small."""
        for shop in self.evidence.small_shops:
            late = shop.from_day > shop.entered_on
            confirmed = shop.confirmed_on is not None and shop.from_day <= shop.confirmed_on <= day
            begun = shop.from_day <= day and shop.entered_on <= day and (confirmed or not late)
            over = day > shop.through_day or (shop.withdrawn_from is not None and shop.withdrawn_from <= day)
            here = shop.workshop == self.evidence.workshop and (shop.tasks is None or task in shop.tasks)
            two = len({shop.by, shop.second_by} - {"", person}) == 2
            if here and begun and not over and two:
                return True
        return False

    # --------------------------------------------------------------------------------------- certificates and rules

    def is_certified(self, one: PersonEvidence, task: str, day: date) -> bool:
        for c in one.certificates:
            last = min(c.through_day or date.max, add_months(c.issued_on, OUTSIDE_MONTHS))
            entered = c.entered_on or c.issued_on
            late = c.issued_on > entered and not (c.confirmed_on and c.issued_on <= c.confirmed_on <= day)
            gone = c.withdrawn_from is not None and c.withdrawn_from <= day
            if task in c.tasks and c.issued_on <= day <= last and not late and not gone:
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
            return 1, 1, 1, 12, 0
        return (
            max(r.observations for r in asked),
            max(r.mentors for r in asked),
            max(r.days for r in asked),
            min(r.valid_months for r in asked),
            max(r.beside_first for r in asked),
        )

    def reaches_outside(self, person: str, barred: str, task: str, at: datetime) -> bool:
        """Whether signatures not older than 36 months, none of them by ``barred``, lead to an outside certificate or
        to one that a guest gave.
        """
        day = local_day(at, self.zone)
        reached: set[str] = set()
        more = {person}
        while more - reached:
            reached |= more
            passes = [p for who in reached for p in self.earlier(who, task, at)]
            recent = [p for p in passes if day <= add_months(local_day(p.happened_at, self.zone), OUTSIDE_MONTHS)]
            kept = [p for p in recent if p.observer != barred]
            if any(map(self.is_from_outside, kept)):
                return True
            more = {p.observer for p in kept}
        return any(self.is_certified(self.people[who], task, day) for who in reached)
