"""Makes docs/pictures anew: loads the demo into a temporary folder, serves it, and photographs its screens."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from playwright.sync_api import Browser, Page, sync_playwright

from tests.services.fixtures import PHONE, QUIET
from tests.services.processes import ROOT
from tests.services.servers import chromium_binary, web_server

OUT = ROOT / "docs" / "pictures"
LARGEST_BYTES = 250_000
MOST_QUESTIONS = 14
METERS_FIRST = 100  # a meter is drawn more tellingly than a label
TALL_DESK = {"viewport": {"width": 1280, "height": 960}}
SHARP_PHONE = {**PHONE, "device_scale_factor": 1.5}
FEW_MISSING = re.compile(r"^[2-5] missing")


@dataclass
class Studio:
    """A browser before the served demo, with a way to be each role."""

    browser: Browser
    address: str
    sign_ins: dict[str, dict[str, str]]
    wrong: list[str] = field(default_factory=list)

    def page_of(self, role: str, **screen: Any) -> Page:
        """A page of its own, signed in as the role; a phone unless told otherwise."""
        context = self.browser.new_context(base_url=self.address, **(screen or SHARP_PHONE))
        context.set_default_timeout(15_000)
        page, who = context.new_page(), self.sign_ins[role]
        page.goto("/")
        page.get_by_label("Username").fill(who["username"])
        page.get_by_label("Password").fill(who["password"])
        page.get_by_role("button", name="Sign in").click()
        page.locator("#home").wait_for()
        return page

    def keep(self, page: Page, name: str) -> None:
        """Photograph what is on the screen."""
        page.mouse.move(0, 0)
        path = OUT / f"{name}.png"
        page.screenshot(path=path, animations="disabled")
        size = path.stat().st_size
        print(f"{path.relative_to(ROOT)}: {size // 1000} kB")
        if size > LARGEST_BYTES:
            self.wrong.append(f"{name} is larger than {LARGEST_BYTES // 1000} kB")


# ---------------------------------------------------------------- one function a screen
def board_at_a_desk(studio: Studio) -> None:
    page = studio.page_of("manager", **TALL_DESK)
    _open_board(page)
    studio.keep(page, "board")


def board_on_a_phone(studio: Studio) -> None:
    page = studio.page_of("manager")
    _open_board(page)
    studio.keep(page, "board-phone")


def what_is_missing(studio: Studio) -> None:
    page = studio.page_of("manager")
    _open_board(page)
    page.locator("table.board td.gap a").filter(has_text=FEW_MISSING).first.click()
    page.locator("#cell").wait_for()
    studio.keep(page, "missing")


def first_page(studio: Studio) -> None:
    studio.keep(studio.page_of("apprentice"), "home")


def drill(studio: Studio) -> None:
    """The question with the richest drawing that leaves room for its answers."""
    page, best = studio.page_of("mentor"), 0
    for _question in _questions(page):
        drawn = page.locator("figure svg *").count()
        if drawn and page.get_by_text("Meters and proving").count():
            drawn += METERS_FIRST
        if drawn > best and _above_the_bar(page, ".option >> nth=1"):
            best = drawn
            studio.keep(page, "drill")
    if not best:
        studio.wrong.append("no drill question with a drawing")


def outcome(studio: Studio) -> None:
    """The first unsafe answer to a question that a life hangs on."""
    page = studio.page_of("technician")
    for _question in _questions(page):
        if page.get_by_text("until a mentor has talked").count() and page.get_by_text("You chose:").count():
            studio.keep(page, "outcome")
            return
    studio.wrong.append("no unsafe answer")


def observation(studio: Studio) -> None:
    page = studio.page_of("mentor")
    page.goto("/watch/")
    page.get_by_role("button", name=re.compile("^Watch .*: Isolate and prove dead")).first.click()
    page.locator("#observe").wait_for()
    for number, result in enumerate(("done", "done", "prompted"), 1):
        page.get_by_role("group", name=f"Step {number}", exact=True).get_by_label(result, exact=True).check()
    page.get_by_role("group", name="Step 2", exact=True).evaluate("one => scrollTo(0, one.offsetTop - 12)")
    studio.keep(page, "observation")


def start_of_work(studio: Studio) -> None:
    page = studio.page_of("technician")
    page.locator(".menu summary").click()
    page.locator(".menu").get_by_role("link", name="Start of work").click()
    page.get_by_label("C Isolate").check()
    page.get_by_role("button", name="Go on").click()
    page.get_by_label("Vehicle", exact=True).fill("QF 417")
    page.get_by_role("button", name="May this job start?").click()
    page.get_by_text("Not yet", exact=True).wait_for()
    studio.keep(page, "start-of-work")


SCREENS: tuple[Callable[[Studio], None], ...] = (
    board_at_a_desk,
    board_on_a_phone,
    what_is_missing,
    first_page,
    observation,
    start_of_work,
    drill,  # these last: their unsafe answers would stand on the board
    outcome,
)


# ---------------------------------------------------------------- steps
def _open_board(page: Page) -> None:
    page.locator(".menu summary").click()
    page.locator(".menu").get_by_role("link", name="Clearance board").click()
    page.locator("#board").wait_for()


def _questions(page: Page) -> Iterator[int]:
    """Go through a drill, stopping at every question and at every outcome."""
    page.get_by_role("button", name="shift drill").click()
    for number in range(MOST_QUESTIONS):
        page.locator("#question").wait_for()
        yield number
        _some_answer(page)
        page.get_by_role("button", name="I'd act on it").click()
        page.locator("#outcome").wait_for()
        yield number
        if page.get_by_role("link", name="Next question").count() == 0:
            return
        page.get_by_role("link", name="Next question").click()


def _above_the_bar(page: Page, selector: str) -> bool:
    if page.locator(selector).count() == 0:
        return False
    shown, bar = page.locator(selector).bounding_box(), page.locator(".bar").bounding_box()
    return bool(shown and bar and shown["y"] + shown["height"] < bar["y"])


def _some_answer(page: Page) -> None:
    if page.locator("#number").count():
        page.locator("#number").fill("1")
    elif page.locator(".option").count():
        page.locator(".option").first.click()


# ---------------------------------------------------------------- the demo, served
@contextmanager
def served_demo() -> Iterator[tuple[str, dict[str, dict[str, str]]]]:
    """The demo's address and its sign-ins by role."""
    with tempfile.TemporaryDirectory(prefix="hookside-pictures-") as folder:
        environ = {"HOOKSIDE_DEMO": "1", "HOOKSIDE_DATA_DIR": folder}
        _manage(environ, "migrate", "--verbosity", "0")
        _manage(environ, "load_demo")
        sign_ins = json.loads(_manage(environ, "load_demo", "--sign-ins", "--json"))
        with web_server(environ) as address:
            yield address, {one["role"]: one for one in sign_ins}


def _manage(environ: dict[str, str], *command: str) -> str:
    call = [sys.executable, "manage.py", *command]
    clean = {name: value for name, value in os.environ.items() if not name.startswith("HOOKSIDE_")}
    env = {**clean, **environ}
    return subprocess.run(call, cwd=ROOT, env=env, check=True, stdout=subprocess.PIPE, text=True).stdout


def main() -> int:
    """Make every picture; 0 when each was found and is small enough."""
    OUT.mkdir(parents=True, exist_ok=True)
    with served_demo() as (address, sign_ins), sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_binary(), args=QUIET)
        studio = Studio(browser, address, sign_ins)
        for screen in SCREENS:
            screen(studio)
        browser.close()
    for sentence in studio.wrong:
        print(sentence, file=sys.stderr)
    return 1 if studio.wrong else 0


if __name__ == "__main__":
    sys.exit(main())
