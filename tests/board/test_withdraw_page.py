"""Before a paper is withdrawn the page lists everybody whose clearance changes and every observation that falls."""

from __future__ import annotations

from html import unescape

import pytest

from tests.board.house import NOW, START, WATCHED, House, signed_in
from training.board.cascade.queries import affected_by
from training.board.queries import decision_for
from training.core.permission.decision import Ground, Mode
from training.people.facts import MentorAppointed
from training.people.queries import papers_written
from training.records.models import Record

pytestmark = [pytest.mark.django_db, pytest.mark.db, pytest.mark.usefixtures("set_clock")]


def appointment_of_the_mentor(house: House) -> int:
    return next(one.number for one in papers_written(house.mentor) if isinstance(one.fact, MentorAppointed))


def address(house: House, record: int) -> str:
    return f"/withdraw/{house.mentor.pk}/{record}/"


def test_the_list_names_whoever_loses_and_what_falls_and_nothing_is_written(house: House) -> None:
    before = Record.objects.count()
    asked = {"from_day": START.date().isoformat(), "reason": "The course was for another task."}
    response = signed_in(house.manager).post(address(house, appointment_of_the_mentor(house)), asked)
    html = unescape(response.content.decode()).replace("\xa0", " ")
    assert response.status_code == 200
    assert "Tina O., Wash and move" in html
    assert "may take through 20 Mar → " in html
    assert "Tina O.: Task 1" in html
    assert "Max R." in html
    assert Record.objects.count() == before


def test_confirming_records_it_and_the_clearance_falls_as_was_told(house: House) -> None:
    record = appointment_of_the_mentor(house)
    told = affected_by(house.mentor, record, START.date(), at=NOW)
    assert {loss.person for loss in told.losses} == {"Tina O.", "Rob H."}
    asked = {"from_day": START.date().isoformat(), "reason": "The course was for another task.", "confirm": "1"}
    assert signed_in(house.manager).post(address(house, record), asked).status_code == 302
    decision = decision_for(house.tina, house.workshop, "A", NOW)
    assert (decision.mode, Ground.SIGN_OFF in {gap.ground for gap in decision.gaps}) == (Mode.NOT_CLEARED, True)


def test_from_a_day_after_the_observations_nothing_falls(house: House) -> None:
    told = affected_by(house.mentor, appointment_of_the_mentor(house), NOW.date(), at=NOW)
    assert (WATCHED < NOW, told.falls, told.losses) == (True, (), ())


def test_only_managers_of_the_group_see_it(house: House) -> None:
    page = address(house, appointment_of_the_mentor(house))
    seen = [signed_in(one).get(page).status_code for one in (house.manager, house.tina, house.foreign_manager)]
    assert seen == [200, 403, 404]


def test_what_cannot_be_withdrawn_so_is_said_beside_the_form(house: House) -> None:
    page = address(house, appointment_of_the_mentor(house))
    response = signed_in(house.manager).post(page, {"from_day": "2031-01-01", "reason": "x"})
    assert (response.status_code, "to today" in response.content.decode()) == (400, True)
    assert signed_in(house.manager).get(address(house, 1)).status_code == 404
