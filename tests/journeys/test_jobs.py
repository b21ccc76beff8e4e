"""A job on a phone: readings typed pair by pair, a stop, an absence; and the manager's crews by one tap."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from tests.board.job_cast import planned_job, read, start
from tests.board.work_cast import Bay
from tests.journeys.conftest import Clock
from tests.journeys.looking import look_at
from tests.journeys.steps import sign_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_a_lead_locks_off_types_every_reading_and_stops(phone: Page, bay: Bay, clock: Clock) -> None:
    key = planned_job(bay, tasks=[])
    assert start(bay, key).status_code == 302
    sign_in(phone, bay.lead)
    phone.goto(reverse("board:job", args=[bay.workshop.slug, key]))
    expect(phone.locator("#stands")).to_contain_text("Not yet proved dead")
    look_at(phone)
    phone.get_by_label("Number on the lock").fill("17")
    phone.get_by_role("button", name="My lock is on").tap()
    expect(phone.locator("#stands")).to_contain_text("own lock on: 17")
    clock.passes(minutes=6)
    phone.reload()
    for box in phone.locator("form:has(button:text('Put the readings on record')) input[inputmode=decimal]").all():
        box.fill("0.4")
    phone.get_by_label("The maker's wait, in minutes").fill("5")
    for name, shown in (("source", "500"), ("before", "499"), ("after", "501")):
        for current in ("DC", "AC"):
            phone.locator(f"[name=measure-{name}_{current}_0]").fill(shown)
    for current in ("DC", "AC"):
        phone.locator(f"[name=measure-maker_{current}_0]").fill("5")
    look_at(phone)
    phone.get_by_role("button", name="Put the readings on record").tap()
    expect(phone.locator("#stands")).to_contain_text("Under way")
    look_at(phone)
    phone.get_by_text("Stop the work").tap()
    phone.get_by_label("What was seen").fill("Smell at the inverter")
    phone.get_by_role("button", name="Stop", exact=True).tap()
    expect(phone.locator("#stands")).to_contain_text("Nobody works on")
    look_at(phone)
    assert read(bay, key).state.proof is None


def test_a_manager_names_a_crew_by_one_tap(phone: Page, bay: Bay) -> None:
    key = planned_job(bay, lead="", second_person="", tasks=[])
    sign_in(phone, bay.manager)
    phone.goto(reverse("board:crews", args=[bay.workshop.slug]))
    look_at(phone)
    phone.get_by_role("button", name="Name ").first.tap()
    expect(phone.get_by_text("The crew is named")).to_be_visible()
    assert read(bay, key).lead == bay.lead.key
    phone.goto(reverse("board:plan_job", args=[bay.workshop.slug]))
    look_at(phone)
