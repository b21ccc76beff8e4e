"""Looks at a page as it stands: nothing runs over its edge, every target can be hit, axe finds nothing grave."""

from __future__ import annotations

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

TALLEST_MISS_PX = 44
GRAVE = {"serious", "critical"}

TOO_SMALL = """least => {
  const kinds = "button, .button, select, textarea, summary, nav a, input:not([type=hidden])";
  const targets = document.querySelectorAll(kinds);
  const hit = (one) => one.matches("[type=checkbox], [type=radio]") && one.closest("label") || one;
  return [...targets].map(hit).filter(one => {
    const box = one.getBoundingClientRect();
    return one.checkVisibility() && box.width > 1 && box.height > 1 && box.height < least;
  }).map(one => `${one.outerHTML.slice(0, 90)} is ${one.getBoundingClientRect().height.toFixed(0)} px high`);
}"""


def look_at(page: Page) -> None:
    """Fail with everything that is wrong with the look of the page that is open."""
    page.wait_for_load_state()
    wrong = [*_over_the_edge(page), *page.evaluate(TOO_SMALL, TALLEST_MISS_PX), *_grave_violations(page)]
    assert not wrong, f"{page.url}\n" + "\n".join(wrong)


def _over_the_edge(page: Page) -> list[str]:
    wide = page.evaluate("document.scrollingElement.scrollWidth")
    viewport = page.viewport_size
    assert viewport is not None
    return [f"the page is {wide} px wide, the screen {viewport['width']} px"] if wide > viewport["width"] else []


def _grave_violations(page: Page) -> list[str]:
    found = Axe().run(page).response["violations"]
    return [
        f"axe, {one['impact']}: {one['help']}: {one['nodes'][0]['html'][:120]} ({len(one['nodes'])} times)"
        for one in found
        if one["impact"] in GRAVE
    ]
