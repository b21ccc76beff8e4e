"""The small worlds that journeys go through, and a clock that stands until a test moves it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone

from tests.board.house import NOW, House, make_house
from tests.board.work_cast import Bay, make_bay
from tests.factories.bank import LOADED_AT, QuestionVersionFactory, accept_all
from tests.factories.people import PersonFactory, WorkshopFactory, WorksTowardsFactory
from training.bank.actions import put_in_force
from training.bank.rule_books import starting_book
from training.board import actions
from training.core.questions.kinds import Kind
from training.people.models import Person, Workshop


@dataclass
class Clock:
    """What views read as now."""

    now: datetime = NOW + timedelta(minutes=1)

    def passes(self, **time: float) -> None:
        """So much time goes by."""
        self.now += timedelta(**time)


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    """The live server runs in this process, so it reads the same clock."""
    standing = Clock()
    monkeypatch.setattr(timezone, "now", lambda: standing.now)
    return standing


@pytest.fixture
def house(live_server: Any, clock: Clock) -> House:
    """A workshop with people in every state, its clearances worked out."""
    made = make_house()
    actions.sweep(at=clock.now)
    return made


@pytest.fixture
def apprentice(live_server: Any, clock: Clock) -> Person:
    """Somebody who never signed in, at a workshop with one accepted question of each kind."""
    workshop = WorkshopFactory()
    _count_every_question(workshop)
    accept_all(workshop, [QuestionVersionFactory(question__group=workshop.group, kind=kind) for kind in Kind])
    person: Person = PersonFactory(
        workshop=workshop, given_name="Nora", family_name="Ahlgren", contract="apprentice", cautions_read_at=None
    )
    WorksTowardsFactory(person=person, job_type="B")
    return person


def _count_every_question(workshop: Workshop) -> None:
    """Put a rule book in force that limits no topic, so that a journey meets a question of each kind."""
    book = starting_book()
    for job_type in book["job_types"]:
        for asked in job_type["requirements"]:
            asked.get("recall", {}).pop("most_a_topic", None)
    put_in_force(workshop=workshop, book=book, by=PersonFactory(workshop=workshop), at=LOADED_AT)


@pytest.fixture
def bay(live_server: Any, clock: Clock) -> Bay:
    """People, papers and kit for a start of work of job type E."""
    return make_bay()
