"""The board before and after a sign-off, at a desk and on a phone, and what opens from its cells."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.board.house import House
from tests.journeys.looking import look_at
from tests.journeys.steps import note_steps, row_of, sign, sign_in, watch
from training.people.models import Person

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def board(desk: Page, house: House) -> Page:
    """The manager at the board."""
    sign_in(desk, house.manager)
    desk.goto(f"/board/{house.workshop.slug}/")
    return desk


def cell(page: Page, person: Person, place: int) -> Locator:
    """A person's cell: place 0 is the first job type."""
    return row_of(page, person).get_by_role("cell").nth(place)


def test_a_sign_off_turns_missing_into_may_take(board: Page, house: House, new_page: Callable[..., Page]) -> None:
    look_at(board)
    expect(cell(board, house.rob, 1)).to_contain_text("2 missing")
    expect(cell(board, house.rob, 0)).to_contain_text("alone: 1 missing")
    phone = new_page()
    sign_in(phone, house.mentor)
    for title, then in (("Task 1", "1 missing"), ("Task 2", "may take")):
        watch(phone, house.rob, title)
        note_steps(phone, "done", "done")
        sign(phone)
        expect(phone.get_by_role("heading", name="Signed")).to_be_visible()
        board.reload()
        expect(cell(board, house.rob, 1)).to_contain_text(then)
    expect(cell(board, house.rob, 0)).to_contain_text(re.compile("may take until"))
    expect(cell(board, house.rob, 0)).not_to_contain_text("supervision")
    look_at(board)


def test_every_cell_opens_all_that_is_missing_with_a_remedy_for_each(board: Page, house: House) -> None:
    places = [link.get_attribute("href") for link in board.locator("table.board td a").all()]
    assert len(places) == len(set(places)) >= 10
    for place in places:
        board.goto(str(place))
        stated = board.locator("#cell .word.must")
        missing = int(stated.inner_text().split()[0]) if stated.count() else 0
        expect(board.locator("article")).to_have_count(missing)
        expect(board.locator("article .why")).to_have_count(missing)
        assert all(board.locator("article .why").all_inner_texts())
    look_at(board)


def test_on_a_phone_the_board_says_the_same_and_keeps_aside_what_is_not_sought(phone: Page, house: House) -> None:
    sign_in(phone, house.manager)
    phone.goto(f"/board/{house.workshop.slug}/")
    look_at(phone)
    expect(phone.get_by_text("2 missing").first).to_be_visible()
    aside = phone.get_by_text("not sought", exact=True)
    assert aside.count() > 0
    expect(aside.first).to_be_hidden()
    phone.get_by_label("Show what is not sought too").tap()
    expect(aside.first).to_be_visible()
    look_at(phone)


def test_a_colleague_reads_until_when_or_not_now_and_opens_only_their_own_row(desk: Page, house: House) -> None:
    sign_in(desk, house.nina)
    desk.goto(f"/board/{house.workshop.slug}/")
    expect(cell(desk, house.rob, 1)).to_have_text("not now")
    expect(desk.locator("table.board td a")).to_have_count(2)
    answer = desk.goto(f"/board/{house.workshop.slug}/{house.rob.pk}/B/")
    assert answer is not None
    assert answer.status == 404
