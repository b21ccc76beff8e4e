"""Start of work on a phone: no with everything that is missing, then yes with what it stood on."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from playwright.sync_api import Locator, Page, expect

from tests.board.work_cast import Bay
from tests.journeys.looking import look_at
from tests.journeys.steps import sign_in
from training.board.facts import WorkStarted
from training.records.models import Record

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def starts() -> int:
    return Record.objects.filter(kind=WorkStarted.kind).count()


def fill_in(page: Page, form: dict[str, Any]) -> None:
    """Answer every question of the form that is on the screen."""
    for name, value in form.items():
        field = page.locator(f"#start [name={name}]")
        if field.count() == 0 or field.first.get_attribute("type") == "hidden":
            continue
        _answer(field, value)


def _answer(field: Locator, value: Any) -> None:
    kind = field.first.evaluate("one => one.type || one.tagName")
    if kind == "checkbox":
        wanted = [str(one) for one in value] if isinstance(value, list) else [value]
        for each in field.all():
            each.set_checked(each.get_attribute("value") in wanted or wanted == ["on"])
    elif kind == "select-one":
        field.select_option(str(value))
    else:
        field.fill(str(value))


def test_no_with_everything_that_is_missing_and_then_yes(phone: Page, bay: Bay) -> None:
    client = Client()
    client.force_login(bay.lead)
    form = bay.form(client)
    sign_in(phone, bay.lead)
    phone.goto(bay.url)
    look_at(phone)
    phone.get_by_label("Live measurement").check()
    phone.get_by_role("button", name="Go on").tap()
    expect(phone.get_by_label("Planned end")).to_be_visible()
    look_at(phone)

    phone.get_by_role("button", name="May this job start?").tap()
    said = phone.locator(".tally")
    expect(said).to_contain_text("Not yet")
    assert said.locator("li").count() >= 8, "everything that is missing, not the first thing"
    expect(said).to_contain_text("About people and kit, not about the vehicle")
    look_at(phone)
    assert starts() == 0

    fill_in(phone, form)
    phone.get_by_role("button", name="Ask again").tap()
    expect(phone.get_by_text("Yes: may start")).to_be_visible()
    for words in (bay.lead.full_name, bay.second.full_name, "QF 417"):
        expect(phone.locator("#started")).to_contain_text(words)
    look_at(phone)
    assert starts() == 1


def test_one_thing_short_is_still_no_and_says_which(phone: Page, bay: Bay) -> None:
    client = Client()
    client.force_login(bay.lead)
    form = bay.form(client)
    sign_in(phone, bay.lead)
    phone.goto(f"{bay.url}?job_type=E")
    fill_in(phone, form)
    phone.get_by_label("The cordon is up and the bay is signed").uncheck()
    phone.get_by_role("button", name="May this job start?").tap()
    expect(phone.locator(".tally")).to_contain_text("Not yet")
    expect(phone.locator(".tally li")).to_have_count(1)
    expect(phone.locator(".tally li")).to_contain_text("ordon")
    assert starts() == 0
