"""A mentor on a phone: who waits, an attempt that fails, one that passes, and a signature that is theirs alone."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.board.house import House
from tests.journeys.looking import look_at
from tests.journeys.steps import note_steps, sign, sign_in, watch
from training.records.models import Record
from training.signoff.facts import Observed

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def observations() -> int:
    return Record.objects.filter(kind=Observed.kind).count()


@pytest.fixture
def mentor(phone: Page, house: House) -> Page:
    """The mentor's list, found through the menu."""
    sign_in(phone, house.mentor)
    phone.locator(".menu summary").tap()
    phone.locator(".menu").get_by_role("link", name="Watch and sign").tap()
    expect(phone.locator("#waiting")).to_be_visible()
    return phone


def test_the_list_says_who_waits_for_which_task_and_never_the_mentor(mentor: Page, house: House) -> None:
    look_at(mentor)
    for title in ("Task 1", "Task 2"):
        expect(mentor.get_by_role("button", name=f"Watch {house.rob.full_name}: {title}")).to_be_visible()
    expect(mentor.get_by_role("button", name=f"Watch {house.mentor.full_name}")).to_have_count(0)
    expect(mentor.get_by_role("button", name=f"Watch {house.tina.full_name}")).to_have_count(0)


def test_a_prompted_critical_step_does_not_pass_and_the_person_waits_on(mentor: Page, house: House) -> None:
    before = observations()
    watch(mentor, house.rob, "Task 2")
    expect(mentor.get_by_role("group", name="Step 2", exact=True)).to_contain_text("Critical step")
    look_at(mentor)
    note_steps(mentor, "done", "prompted")
    expect(mentor.get_by_text("This attempt does not pass")).to_be_visible()
    expect(mentor.get_by_text("Critical step 2 was prompted.")).to_be_visible()
    look_at(mentor)
    sign(mentor)
    expect(mentor.get_by_role("heading", name="Signed")).to_be_visible()
    assert observations() == before + 1
    mentor.goto("/watch/")
    expect(mentor.get_by_role("button", name=f"Watch {house.rob.full_name}: Task 2")).to_be_visible()


def test_a_wrong_password_signs_nothing_and_the_right_one_does(mentor: Page, house: House) -> None:
    before = observations()
    watch(mentor, house.rob, "Task 2")
    note_steps(mentor, "done", "done")
    expect(mentor.get_by_text("This attempt passes")).to_be_visible()
    sign(mentor, "not my password")
    expect(mentor.get_by_text("That is not your password. Nothing was signed.")).to_be_visible()
    look_at(mentor)
    assert observations() == before
    sign(mentor)
    expect(mentor.get_by_role("heading", name="Signed")).to_be_visible()
    expect(mentor.get_by_text(f"signed by {house.mentor.full_name}")).to_be_visible()
    assert observations() == before + 1
    mentor.get_by_role("link", name="Who is waiting next").tap()
    expect(mentor.locator("#waiting")).to_be_visible()
    expect(mentor.get_by_role("button", name=f"Watch {house.rob.full_name}: Task 2")).to_have_count(0)


def test_what_was_noted_is_kept_and_an_open_step_cannot_be_signed(mentor: Page, house: House) -> None:
    watch(mentor, house.rob, "Task 1")
    mentor.get_by_role("group", name="Step 1", exact=True).get_by_label("done").check()
    mentor.get_by_label("Note").fill("Calm and in order.")
    mentor.get_by_role("button", name="Keep for now").tap()
    expect(mentor.get_by_text("Nothing is on record until you sign.")).to_be_visible()
    mentor.goto("/watch/")
    mentor.get_by_role("link", name=f"{house.rob.full_name}: Task 1").tap()
    expect(mentor.get_by_role("group", name="Step 1", exact=True).get_by_label("done")).to_be_checked()
    mentor.get_by_role("button", name="Go to signing").tap()
    expect(mentor.get_by_text("2. Measure every pair").first).to_be_visible()
    expect(mentor.get_by_label("Your password, again")).to_have_count(0)
