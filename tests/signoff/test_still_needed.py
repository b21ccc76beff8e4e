"""What pages say that a stand-down still needs is what ``decide`` waits for, also where its evidence falls later."""

from __future__ import annotations

from datetime import date, timedelta
from html import unescape

import pytest
from django.urls import reverse

from tests.board.house import NOW, House, make_house, observe, signed_in, stand_down
from tests.factories.people import ManagerFactory
from training.board.queries import decision_for
from training.core.permission.decision import Ground
from training.people import actions, disputing, standing_down
from training.people.fresh import judged
from training.people.models import Person
from training.people.queries import papers_written, stand_downs_now
from training.people.refusal import Refusal
from training.people.releasing import needs_of

pytestmark = [pytest.mark.django_db, pytest.mark.db]
HOUR = timedelta(hours=1)


@pytest.fixture
def house() -> House:
    return make_house()


@pytest.fixture
def other(house: House) -> Person:
    return ManagerFactory(workshop=house.workshop, given_name="Olga", family_name="Sund")


def release(house: House, number: int, hours: float, by: Person | None = None) -> int:
    at = NOW + hours * HOUR
    ended = standing_down.release(person=house.tina, record=number, reason="Seen again.", by=by or house.manager, at=at)
    return ended.number


def is_open(house: House, hours: float) -> bool:
    """Whether ``decide`` finds a stand-down open; the page and the list of open ones have to say the same."""
    at = NOW + hours * HOUR
    gaps = decision_for(house.tina, house.workshop, "A", at).gaps
    found = any(gap.ground is Ground.STOOD_DOWN for gap in gaps)
    assert bool(stand_downs_now(house.tina, at)) is bool(needs_of(house.tina, at)) is found
    return found


def needs(house: House, hours: float) -> str:
    (said,) = needs_of(house.tina, NOW + hours * HOUR).values()
    return " ".join(said)


def test_it_says_which_evidence_after_which_local_time_and_who_may_release(house: House, other: Person) -> None:
    stand_down(house, house.tina)
    assert is_open(house, 1)
    said = needs(house, 1)
    assert "a mentor saw Tina Olsen do alone after 2 Mar 2026, 10:00 (Europe/Berlin)" in said
    assert "1 release is still to be given: " in said
    assert {house.manager.full_name in said, other.full_name in said} == {True}


def test_after_an_incident_one_release_leaves_one_to_go_by_somebody_else(house: House, other: Person) -> None:
    number = stand_down(house, house.tina, incident=True).number
    assert "2 releases are still to be given, by as many people" in needs(house, 0.5)
    observe(house, house.tina, "T1", at=NOW + HOUR)
    release(house, number, 2)
    assert is_open(house, 3)
    said = needs(house, 3)
    assert f"1 release is still to be given: {other.full_name} may." in said
    assert "Fresh evidence is there" in said
    release(house, number, 4, other)
    assert not is_open(house, 5)


def test_where_nobody_may_release_it_says_so(house: House) -> None:
    stand_down(house, house.tina, job_given_by=house.manager)
    assert "nobody here may: it takes another manager" in needs(house, 1)


def test_a_release_whose_mentors_authority_falls_leaves_it_open_again(house: House, other: Person) -> None:
    number = stand_down(house, house.tina).number
    observe(house, house.tina, "T1", at=NOW + HOUR)
    ended = release(house, number, 2)
    assert not is_open(house, 3)
    mentoring = next(one for one in papers_written(house.mentor) if one.kind == "people.mentor_appointed")
    actions.withdraw(
        person=house.mentor, record=mentoring.number, from_day=date(2026, 3, 2), reason="Entered for somebody else.",
        by=house.manager, at=NOW + 3 * HOUR,
    )  # fmt: skip
    assert is_open(house, 4)
    assert f"Record {ended} count" in needs(house, 4)
    assert "what was seen then does not stand" in needs(house, 4)


def test_a_release_on_a_disputed_observation_falls_and_the_same_manager_may_release_on_a_new_one(
    house: House, other: Person
) -> None:
    number = stand_down(house, house.tina).number
    seen = observe(house, house.tina, "T1", at=NOW + HOUR)
    release(house, number, 2)
    disputing.dispute(person=house.tina, record=seen.number, what="That was not me.", at=NOW + 3 * HOUR)
    assert is_open(house, 4)
    with pytest.raises(Refusal, match="Nothing was seen"):
        release(house, number, 4)
    observe(house, house.tina, "T1", at=NOW + 5 * HOUR)
    again = release(house, number, 6)
    assert not is_open(house, 7)
    (found,) = judged(house.tina, NOW + 7 * HOUR)
    assert [one.record for one in found.counted] == [again]


def test_a_release_stands_again_once_the_disputed_observation_does(house: House, other: Person) -> None:
    number = stand_down(house, house.tina).number
    seen = observe(house, house.tina, "T1", at=NOW + HOUR)
    release(house, number, 2)
    disputed = disputing.dispute(person=house.tina, record=seen.number, what="Not me.", at=NOW + 3 * HOUR)
    assert is_open(house, 3.5)
    disputing.settle(
        person=house.tina, record=disputed.number, stands=True, reason="Max showed the sheet.", by=other,
        at=NOW + 4 * HOUR,
    )  # fmt: skip
    assert not is_open(house, 5)


def test_a_disputed_release_counts_for_nothing(house: House, other: Person) -> None:
    number = stand_down(house, house.tina).number
    observe(house, house.tina, "T1", at=NOW + HOUR)
    ended = release(house, number, 2)
    disputing.dispute(person=house.tina, record=ended, what="Nobody spoke with me.", at=NOW + 3 * HOUR)
    assert is_open(house, 4)


def test_a_medical_one_waits_for_a_new_medical_answer_and_tells_no_more(house: House) -> None:
    number = stand_down(house, house.tina, medical=True, reason="a secret of the body").number
    assert "a new medical answer entered after 2 Mar 2026, 10:00" in needs(house, 1)
    actions.enter_certificate(
        person=house.tina, certificate="medical", issuer="A doctor", issued_on=date(2026, 3, 2), through_day=None,
        by=house.manager, at=NOW + HOUR,
    )  # fmt: skip
    assert "Fresh evidence is there" in needs(house, 2)
    release(house, number, 3)
    assert not is_open(house, 4)


def test_the_page_of_the_release_and_ones_own_records_say_it(house: House, set_clock: None) -> None:
    number = stand_down(house, house.tina, at=NOW - HOUR).number
    page = reverse("people:release", args=[house.tina.pk, number])
    text = unescape(signed_in(house.manager).get(page).content.decode())
    assert "after 2 Mar 2026, 09:00 (Europe/Berlin)" in text
    own = unescape(signed_in(house.tina).get(reverse("people:mine")).content.decode())
    assert "after 2 Mar 2026, 09:00 (Europe/Berlin)" in own
