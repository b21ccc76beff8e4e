"""A manager withdraws a mentor's appointment after seeing who is affected, prints a form, and asks about the past."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.board.house import START, House
from tests.journeys.conftest import Clock
from tests.journeys.looking import look_at
from tests.journeys.steps import sign_in
from training.people.facts import Appointed, MentorAppointed
from training.people.queries import papers_written

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def seen(page: Page, name: str) -> None:
    """Look at the page; keep a picture where HOOKSIDE_PICTURES names a folder."""
    look_at(page)
    if folder := os.environ.get("HOOKSIDE_PICTURES"):
        page.screenshot(path=Path(folder) / f"{name}.png", full_page=True)


def test_a_withdrawal_shows_who_is_affected_before_it_is_confirmed(phone: Page, house: House) -> None:
    sign_in(phone, house.manager)
    phone.goto(f"/people/{house.mentor.pk}/")
    seen(phone, "person")
    phone.get_by_role("link", name="Withdraw").last.click()
    phone.get_by_label("Void from this day on").fill(START.date().isoformat())
    phone.get_by_label("Why").fill("The course named another task.")
    seen(phone, "withdraw-form")
    phone.get_by_role("button", name="Show who is affected").click()
    expect(phone.get_by_role("heading", name="Observations that fall")).to_be_visible()
    expect(phone.get_by_text("Tina O., Wash and move")).to_be_visible()
    seen(phone, "withdraw-affected")
    phone.get_by_role("button", name="Withdraw it").click()
    expect(phone.get_by_text("Withdrawn.", exact=True)).to_be_visible()
    phone.goto(f"/board/{house.workshop.slug}/{house.tina.pk}/A/")
    expect(phone.get_by_text("May not take yet")).to_be_visible()


def test_the_written_form_and_the_form_to_appoint_stand_on_a_phone(phone: Page, house: House) -> None:
    sign_in(phone, house.manager)
    record = next(one.number for one in papers_written(house.tina) if isinstance(one.fact, Appointed))
    phone.goto(f"/people/{house.tina.pk}/appointment/{record}/")
    expect(phone.get_by_role("heading", name="Written appointment")).to_be_visible()
    seen(phone, "appointment")
    mentor = next(one.number for one in papers_written(house.mentor) if isinstance(one.fact, MentorAppointed))
    phone.goto(f"/people/{house.mentor.pk}/appointment/{mentor}/")
    expect(phone.get_by_role("heading", name="May observe")).to_be_visible()
    seen(phone, "appointment-mentor")
    phone.goto(f"/people/{house.nina.pk}/appoint/")
    seen(phone, "appoint")
    phone.goto(f"/people/{house.nina.pk}/stand-down/")
    seen(phone, "stand-down")


def test_a_past_moment_is_asked_for_and_answered_with_its_records(phone: Page, house: House, clock: Clock) -> None:
    sign_in(phone, house.manager)
    phone.goto("/")
    phone.locator(".menu summary").click()
    phone.locator(".menu").get_by_role("link", name="Any past moment").click()
    phone.get_by_label("Verify the seal as well").check()
    phone.get_by_role("button", name="Ask").click()
    expect(phone.get_by_text("Every record verifies.")).to_be_visible()
    seen(phone, "past")
    phone.get_by_role("link", name="may take through").first.click()
    expect(phone.get_by_role("heading", name="Records it stands on")).to_be_visible()
    seen(phone, "past-answer")


def test_a_mentor_says_how_close_they_stand(phone: Page, house: House) -> None:
    sign_in(phone, house.mentor)
    phone.goto("/watch/")
    phone.get_by_role("button", name="Watch").first.click()
    expect(phone.get_by_text("How close do you stand?")).to_be_visible()
    seen(phone, "observe")
    phone.get_by_label("They watch, I do it").check()
    phone.get_by_role("button", name="Go to signing").click()
    expect(phone.get_by_text("On record as watched; it counts for nothing")).to_be_visible()
    seen(phone, "sign-watched")
