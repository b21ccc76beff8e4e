"""Every page that a menu leads to, on a phone and at a desk, by day and in the dark: readable and within reach."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from tests.board.house import NOW, House, answer
from tests.factories.equipment import LABELS, in_service
from tests.journeys.looking import look_at
from tests.journeys.steps import sign_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
DESK = {"viewport": {"width": 1280, "height": 800}, "is_mobile": False, "has_touch": False}


@pytest.mark.parametrize(
    ("who", "screen"),
    [
        ("manager", {"color_scheme": "light"}),
        ("manager", {"color_scheme": "dark"}),
        ("manager", DESK),
        ("mentor", {"color_scheme": "dark"}),
        ("rob", {"color_scheme": "light"}),
    ],
    ids=["manager on a phone", "manager in the dark", "manager at a desk", "mentor in the dark", "apprentice"],
)
def test_every_page_of_the_menu_is_readable_and_within_reach(
    who: str, screen: dict[str, object], house: House, new_page: Callable[..., Page]
) -> None:
    for kind in LABELS:
        in_service(house.workshop, kind, by=house.manager, at=NOW - timedelta(days=1))
    page = new_page(**screen)
    page.goto("/")
    look_at(page)
    sign_in(page, getattr(house, who))
    look_at(page)
    places = [str(link.get_attribute("href")) for link in page.locator(".menu nav a").all()]
    assert len(places) >= 8
    for place in places:
        answered = page.goto(place)
        assert answered is not None
        assert answered.status == 200
        look_at(page)


def test_the_pages_behind_the_menu_are_readable_and_within_reach(phone: Page, house: House) -> None:
    item = in_service(house.workshop, "gloves", by=house.manager, at=NOW - timedelta(days=1))
    unsafe = answer(house, house.rob, house.questions[0], at=NOW - timedelta(minutes=9), right=False)
    sign_in(phone, house.manager)
    person, site = f"/people/{house.rob.pk}", house.workshop.slug
    for place in (
        *(f"{person}/{page}/" for page in ("appoint", "appoint-mentor", "stand-down")),
        *(f"{person}/paper/{page}/" for page in ("certificate", "instruction", "age")),
        *(f"/kit/{site}/{page}" for page in (f"{item.pk}/", "add/", "add/?kind=gloves", "add/?kind=lift")),
        *(f"/work/{site}/?job_type={key}" for key in ("A", "B")),
    ):
        answered = phone.goto(place)
        assert (place, answered and answered.status) == (place, 200)
        look_at(phone)
    phone.get_by_text("Menu").tap()
    phone.get_by_role("button", name="Sign out").tap()
    expect(phone.get_by_label("Username")).to_be_visible()
    sign_in(phone, house.mentor)
    phone.goto(f"/watch/talk/{house.rob.pk}/{unsafe.number}/")
    expect(phone.get_by_role("button", name="Record the talk-through")).to_be_visible()
    look_at(phone)
