"""The same shift drill by keyboard alone, and in a browser that runs no script."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.journeys.conftest import Clock
from tests.journeys.steps import (
    ACT,
    ASK,
    NUMBERS,
    ORDER,
    TICKS,
    commit,
    give,
    go_on,
    shown_order,
    sign_in,
    start_drill,
    stem_of,
)
from training.drill.models import Turn
from training.people.models import Person

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
MOST_TABS = 40


@pytest.fixture
def reader(apprentice: Person, clock: Clock) -> Person:
    """The apprentice, who has read the cautions before."""
    apprentice.cautions_read_at = clock.now
    apprentice.save(update_fields=["cautions_read_at"])
    return apprentice


def outcomes() -> list[str]:
    return list(Turn.objects.order_by("position").values_list("outcome", flat=True))


# ---------------------------------------------------------------- keyboard
def tab_to(page: Page, selector: str) -> None:
    """Go on with Tab until what the selector finds has the focus."""
    for _press in range(MOST_TABS):
        page.keyboard.press("Tab")
        if page.evaluate("selector => document.activeElement.matches(selector)", selector):
            return
    raise AssertionError(f"{MOST_TABS} times Tab never came to {selector}")


def press_on(page: Page, name: str) -> None:
    """Come to a button or link of the bar by its words, and press Enter."""
    for _press in range(MOST_TABS):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.textContent.trim()") == name:
            page.keyboard.press("Enter")
            return
    raise AssertionError(f"{MOST_TABS} times Tab never came to {name}")


def tick_by_keyboard(page: Page, label: str) -> None:
    """Radio buttons are one stop, and the arrows choose; each tick box is a stop of its own."""
    wanted = page.get_by_label(label)
    if wanted.get_attribute("type") == "checkbox":
        tab_to(page, f"[value={wanted.get_attribute('value')}]")
        page.keyboard.press("Space")
        return
    tab_to(page, "[type=radio]")
    page.keyboard.press("Space")
    while not wanted.is_checked():
        page.keyboard.press("ArrowDown")


def order_by_keyboard(page: Page) -> None:
    """Press Enter on a step's arrow; after each move the focus is still on it, so that the next press goes on."""
    for place, text in enumerate(ORDER):
        stands = shown_order(page).index(text)
        if stands == place:
            continue
        button = page.get_by_role("button", name="Move up").nth(stands).get_attribute("id")
        page.evaluate("scrollTo(0, 0)")
        tab_to(page, f"#{button}")
        for above in range(stands - 1, place - 1, -1):
            page.keyboard.press("Enter")
            expect(page.locator("#steps > li").nth(above)).to_contain_text(text)
            expect(page.locator(f"#{button}")).to_be_focused()


def answer_by_keyboard(page: Page) -> None:
    stem = stem_of(page)
    if stem in TICKS:
        for label in TICKS[stem][0]:
            tick_by_keyboard(page, label)
    elif stem in NUMBERS:
        tab_to(page, "#number")
        page.keyboard.type(NUMBERS[stem][0])
        page.keyboard.press("Enter")  # commits to nothing
        expect(page.locator("#number")).to_be_visible()
    else:
        order_by_keyboard(page)


def test_all_four_kinds_by_keyboard_alone(desk: Page, reader: Person, clock: Clock) -> None:
    sign_in(desk, reader)
    press_on(desk, "Start shift drill, 5 min")
    for place in range(1, 5):
        expect(desk.get_by_text(f"Question {place} of about 4")).to_be_visible()
        clock.passes(seconds=40)
        answer_by_keyboard(desk)
        press_on(desk, ASK if place % 2 else ACT)
        expect(desk.locator("#outcome")).to_be_visible()
        press_on(desk, "Next question" if place < 4 else "End of the drill")
    expect(desk.get_by_text("4 questions answered")).to_be_visible()
    assert outcomes() == ["careful", "sound", "careful", "sound"]


# ---------------------------------------------------------------- without script
def test_all_four_kinds_without_script(new_page: Callable[..., Page], reader: Person, clock: Clock) -> None:
    page = new_page(java_script_enabled=False)
    sign_in(page, reader)
    start_drill(page)
    for place in range(1, 5):
        expect(page.get_by_text(f"Question {place} of about 4")).to_be_visible()
        clock.passes(seconds=40)
        give(page, right=True)
        commit(page, ACT)
        go_on(page)
    expect(page.get_by_text("4 questions answered")).to_be_visible()
    assert outcomes() == ["sound"] * 4
