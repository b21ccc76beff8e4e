"""Whose observation counts: a mentor's authority for one task at one instant, judged with everything known now."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from training.core.permission.counting import Asked, Seen, most_demanding, seen
from training.core.permission.evidence import (
    Evidence,
    MentorAppointment,
    Observation,
    PersonEvidence,
    SmallShop,
    StandDown,
    Supervision,
)
from training.core.permission.release import is_open
from training.core.permission.rule_book import RuleBook
from training.core.permission.shape import misfits
from training.core.permission.validity import certificate_in_force, in_force, twice_signed
from training.core.permission.ways import Way, small_shop_for, ways_of
from training.core.trade.calendar import add_months, local_day

OUTSIDE_MONTHS = 36  # how old an outside certificate may be that carries a mentor's authority (DESIGN section 3)


class Refusal(StrEnum):
    """Why somebody may not observe; the shell turns each into a sentence."""

    SELF = "nobody signs for themselves"
    UNKNOWN = "not on record"
    UNREADABLE = "a record cannot be read"
    STOOD_DOWN = "stood down"
    NOT_APPOINTED = "not appointed as mentor for this task"
    NO_SIGN_OFF = "no valid sign-off of their own for this task"
    EACH_OTHER = "they signed each other's sign-off, and no outside certificate stands behind both"


@dataclass(frozen=True, slots=True, kw_only=True)
class House:
    """What authority is judged against: one workshop, its zone and opening day, everybody's evidence, the rule book.

    ``small_shops`` has to hold every small shop's exception of the workshop, whatever its days and signatures, as in
    ``Evidence``: which of them counts is judged here. Without them a mentor who was signed off by one has no authority.
    """

    workshop: str
    zone: str
    opened_on: date | None
    people: Mapping[str, PersonEvidence]
    rule_book: RuleBook
    small_shops: tuple[SmallShop, ...] = ()


def house_of(evidence: Evidence, rule_book: RuleBook) -> House:
    """The house that one person's evidence describes, the person included."""
    return House(
        workshop=evidence.workshop,
        zone=evidence.zone,
        opened_on=evidence.workshop_opened_on,
        people={**evidence.colleagues, evidence.of.person: evidence.of},
        rule_book=rule_book,
        small_shops=evidence.small_shops,
    )


def may_observe(mentor: str, person: str, task: str, at: datetime, house: House) -> tuple[Refusal, ...]:
    """Every reason why ``mentor`` may not observe ``person`` at ``task`` at ``at``; none when they may."""
    return Court(house).refusals(mentor, person, task, at)


