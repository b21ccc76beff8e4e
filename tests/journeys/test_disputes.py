"""A technician disputes an observation on a phone, and another manager settles it."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.board.house import House
from tests.factories.people import ManagerFactory
from tests.journeys.looking import look_at
from tests.journeys.steps import sign_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def seen(page: Page, name: str) -> None:
    """Look at the page; keep a picture where HOOKSIDE_PICTURES names a folder."""
    look_at(page)
    if folder := os.environ.get("HOOKSIDE_PICTURES"):
        page.screenshot(path=Path(folder) / f"{name}.png", full_page=True)


def test_an_observation_is_countersigned_another_disputed_and_a_manager_settles_it(phone: Page, house: House) -> None:
    other = ManagerFactory(workshop=house.workshop)
    sign_in(phone, house.tina)
    phone.goto("/people/mine/")
    phone.get_by_role("button", name="Countersign").first.click()
    expect(phone.get_by_text("Countersigned.", exact=True)).to_be_visible()
    phone.get_by_role("button", name="Countersign").first.locator("xpath=ancestor::li").get_by_role("link").click()
    seen(phone, "dispute")
    phone.get_by_label("What is wrong with it").fill("That was Rob, not me.")
    phone.get_by_role("button", name="Dispute this record").click()
    expect(phone.get_by_role("heading", name="Disputed, and not settled yet")).to_be_visible()
    seen(phone, "mine")
    phone.context.clear_cookies()
    sign_in(phone, other)
    phone.goto("/people/")
    seen(phone, "everyone")
    phone.get_by_role("link", name="Settle").click()
    seen(phone, "settle")
    phone.get_by_label("stands", exact=True).check()
    phone.get_by_label("Why").fill("Asked both: it was Tina.")
    phone.get_by_role("button", name="Settle").click()
    expect(phone.get_by_text("Settled.", exact=True)).to_be_visible()
    expect(phone.get_by_role("heading", name="Disputed records to settle")).to_have_count(0)
