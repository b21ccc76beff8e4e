"""How a stand-down stands, as clearances are decided: what it was released on, and what it still needs.

Which observations stand only apps above this one know; they say so at start.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from training.core.permission.evidence import PersonEvidence, Release, StandDown
from training.core.permission.release import Stands, counts, ended_by, fresh_evidence, people_asked
from training.people.models import Person


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """One stand-down at an instant. ``evidence``: the records on which a release given then may stand, oldest first.

    ``counted`` are the releases that count, one a person; ``fallen`` those that do not, or not any more.
    """

    stand_down: StandDown
    is_ended: bool
    evidence: tuple[int, ...]
    counted: tuple[Release, ...]
    fallen: tuple[Release, ...]

    @property
    def still_needed(self) -> int:
        """How many further people have to release it."""
        return 0 if self.is_ended else max(1, people_asked(self.stand_down) - len(self.counted))


Judging = Callable[[Person, datetime], Sequence[Judged]]
_judging: list[Judging] = []


def provide(judging: Judging) -> None:
    """Let the app that knows which observations stand judge all stand-downs of a person at an instant."""
    _judging.append(judging)


def judged(person: Person, at: datetime) -> tuple[Judged, ...]:
    """Every stand-down of a person, as ``decide`` takes it at ``at``; none where nobody can judge."""
    return tuple(one for judging in _judging for one in judging(person, at))


def judge(person: PersonEvidence, at: datetime, stands: Stands, zone: str) -> tuple[Judged, ...]:
    """Judge every stand-down of somebody by the core's own rule of what ends one."""
    return tuple(_judge(one, person, at, stands, zone) for one in person.stand_downs)


def _judge(stand_down: StandDown, person: PersonEvidence, at: datetime, stands: Stands, zone: str) -> Judged:
    counted: dict[str, Release] = {}
    for release in stand_down.releases:
        if release.happened_at <= at and counts(release, stand_down, person, stands, zone):
            counted.setdefault(release.by, release)
    fallen = [one for one in stand_down.releases if one not in counted.values() and one.by not in counted]
    return Judged(
        stand_down=stand_down,
        is_ended=bool(ended_by(stand_down, person, at, stands, zone)),
        evidence=fresh_evidence(stand_down, person, at, stands, zone),
        counted=tuple(counted.values()),
        fallen=tuple(fallen),
    )