class Court:
    """Judges observations of one house, each once. Only what lies strictly before an observation can carry it."""

    def __init__(self, house: House) -> None:
        self.house = house
        self._people = {key: one for key, one in house.people.items() if _is_sound(key, one)}
        self._small_shops = [one for one in house.small_shops if not misfits(one, SmallShop)]
        self._judged: dict[tuple[str, Observation], bool] = {}
        self._warmed: set[str] = set()

    def refusals(self, mentor: str, person: str, task: str, at: datetime) -> tuple[Refusal, ...]:
        """Every reason why ``mentor`` may not observe ``person`` at ``task`` at ``at``."""
        if mentor == person:
            return (Refusal.SELF,)
        evidence = self._people.get(mentor)
        if evidence is None:
            return (Refusal.UNREADABLE if mentor in self.house.people else Refusal.UNKNOWN,)
        self._warm(task)
        found = [*self._formal_refusals(evidence, task, at), *self._sign_off_refusals(evidence, person, task, at)]
        return tuple(found)

    def stands(self, person: str, observation: Observation) -> bool:
        """Whether a passed observation of ``person`` was made by somebody who might make it, at this workshop."""
        key = (person, observation)
        if key not in self._judged:
            self._judged[key] = _is_passed_attempt(observation, self.house.workshop) and not self.refusals(
                observation.observer, person, observation.task, observation.happened_at
            )
        return self._judged[key]

    def standing(self, person: PersonEvidence, task: str, *, at: datetime, before: bool) -> tuple[Observation, ...]:
        """Passed observations of a task up to ``at`` (strictly before it, if ``before``) that stand and that no later
        failed attempt takes away."""
        since = latest_failure(person.observations, task, at)
        candidates = {
            o
            for o in person.observations
            if o.task == task
            and (o.happened_at < at or (o.happened_at == at and not before))
            and (since is None or o.happened_at > since)
            and self.stands(person.person, o)
        }
        return tuple(sorted(candidates, key=lambda o: (o.happened_at, o.record)))

    def is_open(self, stand_down: StandDown, person: PersonEvidence, at: datetime) -> bool:
        """Whether a stand-down of a person is open at ``at``; what it was released on is judged here as well."""
        return is_open(stand_down, person, at, self.stands, self.house.zone)

    def made_alone(
        self, person: PersonEvidence, task: str, *, at: datetime, before: bool, beside_first: int
    ) -> tuple[Observation, ...]:
        """Passed attempts up to ``at`` that were made alone, after so many with the mentor beside; see ``standing``."""
        passed = self.standing(person, task, at=at, before=before)
        alone = tuple(o for o in passed if o.supervision is Supervision.ALONE)
        if beside_first == 0:
            return alone
        beside = sorted(o.happened_at for o in self.made_beside(person, task, at=at))
        if len(beside) < beside_first:
            return ()
        return tuple(o for o in alone if beside[beside_first - 1] < o.happened_at)

    def made_beside(self, person: PersonEvidence, task: str, *, at: datetime) -> set[Observation]:
        """Passed attempts with the mentor beside, strictly before ``at``, that stand; no failure takes them away."""
        of_task = (o for o in person.observations if o.task == task and o.happened_at < at)
        return {o for o in of_task if o.supervision is Supervision.BESIDE and self.stands(person.person, o)}

    def ways(self, person: str, task: str, asked: Asked, day: date) -> tuple[Way, ...]:
        """Every way that is open to a person on a day to be signed off for a task of which so much is asked."""
        shop = small_shop_for(self._small_shops, person=person, task=task, workshop=self.house.workshop, day=day)
        return ways_of(asked, shop)

    def seen(self, observation: Observation, valid_months: int) -> Seen:
        """An observation that stands, as it is counted."""
        outside = self.is_from_outside(observation.observer, observation.task, observation.happened_at)
        return seen(observation, valid_months, self.house.zone, outside=outside)

    def is_from_outside(self, mentor: str, task: str, at: datetime) -> bool:
        """Whether somebody is a mentor from outside for a task at ``at``, whose certificate carries their authority."""
        evidence, day = self._people.get(mentor), local_day(at, self.house.zone)
        if evidence is None or not any(a.outside for a in self._twice_signed(evidence, task, day)):
            return False
        return _certified(evidence, task, day)

    def _warm(self, task: str) -> None:
        """Judge all observations of a task, oldest first, so that each finds the earlier ones already judged."""
        if task in self._warmed:
            return
        self._warmed.add(task)
        all_of_task = [(p, o) for p, e in self._people.items() for o in e.observations if o.task == task]
        for person, observation in sorted(all_of_task, key=lambda pair: pair[1].happened_at):
            self.stands(person, observation)

    def _formal_refusals(self, mentor: PersonEvidence, task: str, at: datetime) -> list[Refusal]:
        day = local_day(at, self.house.zone)
        found = []
        if mentor.unreadable:
            found.append(Refusal.UNREADABLE)
        if any(self.is_open(s, mentor, at) for s in mentor.stand_downs):
            found.append(Refusal.STOOD_DOWN)
        if not self._appointments(mentor, task, day):
            found.append(Refusal.NOT_APPOINTED)
        return found

    def _appointments(self, mentor: PersonEvidence, task: str, day: date) -> list[MentorAppointment]:
        return [
            a
            for a in mentor.mentor_appointments
            if task in a.tasks and a.by != mentor.person and in_force(a, self.house.workshop, day)
        ]

    def _twice_signed(self, mentor: PersonEvidence, task: str, day: date) -> list[MentorAppointment]:
        return [a for a in self._appointments(mentor, task, day) if twice_signed(a, mentor.person, day)]

    def _sign_off_refusals(self, mentor: PersonEvidence, person: str, task: str, at: datetime) -> list[Refusal]:
        if self._certificate_carries(mentor, task, at) or self._signed_off(mentor, task, at, leaving_out=person):
            return []
        if not self._signed_off(mentor, task, at, leaving_out=""):
            return [Refusal.NO_SIGN_OFF]
        both = self._reaches_outside(mentor.person, task, at, {person}) and self._reaches_outside(
            person, task, at, {mentor.person}
        )
        return [] if both else [Refusal.EACH_OTHER]

    def _certificate_carries(self, mentor: PersonEvidence, task: str, at: datetime) -> bool:
        """An outside certificate that names the task stands in for the own sign-off of somebody whose appointment two
        people signed: of a mentor from outside, and of everybody in a workshop's first months.
        """
        day = local_day(at, self.house.zone)
        named = self._twice_signed(mentor, task, day)
        carried = bool(named) if self._in_first_months(day) else any(a.outside for a in named)
        return carried and _certified(mentor, task, day)

    def _in_first_months(self, day: date) -> bool:
        opened = self.house.opened_on
        return opened is not None and opened <= day <= add_months(opened, self.house.rule_book.bootstrap_months)

    def _signed_off(self, mentor: PersonEvidence, task: str, at: datetime, *, leaving_out: str) -> bool:
        asked, day = most_demanding(self.house.rule_book, task), local_day(at, self.house.zone)
        passed = self.made_alone(mentor, task, at=at, before=True, beside_first=asked.beside_first)
        kept = [self.seen(o, asked.valid_months) for o in passed if o.observer != leaving_out]
        return any(way.is_met(kept, day) for way in self.ways(mentor.person, task, asked, day))

    def _reaches_outside(self, person: str, task: str, at: datetime, passed_by: set[str]) -> bool:
        """Whether signatures lead from ``person`` to an outside certificate, or to an observation by somebody who was
        from outside then, by way of nobody in ``passed_by``.
        """
        day = local_day(at, self.house.zone)
        waiting, reached = [person], {person, *passed_by}
        while waiting:
            evidence = self._people[waiting.pop()]  # whose signature stands is known here
            if _certified(evidence, task, day):
                return True
            passed = self.made_alone(evidence, task, at=at, before=True, beside_first=0)
            signed = [o for o in passed if o.observer not in passed_by and self._recent(o, day)]
            if any(self.is_from_outside(o.observer, task, o.happened_at) for o in signed):
                return True
            signers = {o.observer for o in signed}
            waiting.extend(signers - reached)
            reached |= signers
        return False

    def _recent(self, observation: Observation, day: date) -> bool:
        return day <= add_months(local_day(observation.happened_at, self.house.zone), OUTSIDE_MONTHS)


def _is_sound(key: str, person: PersonEvidence) -> bool:
    """Whether somebody's evidence has its shape and is theirs; any other carries nothing."""
    return not misfits(person, PersonEvidence) and person.person == key


def latest_failure(observations: Iterable[Observation], task: str, at: datetime) -> datetime | None:
    """When the task was last failed, up to ``at``; at any workshop and whoever saw it."""
    failures = (
        o.happened_at
        for o in observations
        if o.task == task and o.happened_at <= at and o.passed is not True and o.supervision is not Supervision.WATCHED
    )
    return max(failures, default=None)


def _certified(person: PersonEvidence, task: str, day: date) -> bool:
    return any(task in c.tasks and certificate_in_force(c, OUTSIDE_MONTHS, day) for c in person.certificates)


def _is_passed_attempt(observation: Observation, workshop: str) -> bool:
    tried = observation.supervision is not Supervision.WATCHED and not observation.done_only
    return observation.passed is True and tried and observation.workshop == workshop
