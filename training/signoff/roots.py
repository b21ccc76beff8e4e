"""What a mentor's authority for a task is rooted in: an outside certificate, and the signatures that lead to it."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from datetime import date, datetime

from training.core.permission.authority import OUTSIDE_MONTHS, Court
from training.core.permission.evidence import OutsideCertificate, PersonEvidence
from training.core.permission.validity import in_force
from training.core.trade.calendar import add_months, local_day
from training.people.mentors import certificates_for


@dataclass(frozen=True, slots=True, kw_only=True)
class Root:
    """``signers`` lead from the mentor outward, each observed by the next; none where it is the mentor's own.

    At their end stands an outside ``certificate``, or (None) the observation of a mentor from outside.
    """

    signers: tuple[str, ...]
    certificate: OutsideCertificate | None


def tasks_mentored(mentor: PersonEvidence, court: Court, at: datetime) -> list[str]:
    """The practical tasks that somebody's appointments as mentor name today at the court's workshop."""
    day = local_day(at, court.house.zone)
    held = [one for one in mentor.mentor_appointments if in_force(one, court.house.workshop, day)]
    return sorted({task for one in held for task in one.tasks}, key=lambda task: (len(task), task))


def root_of(mentor: str, task: str, at: datetime, court: Court) -> Root | None:
    """The shortest way from a mentor, by signatures that stand, to something from outside; None where none leads."""
    waiting: deque[tuple[str, tuple[str, ...]]] = deque([(mentor, ())])
    reached = {mentor}
    while waiting:
        person, chain = waiting.popleft()
        evidence = court.house.people.get(person)
        if evidence is None:
            continue
        if (certificate := _certificate(evidence, task, local_day(at, court.house.zone))) is not None:
            return Root(signers=chain, certificate=certificate)
        for signer, from_outside in _signers(evidence, task, at, court):
            if from_outside:
                return Root(signers=(*chain, signer), certificate=None)
            if signer not in reached:
                reached.add(signer)
                waiting.append((signer, (*chain, signer)))
    return None


def _certificate(person: PersonEvidence, task: str, day: date) -> OutsideCertificate | None:
    return max(certificates_for(person, task, day), key=lambda one: (one.issued_on, one.record), default=None)


def _signers(person: PersonEvidence, task: str, at: datetime, court: Court) -> list[tuple[str, bool]]:
    """Who signed what stands of somebody's own attempts, newest first, and whether they were from outside then."""
    day = local_day(at, court.house.zone)
    passed = court.made_alone(person, task, at=at, before=True, beside_first=0)
    recent = [one for one in passed if day <= add_months(local_day(one.happened_at, court.house.zone), OUTSIDE_MONTHS)]
    return [(one.observer, court.is_from_outside(one.observer, task, one.happened_at)) for one in reversed(recent)]
