"""Who belongs to the firm, on a phone: somebody new, a role, a last day, and two managers who let records go."""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.board.house import House
from tests.factories.bank import QuestionVersionFactory, pick_one
from tests.factories.people import PASSWORD, ManagerFactory, PersonFactory, RoleHeldFactory
from tests.journeys.conftest import Clock
from tests.journeys.looking import look_at
from tests.journeys.steps import sign_in
from training.core.questions.kinds import Topic
from training.people.models import Person

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def seen(page: Page, name: str) -> None:
    """Look at the page; keep a picture where HOOKSIDE_PICTURES names a folder."""
    look_at(page)
    if folder := os.environ.get("HOOKSIDE_PICTURES"):
        page.screenshot(path=Path(folder) / f"{name}.png", full_page=True)


def as_somebody_else(page: Page, person: Person) -> None:
    page.context.clear_cookies()
    sign_in(page, person)


def test_somebody_new_is_entered_given_a_role_and_leaves(phone: Page, house: House) -> None:
    sign_in(phone, house.manager)
    phone.goto("/people/")
    seen(phone, "everyone")
    phone.get_by_role("link", name="Enter somebody new").click()
    seen(phone, "join")
    for label, text in (("Given name", "Ada"), ("Family name", "Marek"), ("Name to sign in with", "ada")):
        phone.get_by_label(label).fill(text)
    phone.get_by_label("technician").check()
    phone.get_by_label("No, 18 or over").check()
    phone.get_by_role("button", name="Enter").click()
    expect(phone.get_by_text("Ada Marek is entered.")).to_be_visible()
    phone.get_by_role("link", name="Roles", exact=True).click()
    phone.get_by_label("checker").check()
    phone.get_by_label("Your password, again").fill("not it")
    phone.get_by_role("button", name="Change the roles").click()
    expect(phone.get_by_text("That is not your password. Nothing was recorded.")).to_be_visible()
    seen(phone, "roles")
    phone.get_by_label("Your password, again").fill(PASSWORD)
    phone.get_by_role("button", name="Change the roles").click()
    expect(phone.get_by_text("Role given: checker.")).to_be_visible()
    phone.get_by_role("link", name="Leaving day", exact=True).click()
    phone.get_by_label("Last day with the firm").fill("2026-03-31")
    phone.get_by_label("Your password, again").fill(PASSWORD)
    phone.get_by_role("button", name="Enter the leaving day").click()
    expect(phone.get_by_text("last day 31 Mar 2026")).to_be_visible()
    phone.goto(f"/people/{Person.objects.get(username='ada').pk}/leaving/")
    seen(phone, "leaving")


def test_two_managers_let_records_go_whose_time_is_over(phone: Page, house: House, clock: Clock) -> None:
    second = ManagerFactory(workshop=house.workshop)
    Person.objects.filter(pk=house.tina.pk).update(is_active=False, last_day=clock.now.date())
    clock.passes(days=365 * 2 + 20)
    sign_in(phone, house.manager)
    phone.goto("/left/")
    seen(phone, "leavers")
    phone.get_by_role("link", name="Erase").click()
    seen(phone, "erasure")
    phone.get_by_label("Your password, again").fill(PASSWORD)
    phone.get_by_role("button", name="Propose").click()
    expect(phone.get_by_text("Mona Brand proposes to erase")).to_be_visible()
    as_somebody_else(phone, second)
    phone.goto("/left/")
    phone.get_by_role("link", name="Erase").click()
    seen(phone, "erasure-confirmed")
    phone.get_by_label("Your password, again").fill(PASSWORD)
    phone.get_by_role("button", name="Confirm the erasure").click()
    expect(phone.get_by_text("Confirmed by two managers")).to_be_visible()
    seen(phone, "leavers-confirmed")


def test_roles_are_changed_by_keyboard_and_without_scripts(house: House, new_page: Callable[..., Page]) -> None:
    page = new_page(java_script_enabled=False)
    sign_in(page, house.manager)
    page.goto(f"/people/{house.rob.pk}/roles/")
    page.get_by_label("author").focus()
    page.keyboard.press("Space")
    page.get_by_label("Your password, again").focus()
    page.keyboard.type(PASSWORD)
    page.keyboard.press("Enter")
    expect(page.get_by_text("Role given: author.")).to_be_visible()


def test_whoever_guesses_is_told_to_wait_and_may_go_on_afterwards(phone: Page, house: House, clock: Clock) -> None:
    for _try in range(6):
        phone.goto("/people/sign-in/")
        phone.get_by_label("Username").fill(house.tina.username)
        phone.get_by_label("Password").fill("a guess")
        phone.get_by_role("button", name="Sign in").click()
    expect(phone.get_by_text("Too many tries. Wait 1 minute, then try again.")).to_be_visible()
    seen(phone, "too-many")
    clock.now += timedelta(seconds=61)
    sign_in(phone, house.tina)


def test_a_checker_sees_first_what_costs_a_life(phone: Page, house: House) -> None:
    checker = PersonFactory(workshop=house.workshop)
    RoleHeldFactory(person=checker, role="checker")
    for number, consequence in enumerate(("damage", "life", "injury"), 1):
        content = pick_one(f"new-{number}", consequence=consequence, stem=f"What costs {consequence}?")
        QuestionVersionFactory(
            question__group=house.workshop.group, question__ident=f"new-{number}", topic=Topic.RESCUE, content=content
        )
    sign_in(phone, checker)
    phone.goto(f"/bank/{house.workshop.slug}/acceptance/")
    expect(phone.get_by_text("Accept first what kills.")).to_be_visible()
    expect(phone.locator("label.option").first).to_contain_text("What costs life?")
    seen(phone, "acceptance")
