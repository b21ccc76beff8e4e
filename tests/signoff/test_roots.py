"""What a mentor's authority is rooted in: their own outside certificate, or the signatures that lead to one."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta
from html import unescape

import pytest

from tests.board.house import NOW, START, House, make_house, make_mentor, observe, signed_in
from tests.factories.people import PersonFactory
from tests.factories.second import signed_second
from training.core.permission.authority import Court
from training.people import actions
from training.signoff.queries import house_of_workshop
from training.signoff.roots import Root, root_of, tasks_mentored

pytestmark = [pytest.mark.django_db, pytest.mark.db]
DAY = timedelta(days=1)


@pytest.fixture
def house() -> House:
    return make_house()


def court(house: House) -> Court:
    found = house_of_workshop(house.workshop)
    assert found is not None
    return Court(found)


def root(house: House, person_key: str, task: str = "T1", at: datetime = NOW + DAY) -> Root | None:
    return root_of(person_key, task, at, court(house))


def test_ones_own_outside_certificate_is_the_root(house: House) -> None:
    found = root(house, house.mentor.key)
    assert found is not None
    assert found.certificate is not None
    assert (found.signers, found.certificate.kind) == ((), "HV course")


def test_signatures_lead_from_one_to_the_next_and_the_shortest_way_is_told(house: House) -> None:
    make_mentor(house, house.tina, ["T1"], at=NOW)
    observe(house, house.rob, "T1", at=NOW + timedelta(hours=2), by=house.tina)
    found = root(house, house.rob.key)
    assert found is not None
    assert found.signers == (house.tina.key, house.mentor.key)
    observe(house, house.rob, "T1", at=NOW + timedelta(hours=3), by=house.mentor)
    nearer = root(house, house.rob.key)
    assert nearer is not None
    assert nearer.signers == (house.mentor.key,)


def test_a_mentor_from_outside_is_a_root(house: House) -> None:
    visitor = PersonFactory(workshop=house.workshop, given_name="Kurt", family_name="Wied")
    actions.enter_certificate(
        person=visitor, certificate="HV course", issuer="An institute", issued_on=date(2025, 9, 1), through_day=None,
        tasks=["T1"], by=house.manager, at=NOW,
    )  # fmt: skip
    written = actions.appoint_mentor(
        person=visitor, tasks=["T1"], workshop=house.workshop, from_day=NOW.date(), through_day=date(2026, 12, 31),
        reason="Observes for us.", by=house.manager, at=NOW, outside=True,
    )  # fmt: skip
    signed_second(visitor, written, at=NOW)
    assert root(house, house.nina.key) is None
    observe(house, house.nina, "T1", at=NOW + timedelta(hours=2), by=visitor)
    assert root(house, house.nina.key) == Root(signers=(visitor.key,), certificate=None)


@pytest.mark.parametrize("of", ["nobody", "a failed attempt", "themselves"])
def test_what_does_not_stand_leads_nowhere(house: House, of: str) -> None:
    if of == "a failed attempt":
        observe(house, house.nina, "T1", at=NOW, passed=False)
    if of == "themselves":
        observe(house, house.nina, "T1", at=NOW, by=house.nina)
    assert root(house, house.nina.key) is None
    assert root(house, "a stranger") is None


def test_a_certificate_older_than_36_months_is_no_root(house: House) -> None:
    """DESIGN's 36 months, as the core counts them: through 1 September 2028, and its own last day is before that."""
    assert root(house, house.mentor.key, at=START.replace(year=2028, month=8, day=30)) is not None
    assert root(house, house.mentor.key, at=START.replace(year=2028, month=9, day=2)) is None


def test_the_tasks_are_those_of_appointments_in_force(house: House) -> None:
    judged = court(house)
    assert tasks_mentored(judged.house.people[house.mentor.key], judged, NOW) == ["T1", "T2"]
    assert tasks_mentored(judged.house.people[house.tina.key], judged, NOW) == []
    assert tasks_mentored(judged.house.people[house.mentor.key], judged, NOW + 365 * DAY) == []


def test_the_mentors_page_says_it_in_a_line(house: House, set_clock: Callable[[datetime], None]) -> None:
    def said(who: str) -> str:
        text = signed_in(getattr(house, who)).get("/watch/").content.decode()
        return unescape(text).replace("\xa0", " ")

    make_mentor(house, house.tina, ["T2"], at=NOW)
    make_mentor(house, house.nina, ["T2"], at=NOW)
    assert "On your own outside certificate: HV course, issued 1 Sep 2025." in said("mentor")
    assert "On observations by Max R., who holds an outside certificate: HV course, issued 1 Sep 2025." in said("tina")
    assert "On nothing from outside" in said("nina")
    assert "rests on" not in said("rob")
