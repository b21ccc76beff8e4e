"""A fixed cast with known powers: two managers, a technician and an apprentice of one group, and a stranger."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.test import Client

from tests.factories.people import ManagerFactory, PersonFactory, WorkshopFactory
from training.core.permission.evidence import Observation, PersonEvidence
from training.people import actions, standing_down
from training.people.fresh import Judged, judge
from training.people.models import Person, Workshop
from training.people.queries import papers_of

AT = datetime(2026, 3, 2, 9, tzinfo=UTC)
TODAY = date(2026, 3, 2)


@dataclass(frozen=True)
class Cast:
    workshop: Workshop
    manager: Person
    other_manager: Person
    technician: Person
    apprentice: Person
    stranger: Person
    foreign_manager: Person


def make_cast() -> Cast:
    """Everybody of the first five in one group, the last two in another."""
    workshop = WorkshopFactory()
    elsewhere = WorkshopFactory()
    return Cast(
        workshop=workshop,
        manager=ManagerFactory(workshop=workshop),
        other_manager=ManagerFactory(workshop=workshop),
        technician=PersonFactory(workshop=workshop),
        apprentice=PersonFactory(workshop=workshop, contract=Person.Contract.APPRENTICE),
        stranger=PersonFactory(workshop=elsewhere),
        foreign_manager=ManagerFactory(workshop=elsewhere),
    )


def papers(person: Person, known_at: int | None = None) -> PersonEvidence:
    return papers_of([person.key], chain_id=person.group.chain_id, known_at=known_at)[person.key]


SEEN = 1  # what a release stands on is looked for by an app above this one; see tests/signoff for the real thing


def seen_at_once(person: Person, at: datetime) -> tuple[Judged, ...]:
    """Right after each stand-down a mentor saw the person, and record ``SEEN`` says so."""
    found = papers(person)
    seen = tuple(
        Observation(
            record=SEEN, happened_at=down.happened_at + timedelta(microseconds=1), task="T1", task_version=1,
            observer="mentor", passed=True, workshop=person.workshop.key,
        )
        for down in found.stand_downs
    )  # fmt: skip
    return judge(replace(found, observations=seen), at, lambda _person, _seen: True, person.workshop.zone)


def signed_in(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def later(minutes: int) -> datetime:
    return AT + timedelta(minutes=minutes)


def appoint(cast: Cast, **changed: Any) -> Any:
    """A right appointment of the technician, with some of it changed."""
    right: dict[str, Any] = {
        "person": cast.technician,
        "job_types": ["B", "A"],
        "workshop": cast.workshop,
        "from_day": TODAY,
        "through_day": date(2027, 3, 1),
        "reason": "Course and observations seen.",
        "by": cast.manager,
        "at": AT,
    }
    return actions.appoint(**(right | changed))


def stand_down(cast: Cast, **changed: Any) -> Any:
    """A right stand-down of the technician by the apprentice, with some of it changed."""
    right: dict[str, Any] = {
        "person": cast.technician,
        "job_types": None,
        "reason": "Worked without a visor.",
        "medical": False,
        "by": cast.apprentice,
        "at": AT,
    }
    return standing_down.stand_down(**(right | changed))
