"""An apprentice's shift drill on a phone: cautions, all four kinds by touch, commitment, outcomes, twice, resumed."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from tests.factories.bank import ENTRIES
from tests.factories.people import PersonFactory
from tests.journeys.conftest import Clock
from tests.journeys.looking import look_at
from tests.journeys.steps import ACT, ASK, commit, give, go_on, sign_in, start_drill, stem_of
from training.drill.facts import Answered
from training.drill.models import Drill
from training.people.models import Person
from training.records.models import Record

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def answers_on_record() -> int:
    return Record.objects.filter(kind=Answered.kind).count()


def said_only_afterwards() -> list[str]:
    """Every reason and source of the questions, and the words that name a verdict."""
    entries = [make("question") for make in ENTRIES.values()]
    reasons = [option["reason"] for entry in entries for option in entry.get("options", [])]
    return [*reasons, "Half of 25 V.", "common practice, no source", "Right", "Sound", "Careful", "Held back", "Unsafe"]


@pytest.fixture
def signed_in(phone: Page, apprentice: Person) -> Page:
    """On the first page, the cautions read."""
    sign_in(phone, apprentice)
    expect(phone.get_by_role("heading", name="Before you use this")).to_be_visible()
    look_at(phone)
    phone.goto("/")
    expect(phone.get_by_role("heading", name="Before you use this")).to_be_visible()  # nothing opens before
    phone.get_by_role("button", name="I have read this").click()
    expect(phone.locator("#home")).to_be_visible()
    return phone


def test_the_first_page_starts_the_drill_and_says_how_many_gaps_each_job_type_has(signed_in: Page) -> None:
    expect(signed_in.get_by_role("button", name="Start shift drill, 5 min")).to_be_in_viewport()
    articles = signed_in.locator("article")
    expect(articles).to_have_count(2)
    for place, title in enumerate(("Move, wash and charge an intact vehicle", "General work beside HV parts")):
        expect(articles.nth(place)).to_contain_text(title)
        expect(articles.nth(place)).to_contain_text("May not take yet")
        stated = articles.nth(place).locator(".word.must").inner_text()
        articles.nth(place).locator("summary").click()
        assert articles.nth(place).locator("li").count() == int(stated.split()[0]) > 0
    look_at(signed_in)
    signed_in.locator(".menu summary").click()
    look_at(signed_in)


def test_all_four_kinds_by_touch_with_each_outcome_in_words(signed_in: Page, clock: Clock) -> None:
    start_drill(signed_in)
    expected = [(True, ACT, "Sound"), (True, ASK, "Careful"), (False, ASK, "Held back"), (False, ACT, "Unsafe")]
    seen = set()
    for place, (right, words, outcome) in enumerate(expected, 1):
        expect(signed_in.get_by_text(f"Question {place} of about 4")).to_be_visible()
        seen.add(stem_of(signed_in))
        look_at(signed_in)
        assert not [hint for hint in said_only_afterwards() if hint in signed_in.content()], (
            "told before the commitment"
        )
        clock.passes(seconds=40)
        give(signed_in, right=right)
        commit(signed_in, words)
        expect(signed_in.get_by_role("heading", level=1)).to_have_text(outcome)
        expect(signed_in.get_by_text("Right", exact=False).first).to_be_visible()
        expect(signed_in.get_by_text("common practice, no source")).to_be_visible()
        look_at(signed_in)
        go_on(signed_in)
    expect(signed_in.get_by_text("4 questions answered")).to_be_visible()
    expect(signed_in.get_by_text("It comes back tomorrow.")).to_have_count(1)
    look_at(signed_in)
    assert (len(seen), answers_on_record()) == (4, 4)
    signed_in.get_by_role("link", name="To the first page").tap()
    expect(signed_in.get_by_text("1 unsafe answer is still open")).to_be_visible()


def test_a_double_tap_records_once_and_a_tap_on_an_old_page_comes_to_the_first_outcome(
    signed_in: Page, clock: Clock
) -> None:
    start_drill(signed_in)
    held = signed_in.context.new_page()
    held.goto(signed_in.url)
    clock.passes(seconds=40)
    give(signed_in, right=True)
    give(held, right=False)
    signed_in.get_by_role("button", name=ACT).dblclick()
    expect(signed_in.get_by_role("heading", level=1)).to_have_text("Sound")
    held.get_by_role("button", name=ASK).click()
    expect(held.get_by_role("heading", level=1)).to_have_text("Sound")
    assert answers_on_record() == 1


def test_leaving_and_coming_back_goes_on_where_it_was(signed_in: Page, clock: Clock) -> None:
    start_drill(signed_in)
    clock.passes(seconds=40)
    give(signed_in, right=True)
    commit(signed_in, ACT)
    go_on(signed_in)
    stem = stem_of(signed_in)
    signed_in.reload()
    assert stem_of(signed_in) == stem
    signed_in.goto("/")
    expect(signed_in.get_by_role("button", name="Go on with the shift drill")).to_be_visible()
    start_drill(signed_in)
    expect(signed_in.get_by_text("Question 2 of about 4")).to_be_visible()
    assert stem_of(signed_in) == stem
    assert (Drill.objects.count(), answers_on_record()) == (1, 1)


def test_an_answer_without_a_choice_is_asked_for_again_and_records_nothing(signed_in: Page) -> None:
    start_drill(signed_in)
    signed_in.get_by_role("button", name=ACT).tap()
    if stem_of(signed_in) != "Put these steps in order.":
        expect(signed_in.get_by_role("alert")).to_be_visible()
        assert answers_on_record() == 0
        look_at(signed_in)
    else:  # steps stand in some order from the start, and that is an answer
        raise AssertionError("the drill began with steps to put in order: choose another kind for this journey")


def test_somebody_elses_drill_is_not_found(signed_in: Page, new_page: Callable[..., Page], apprentice: Person) -> None:
    start_drill(signed_in)
    other = new_page()
    sign_in(other, PersonFactory(workshop=apprentice.workshop))
    answer = other.goto(signed_in.url)
    assert answer is not None
    assert answer.status == 404
    assert stem_of(signed_in) not in other.content()
    look_at(other)
