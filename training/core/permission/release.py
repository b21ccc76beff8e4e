"""What ends a stand-down: a recorded release that stands on fresh evidence, by somebody with no part in it.

Never time, never the person concerned, never whoever gave the job on which it happened; after an incident two people.
Fresh is what was seen after the trigger: an observed attempt that stands, or for a medical one a new medical answer
(competence by fresh demonstration, after 14 CFR 135.301(b) and NFPA 70E 110.2 as quoted in the house's notes).
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from training.core.permission.evidence import Observation, PersonEvidence, Release, StandDown, Supervision
from training.core.trade.calendar import local_day

Stands = Callable[[str, Observation], bool]
"""Whether a person's observation was made by somebody who might make it."""
MEDICAL = "medical"


def is_open(stand_down: StandDown, person: PersonEvidence, at: datetime, stands: Stands, zone: str) -> bool:
    """Whether a stand-down has begun and is not ended. It never ages out."""
    return stand_down.happened_at <= at and not ended_by(stand_down, person, at, stands, zone)


def ended_by(
    stand_down: StandDown, person: PersonEvidence, at: datetime, stands: Stands, zone: str
) -> tuple[Release, ...]:
    """The releases that ended a stand-down by ``at``; none while it is open."""
    counting: dict[str, Release] = {}
    for release in sorted(stand_down.releases, key=lambda one: (one.happened_at, one.record)):
        if release.happened_at <= at and counts(release, stand_down, person, stands, zone):
            counting.setdefault(release.by, release)
    needed = people_asked(stand_down)
    return tuple(counting.values())[:needed] if len(counting) >= needed else ()


def people_asked(stand_down: StandDown) -> int:
    """How many people have to release it."""
    return 2 if stand_down.incident else 1


def may_release(by: str, stand_down: StandDown, person: str) -> bool:
    """Whether somebody has no part in it: neither the person concerned nor whoever gave the job."""
    return by not in ("", person, stand_down.job_given_by)


def counts(release: Release, stand_down: StandDown, person: PersonEvidence, stands: Stands, zone: str) -> bool:
    """Whether one release counts: by somebody with no part in it, after the trigger, on fresh evidence."""
    if not may_release(release.by, stand_down, person.person) or release.happened_at <= stand_down.happened_at:
        return False
    fresh = fresh_evidence(stand_down, person, release.happened_at, stands, zone)
    return any(number < release.record for number in fresh if number in release.evidence)


def fresh_evidence(
    stand_down: StandDown, person: PersonEvidence, before: datetime, stands: Stands, zone: str
) -> tuple[int, ...]:
    """The records that a release given at ``before`` may stand on, oldest first."""
    seen = [
        one.record
        for one in person.observations
        if stand_down.happened_at < one.happened_at < before
        and one.supervision is Supervision.ALONE
        and stands(person.person, one)
    ]
    since = local_day(stand_down.happened_at, zone)
    answers = [
        one.record
        for one in person.certificates
        if stand_down.medical and one.kind == MEDICAL and one.record > stand_down.record
        if (one.entered_on or one.issued_on) >= since and one.withdrawn_from is None
    ]
    return tuple(sorted({*seen, *answers}))
