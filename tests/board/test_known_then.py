"""The worked example of reliability.md section 3: one question, asked with three states of knowledge."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import transaction

from tests.board.house import AT_START, NOW, SOURCE, House, make_house
from tests.factories.bank import TaskVersionFactory
from tests.factories.people import ManagerFactory, PersonFactory, WorkshopFactory
from tests.factories.second import signed_second
from training.bank import actions as bank
from training.board.queries import board_of
from training.core.permission.decision import Decision, Ground, Mode
from training.people import actions as papers
from training.people import standing_down
from training.people.models import Person, Workshop
from training.records.actions import append
from training.records.queries import head_of, number_at
from training.signoff.facts import Observed

pytestmark = [pytest.mark.django_db, pytest.mark.db]
ASKED = datetime(2026, 3, 2, 10, 15, tzinfo=UTC)
READ_AT = datetime(2026, 3, 3, 12, tzinfo=UTC)


def instant(month: int, day: int, hour: int = 8, minute: int = 0) -> datetime:
    return datetime(2026, month, day, hour, minute, tzinfo=UTC)


def one_job_type() -> dict[str, object]:
    sign_off = {"task": "T1", "observations": 1, "mentors": 1, "days": 1, "valid_months": 6, "done_within_days": None}
    asked = [
        {"sign_off": sign_off, "sentence": "Seen once.", "source": SOURCE},
        {"appointed": {"valid_months": 12}, "sentence": "Appointed.", "source": SOURCE},
    ]
    job_type = {
        "key": "A", "title": "A", "says": "Invented.", "young_person": "no", "supervised": False, "at_start": AT_START,
        "requirements": asked,
    }  # fmt: skip
    return {"version": 1, "regime": "EU", "title": "One job type", "note": "", "job_types": [job_type]}


class Example:
    """The four records of the example, on a workshop that was made ready before the year began."""

    def __init__(self) -> None:
        ready = datetime(2026, 1, 2, 8, tzinfo=UTC)
        self.workshop: Workshop = WorkshopFactory(opened_on=date(2025, 12, 1))
        self.person: Person = PersonFactory(workshop=self.workshop)
        self.mentor: Person = PersonFactory(workshop=self.workshop)
        manager = ManagerFactory(workshop=self.workshop)
        TaskVersionFactory(group=self.workshop.group, ident="T1")
        bank.put_in_force(workshop=self.workshop, book=dict(one_job_type()), by=manager, at=ready)
        papers.enter_age(person=self.person, under_18=False, by=manager, at=ready)
        papers.enter_certificate(
            person=self.mentor, certificate="HV course", issuer="x", issued_on=date(2025, 10, 1), through_day=None,
            tasks=["T1"], by=manager, at=ready,
        )  # fmt: skip
        written = papers.appoint_mentor(
            person=self.mentor, tasks=["T1"], workshop=self.workshop, from_day=ready.date(),
            through_day=date(2026, 12, 31), reason="x", by=manager, at=ready,
        )  # fmt: skip
        signed_second(self.mentor, written, at=ready)
        self._observe(instant(1, 10, 9))
        papers.appoint(
            person=self.person, job_types=["A"], workshop=self.workshop, from_day=date(2026, 1, 12),
            through_day=date(2027, 1, 11), reason="x", by=manager, at=instant(1, 12),
        )  # fmt: skip
        standing_down.stand_down(
            person=self.person, job_types=None, reason="Near miss.", medical=False, by=manager, at=instant(3, 2, 11),
            happened_at=instant(3, 1, 16),
        )  # fmt: skip
        standing_down.stand_down(
            person=self.mentor, job_types=None, reason="Authority had lapsed.", medical=False, by=manager,
            at=instant(3, 3, 9), happened_at=instant(1, 5),
        )  # fmt: skip

    def _observe(self, at: datetime) -> None:
        fact = Observed(
            task="T1", version=1, workshop=self.workshop.key, steps=["done", "done"], judgement="ready", passed=True,
            note="", by=self.mentor.key,
        )  # fmt: skip
        with transaction.atomic():
            append(fact, chain_id=self.workshop.group.chain_id, about=self.person.key, at=at)

    def answer(self, known_at: datetime | None, asked: datetime = ASKED) -> Decision:
        number = None if known_at is None else number_at(self.workshop.group.chain_id, known_at)
        board = board_of(self.workshop, at=asked, read_at=READ_AT, known_at=number)
        return board[self.person.key]["A"]


def grounds(decision: Decision) -> set[Ground]:
    return {gap.ground for gap in decision.gaps}


def test_the_same_question_is_answered_by_what_was_known() -> None:
    example = Example()
    then = example.answer(known_at=ASKED)
    assert (then.mode, then.gaps) == (Mode.ALONE, ())
    assert grounds(example.answer(known_at=instant(3, 2, 11))) == {Ground.STOOD_DOWN}
    assert grounds(example.answer(known_at=instant(3, 3, 9))) == {Ground.STOOD_DOWN, Ground.SIGN_OFF}
    assert example.answer(known_at=None) == example.answer(known_at=instant(3, 3, 9))


def test_before_the_near_miss_happened_only_the_mentors_lapse_counts() -> None:
    example = Example()
    asked = instant(3, 1, 15, 59)
    assert grounds(example.answer(known_at=instant(3, 2, 11), asked=asked)) == set()
    assert grounds(example.answer(known_at=None, asked=asked)) == {Ground.SIGN_OFF}


def test_what_was_known_then_is_frozen() -> None:
    """P15: records written later never alter what is answered as known at an earlier number."""
    house: House = make_house()
    known_at = head_of(house.chain_id).number
    before = board_of(house.workshop, at=NOW, read_at=NOW, known_at=known_at)
    for minute, person in enumerate((house.tina, house.rob, house.mentor)):
        standing_down.stand_down(
            person=person, job_types=None, reason="x", medical=False, by=house.manager,
            at=NOW + timedelta(minutes=minute), happened_at=NOW - timedelta(days=30),
        )  # fmt: skip
    later = NOW + timedelta(hours=1)
    assert board_of(house.workshop, at=NOW, read_at=later, known_at=known_at) == before
    assert board_of(house.workshop, at=NOW, read_at=later) != before
