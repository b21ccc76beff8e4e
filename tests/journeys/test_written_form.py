"""The written form of an appointment, printed: one sheet of A4 with all that has to stand on it."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.board.house import House
from tests.journeys.conftest import Clock
from tests.journeys.steps import sign_in
from training.people import actions
from training.people.facts import MentorAppointed
from training.people.queries import papers_written

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PAGE_OF_PDF = re.compile(rb"/Type\s*/Page\b(?!s)")
SAYS_OF_A_VEHICLE = re.compile(r"\b(dead|safe|cleared|voltage[- ]free|de-energi[sz]ed)\b", re.I)


def printed(page: Page, name: str) -> int:
    """How many sheets of A4 the page prints on; keep it where HOOKSIDE_PICTURES names a folder."""
    made = page.pdf(format="A4", print_background=True)
    if folder := os.environ.get("HOOKSIDE_PICTURES"):
        (Path(folder) / f"{name}.pdf").write_bytes(made)
    return len(PAGE_OF_PDF.findall(made))


def full_form(house: House, clock: Clock) -> int:
    """An appointment with as much on it as one of an ordinary case has."""
    return actions.appoint(
        person=house.nina, job_types=["A", "B"], workshop=house.workshop, from_day=clock.now.date(),
        through_day=date(2026, 12, 31), reason="Course with assessed practical, two observations by Max Ruth, "
        "talk with both on 27 February about what is left out.", by=house.manager, at=clock.now,
        vehicle_families=["Compact electric car", "Delivery van, 400 V", "Plug-in hybrid"],
        may_not=["Opened packs", "Trucks and buses", "Live measurement", "Crash and flooded vehicles"],
    ).number  # fmt: skip


@pytest.fixture
def paper(new_page: Callable[..., Page], house: House) -> Page:
    desk = new_page(viewport={"width": 1000, "height": 1300}, is_mobile=False, has_touch=False)
    sign_in(desk, house.manager)
    return desk


def test_an_appointment_prints_on_one_sheet_with_lines_to_sign_and_says_nothing_of_a_vehicle(
    paper: Page, house: House, clock: Clock
) -> None:
    paper.goto(f"/people/{house.nina.pk}/appointment/{full_form(house, clock)}/")
    paper.emulate_media(media="print")
    said = paper.locator("main").inner_text()
    for needed in (
        "About a person, not a vehicle", "Nina Vogt", "2 Mar 2026", "31 Dec 2026", "Wash and move", "Isolate",
        "Delivery van, 400 V", "May not", "Live measurement", "Local codes and licensed practice", "Mona Brand",
        "The vehicle maker's procedure",
    ):  # fmt: skip
        assert needed in said, needed
    assert paper.locator(".signing").count() == 2
    without_caution = said.replace(paper.locator(".caution").inner_text(), "")
    assert SAYS_OF_A_VEHICLE.findall(without_caution) == []
    expect(paper.locator(".menu")).to_be_hidden()
    assert printed(paper, "appointment") == 1


def test_that_of_a_mentor_prints_on_one_sheet_too(paper: Page, house: House) -> None:
    record = next(one.number for one in papers_written(house.mentor) if isinstance(one.fact, MentorAppointed))
    paper.goto(f"/people/{house.mentor.pk}/appointment/{record}/")
    paper.emulate_media(media="print")
    assert paper.locator(".signing").count() == 3
    assert printed(paper, "appointment-mentor") == 1
