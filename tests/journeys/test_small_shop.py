"""A shop of three on a phone: a mentor from outside, second signatures, the exception, and the card that says so."""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.board.three import LAST, Shop, cleared, make_shop, on
from tests.factories.people import PASSWORD
from tests.journeys.conftest import Clock
from tests.journeys.looking import look_at
from tests.journeys.steps import sign_in
from training.people.models import Person

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def shop(live_server: Any, clock: Clock) -> Shop:
    clock.now = on(0, 8)
    return make_shop()


def seen(page: Page, name: str) -> None:
    """Look at the page; keep a picture where HOOKSIDE_PICTURES names a folder."""
    look_at(page)
    if folder := os.environ.get("HOOKSIDE_PICTURES"):
        page.screenshot(path=Path(folder) / f"{name}.png", full_page=True)


def signed_in(new_page: Callable[..., Page], person: Person, **options: Any) -> Page:
    page = new_page(**options)
    sign_in(page, person)
    return page


def sign_second(page: Page) -> None:
    page.get_by_label("Your password, again").fill(PASSWORD)
    page.get_by_role("button", name="Sign as the second person").click()
    expect(page.get_by_text("Signed.", exact=True)).to_be_visible()


@pytest.mark.parametrize("script", [True, False], ids=["with script", "without script"])
def test_a_mentor_from_outside_is_appointed_and_the_second_signer_signs(
    script: bool, shop: Shop, new_page: Callable[..., Page]
) -> None:
    owner = signed_in(new_page, shop.mona, java_script_enabled=script)
    owner.goto(f"/people/{shop.olga.pk}/appoint-mentor/")
    owner.get_by_label("T1: Isolate and prove dead").check()
    owner.get_by_label("First day").fill(on(0).date().isoformat())
    owner.get_by_label("Last day").fill(LAST.isoformat())
    owner.get_by_label("Mentor from outside: works elsewhere").check()
    owner.get_by_label("Reason").fill("From the institute.")
    if script:
        seen(owner, "outside-form")
    owner.get_by_role("button", name="Appoint as mentor").click()
    expect(owner.get_by_text("Appointed as mentor.", exact=True)).to_be_visible()
    expect(owner.get_by_text("An outside certificate that names T1")).to_be_visible()
    if script:
        seen(owner, "outside-person")
    signer = signed_in(new_page, shop.sven, java_script_enabled=script)
    signer.goto("/people/")
    if script:
        seen(signer, "to-sign")
    signer.get_by_role("link", name="Read and sign").click()
    if script:
        seen(signer, "second-signature")
    sign_second(signer)
    owner.reload()
    expect(owner.get_by_text("signed by two people")).to_be_visible()


@pytest.mark.parametrize("script", [True, False], ids=["with script", "without script"])
def test_the_exception_is_proposed_by_the_owner_and_signed_by_the_second_signer(
    script: bool, shop: Shop, new_page: Callable[..., Page]
) -> None:
    owner = signed_in(new_page, shop.mona, java_script_enabled=script)
    owner.goto(f"/rules/{shop.workshop.slug}/")
    owner.get_by_role("link", name="Small-shop exception").click()
    if script:
        seen(owner, "small-shop-none")
    owner.get_by_label("All", exact=True).check()
    owner.get_by_label("First day").fill(on(0).date().isoformat())
    owner.get_by_label("Last day").fill(LAST.isoformat())
    owner.get_by_label("Reason").fill("One mentor here; Olga comes from the institute.")
    owner.get_by_role("button", name="Propose").click()
    expect(owner.get_by_text("Proposed, waits for a second person")).to_be_visible()
    signer = signed_in(new_page, shop.sven, java_script_enabled=script)
    signer.goto("/people/")
    signer.get_by_role("link", name="Read and sign").click()
    if script:
        seen(signer, "small-shop-sign")
    sign_second(signer)
    expect(signer.get_by_text("In force", exact=True)).to_be_visible()
    if script:
        seen(signer, "small-shop-in-force")


def test_the_card_says_what_it_rests_on_and_a_withdrawal_who_loses(
    shop: Shop, clock: Clock, new_page: Callable[..., Page]
) -> None:
    record = cleared(shop)
    clock.now = on(5)
    technician = signed_in(new_page, shop.tim)
    technician.goto("/tally/")
    expect(technician.get_by_text("Small-shop exception: one mentor")).to_be_visible()
    expect(technician.get_by_text("Signed by Mona B. and Hanna B.")).to_be_visible()
    seen(technician, "card")
    technician.goto(f"/board/{shop.workshop.slug}/{shop.tim.pk}/C/")
    seen(technician, "cell")
    clock.passes(minutes=1)
    owner = signed_in(new_page, shop.mona)
    owner.goto(f"/rules/{shop.workshop.slug}/small-shop/{record}/withdraw/")
    owner.get_by_label("Void from this day on").fill((on(5) - timedelta(days=1)).date().isoformat())
    owner.get_by_label("Why").fill("A second mentor came.")
    seen(owner, "small-shop-withdraw")
    owner.get_by_role("button", name="Show who is affected").click()
    expect(owner.get_by_text("Tim R., Isolate")).to_be_visible()
    seen(owner, "small-shop-affected")
    owner.get_by_role("button", name="Withdraw it").click()
    expect(owner.get_by_text("Withdrawn: void from")).to_be_visible()
    technician.goto("/tally/")
    expect(technician.get_by_text("Nothing yet")).to_be_visible()
