"""A rule book is changed by one manager, read by everybody, and confirmed by a second person."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.board.house import House
from tests.factories.people import ManagerFactory
from tests.journeys.looking import look_at
from tests.journeys.steps import sign_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def shows(page: Page, heading: str) -> None:
    expect(page.get_by_role("heading", name=heading, level=1)).to_be_visible()
    page.wait_for_load_state()
    look_at(page)


def test_one_manager_proposes_and_another_confirms(phone: Page, house: House, new_page: Callable[..., Page]) -> None:
    other = ManagerFactory(workshop=house.workshop, given_name="Ada", family_name="Quist")
    sign_in(phone, house.manager)
    phone.locator(".menu summary").click()
    phone.get_by_role("link", name="Rule book").click()
    shows(phone, "Rule book")
    phone.get_by_role("link", name="Propose a change").click()
    shows(phone, "Propose a change")

    phone.get_by_role("button", name="Change B").click()
    shows(phone, "Change B")
    phone.locator("summary").filter(has_text="First aid.").click()
    phone.get_by_label("At most so many months from issue").fill("12")
    look_at(phone)
    phone.get_by_role("button", name="Take this over").click()
    shows(phone, "Propose a change")
    expect(phone.get_by_text("after: at most 12 months from issue")).to_be_visible()

    phone.get_by_label("Reason").fill("A year is what the insurer asks for.")
    phone.get_by_role("button", name="See who gains and who loses").click()
    shows(phone, "Who gains and who loses")
    expect(phone.get_by_role("listitem").filter(has_text="Tina O.").filter(has_text="loses")).to_be_visible()
    phone.get_by_role("button", name="Propose it").click()
    shows(phone, "Rule book 2")
    expect(phone.get_by_role("button", name="Confirm rule book 2")).to_have_count(0)

    second = new_page()
    sign_in(second, other)
    second.goto(f"/rules/{house.workshop.slug}/")
    second.get_by_role("link", name="Rule book 2").click()
    shows(second, "Rule book 2")
    expect(second.get_by_role("listitem").filter(has_text="Tina O.").filter(has_text="loses")).to_be_visible()
    second.get_by_role("button", name="Confirm rule book 2").click()
    expect(second.get_by_text("It is in force.")).to_be_visible()
    expect(second.get_by_text("version 2")).to_be_visible()
    look_at(second)
    second.get_by_role("link", name="All versions").click()
    shows(second, "Rule books, all versions")


def test_it_goes_by_keyboard_and_at_a_desk(desk: Page, house: House) -> None:
    sign_in(desk, house.manager)
    desk.goto(f"/rules/{house.workshop.slug}/change/")
    shows(desk, "Propose a change")
    desk.get_by_role("button", name="Change the general part").press("Enter")
    shows(desk, "Change the general part")
    desk.get_by_label("Meters: months between calibrations").fill("6")
    desk.get_by_role("button", name="Take this over").press("Enter")
    shows(desk, "Propose a change")
    expect(desk.get_by_text("calibration months")).to_be_visible()
    desk.get_by_text("Paste or hand in a whole rule book").press("Enter")
    desk.get_by_label("Rule book as YAML or JSON").fill("job_types: [")
    desk.get_by_role("button", name="Read this rule book").press("Enter")
    expect(desk.get_by_role("alert")).to_contain_text("line 1")
    look_at(desk)


def test_it_goes_without_a_script_and_everybody_reads_it(house: House, new_page: Callable[..., Page]) -> None:
    page = new_page(java_script_enabled=False)
    sign_in(page, house.nina)
    page.goto(f"/rules/{house.workshop.slug}/")
    page.locator("summary").filter(has_text="Wash and move").click()
    expect(page.get_by_text("Seen once at T1.")).to_be_visible()
    expect(page.get_by_role("link", name="Propose a change")).to_have_count(0)
