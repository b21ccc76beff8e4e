"""Nobody is cleared after their last day: not by what needs no appointment, not by an answer worked out before."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from tests.board.house import NOW, House
from tests.factories.people import ManagerFactory
from training.board.queries import board_of, decision_for
from training.core.permission.decision import Decision, Ground, Mode
from training.people.leaving import close_left, enter_leaving_day
from training.people.models import Person
from training.records.queries import head_of

pytestmark = [pytest.mark.django_db, pytest.mark.db]
LAST = date(2026, 3, 10)
MIDNIGHT = datetime(2026, 3, 10, 23, tzinfo=UTC)  # Berlin


def leaves(house: House, last_day: date | None = LAST) -> int:
    return enter_leaving_day(person=house.tina, last_day=last_day, by=house.manager, at=NOW).number


def answer(house: House, job_type: str, at: datetime, known_at: int | None = None) -> Decision:
    tina = Person.objects.get(pk=house.tina.pk)
    if known_at is None:
        return decision_for(tina, house.workshop, job_type, at)
    return board_of(house.workshop, at=at, read_at=NOW, known_at=known_at)[tina.key][job_type]


@pytest.mark.parametrize("job_type", ["A", "B"])
def test_a_clearance_ends_with_the_last_day(house: House, job_type: str) -> None:
    assert (answer(house, job_type, NOW).until or NOW) > MIDNIGHT
    leaves(house)
    found = answer(house, job_type, NOW)
    assert (found.mode, found.until) == (Mode.ALONE, MIDNIGHT)
    assert found.ends_by is not None
    assert found.ends_by.by_day == LAST


@pytest.mark.parametrize("job_type", ["A", "B"])
def test_after_it_nothing_clears_and_the_gap_names_the_record(house: House, job_type: str) -> None:
    record = leaves(house)
    assert answer(house, job_type, MIDNIGHT - timedelta(minutes=1)).mode is Mode.ALONE
    found = answer(house, job_type, MIDNIGHT)
    assert (found.mode, found.until, found.supervisors) == (Mode.NOT_CLEARED, None, ())
    assert found.gaps[0].ground is Ground.APPOINTMENT
    assert found.gaps[0].records == (record,)


def test_whoever_has_left_supervises_nobody(house: House) -> None:
    """Rob lacks only his own sign-offs: Tina could stand beside him."""
    later = MIDNIGHT + timedelta(hours=9)
    assert board_of(house.workshop, at=later, read_at=later)[house.rob.key]["A"].mode is Mode.SUPERVISED
    leaves(house)
    assert board_of(house.workshop, at=NOW, read_at=NOW)[house.rob.key]["A"].until == MIDNIGHT
    close_left(at=later)
    board = board_of(house.workshop, at=later, read_at=later)
    assert board[house.rob.key]["A"].mode is Mode.NOT_CLEARED
    assert house.tina.key not in board


def test_as_known_before_it_was_entered_the_answer_stays_what_it_was(house: House) -> None:
    before, then = head_of(house.chain_id).number, MIDNIGHT + timedelta(hours=9)
    was = answer(house, "A", then, known_at=before)
    leaves(house)
    assert answer(house, "A", then, known_at=before) == was
    assert was.mode is Mode.ALONE
    assert answer(house, "A", then, known_at=before + 1).mode is Mode.NOT_CLEARED


def test_a_leaving_day_taken_back_ends_nothing(house: House) -> None:
    until = answer(house, "A", NOW).until
    leaves(house)
    leaves(house, None)
    assert answer(house, "A", NOW).until == until


def test_a_mentor_signs_for_nobody_after_their_last_day(house: House) -> None:
    ManagerFactory(workshop=house.workshop)
    enter_leaving_day(person=house.mentor, last_day=date(2026, 1, 10), by=house.manager, at=NOW)
    found = answer(house, "A", NOW)  # watched on 12 January
    assert Ground.SIGN_OFF in {gap.ground for gap in found.gaps}
