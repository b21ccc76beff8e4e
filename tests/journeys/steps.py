"""What people do on more than one journey: sign in, answer a question, watch a task, sign."""

from __future__ import annotations

from playwright.sync_api import Locator, Page, expect

from tests.factories.people import PASSWORD
from training.people.models import Person

# by the stem of each question that the factories make: the labels to tick when right, and when wrong
TICKS = {
    "What comes next?": (["Stop and prove it dead"], ["Touch it with one hand"]),
    "What do you do first?": (["Look at the leather", "Trap air in each glove"], ["Wash with petrol"]),
}
NUMBERS = {"What has each?": ("12,5", "25")}
ORDER = ["Read the procedure", "Cordon the bay", "Open the disconnect", "Measure every pair"]

ACT, ASK = "I'd act on it", "I'd stop and ask"


def sign_in(page: Page, person: Person) -> None:
    """Sign in and arrive at the first page, or at the cautions."""
    page.goto("/")
    page.get_by_label("Username").fill(person.username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_label("Username")).to_have_count(0)


def start_drill(page: Page) -> None:
    """Start the shift drill, or go on with it, from the first page."""
    page.get_by_role("button", name="shift drill").click()
    expect(page.locator("#question")).to_be_visible()


def go_on(page: Page) -> None:
    """From an outcome to the next question, or to the end of the drill."""
    page.locator(".bar a").click()
    expect(page.locator("#outcome")).to_have_count(0)


def row_of(page: Page, person: Person) -> Locator:
    """A person's row on the board."""
    return page.get_by_role("row").filter(has=page.get_by_role("rowheader").filter(has_text=person.short_name))


def stem_of(page: Page) -> str:
    """The question that is open."""
    return page.locator("#stem").inner_text()


def give(page: Page, *, right: bool) -> None:
    """Give a right or a wrong answer to the open question, not yet committed, with a finger where there is one."""
    stem = stem_of(page)
    if stem in TICKS:
        for label in TICKS[stem][0 if right else 1]:
            page.get_by_label(label).check()
    elif stem in NUMBERS:
        page.get_by_label("Your answer, in V").fill(NUMBERS[stem][0 if right else 1])
    else:
        put_in_order(page, ORDER if right else ORDER[::-1])


def put_in_order(page: Page, texts: list[str]) -> None:
    """Move the steps up one place at a time until they stand like this."""
    for place, text in enumerate(texts):
        while (stands := shown_order(page).index(text)) > place:
            page.get_by_role("button", name="Move up").nth(stands).click()
            expect(page.locator("#steps > li").nth(stands - 1)).to_contain_text(text)


def shown_order(page: Page) -> list[str]:
    """The steps from the top."""
    return page.locator("#steps > li > span:first-child").all_inner_texts()


def commit(page: Page, words: str) -> None:
    """Say what one would do; the outcome opens."""
    page.get_by_role("button", name=words).click()
    expect(page.locator("#outcome")).to_be_visible()


def watch(page: Page, person: Person, title: str) -> None:
    """A mentor opens an observation from the list."""
    page.goto("/watch/")
    page.get_by_role("button", name=f"Watch {person.full_name}: {title}").click()
    expect(page.locator("#observe")).to_be_visible()


def note_steps(page: Page, *results: str, judgement: str = "ready") -> None:
    """Tick one result per step and the judgement, and go on to signing."""
    for number, result in enumerate(results, 1):
        page.get_by_role("group", name=f"Step {number}", exact=True).get_by_label(result, exact=True).check()
    page.get_by_role("group", name="Overall judgement").get_by_label(judgement, exact=True).check()
    page.get_by_role("button", name="Go to signing").click()
    expect(page.locator("#sign")).to_be_visible()


def sign(page: Page, password: str = PASSWORD) -> None:
    """Enter a password and sign."""
    page.get_by_label("Your password, again").fill(password)
    page.get_by_role("button", name="Sign", exact=True).click()
