"""A manager stands somebody down: their phone and the board say so on the next request, until it is released."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.board.house import House, observe
from tests.journeys.conftest import Clock
from tests.journeys.looking import look_at
from tests.journeys.steps import row_of, sign_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_a_stand_down_shows_on_the_next_request_and_a_release_brings_the_clearance_back(
    desk: Page, new_page: Callable[..., Page], house: House, clock: Clock
) -> None:
    phone, wall = new_page(), new_page(viewport={"width": 1280, "height": 800}, is_mobile=False, has_touch=False)
    sign_in(phone, house.tina)
    sign_in(wall, house.nina)
    wall.goto(f"/board/{house.workshop.slug}/")
    row = row_of(wall, house.tina)
    expect(row.get_by_text("may take")).to_have_count(2)
    expect(phone.get_by_text("May take")).to_have_count(2)

    sign_in(desk, house.manager)
    desk.locator(".menu summary").click()
    desk.locator(".menu").get_by_role("link", name="People and papers").click()
    look_at(desk)
    desk.get_by_role("link", name=f"Stand down {house.tina.full_name}").click()
    look_at(desk)
    desk.get_by_label("Cause").select_option(label="Seen to work otherwise than the procedure says")
    desk.get_by_label("In your words").fill("Worked without gloves at the bench.")
    desk.get_by_role("button", name="Stand down").click()
    expect(desk.get_by_text(f"{house.tina.full_name} is stood down from now on")).to_be_visible()

    phone.reload()
    expect(phone.locator(".word.stop")).to_have_text(["Stood down", "Stood down"])
    expect(phone.get_by_text("May take", exact=False)).to_have_count(0)
    look_at(phone)
    phone.goto("/tally/")
    expect(phone.get_by_text("Nothing yet")).to_be_visible()
    wall.reload()
    expect(row.get_by_text("not now")).to_have_count(2)
    assert "gloves at the bench" not in wall.content()

    clock.passes(minutes=5)
    desk.goto(f"/people/{house.tina.pk}/")
    look_at(desk)
    desk.get_by_role("link", name="Release").click()
    expect(desk.get_by_text("Nothing yet. A mentor observes a task, made alone, first.")).to_be_visible()
    look_at(desk)
    observe(house, house.tina, "T1", at=clock.now)
    clock.passes(minutes=5)
    desk.reload()
    expect(desk.get_by_text("watched practical task T1")).to_be_visible()
    desk.get_by_label("Reason").fill("Talked through and shown again.")
    desk.get_by_role("button", name="Release from a stand-down").click()
    expect(desk.get_by_text("Released.", exact=True)).to_be_visible()
    wall.reload()
    expect(row.get_by_text("may take")).to_have_count(2)
    phone.goto("/tally/")
    expect(phone.get_by_text(f"{house.tina.short_name} may take")).to_be_visible()
    expect(phone.locator(".word.safe")).to_have_count(2)
