"""Line drawings of shares by week as SVG text, by hand, with a text alternative."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Final

WIDTH, PANEL, LEFT, RIGHT, TOP, BOTTOM = 760, 300, 52, 210, 46, 40
LINES: Final = ("", "9 4", "2 4", "10 4 2 4", "5 5", "14 3")
"""Dashes, told apart without colour."""
LABEL_STEP: Final = 15.0
WEEKS_A_TICK: Final = 13


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """One picture: shares (0 to 1) week by week, a line each; ``level`` is drawn thin across it."""

    title: str
    lines: Mapping[str, Sequence[float]]
    level: float = 0.95


def drawn(panels: Sequence[Panel], title: str, says: str) -> str:
    """Return an SVG of the panels, one under the other; ``says`` is its text alternative."""
    height = PANEL * len(panels)
    body = "\n".join(line for place, panel in enumerate(panels) for line in _panel(panel, place * PANEL))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" role="img" '
        f'aria-labelledby="t d" font-family="sans-serif" font-size="13" fill="#1c1c1c">\n'
        f'<title id="t">{escape(title)}</title>\n<desc id="d">{escape(says)}</desc>\n'
        f'<rect width="{WIDTH}" height="{height}" fill="#ffffff"/>\n{body}\n</svg>\n'
    )


def _panel(panel: Panel, down: float) -> Iterable[str]:
    weeks = max(len(values) for values in panel.lines.values())
    yield f'<text x="{LEFT}" y="{down + 24:.0f}" font-weight="bold">{escape(panel.title)}</text>'
    yield from _frame(weeks, down, panel.level)
    ends = []
    for dash, (name, values) in zip(LINES, panel.lines.items(), strict=False):
        points = [(_across(week, weeks), _down(value, down)) for week, value in enumerate(values) if value == value]
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        yield f'<polyline points="{path}" fill="none" stroke="#1c1c1c" stroke-width="1.6"{dashes}/>'
        ends.append((points[-1][1], name, dashes))
    yield from _labels(ends)


def _frame(weeks: int, down: float, level: float) -> Iterable[str]:
    right, base = WIDTH - RIGHT, _down(0.0, down)
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        y = _down(share, down)
        yield f'<line x1="{LEFT}" y1="{y:.1f}" x2="{right}" y2="{y:.1f}" stroke="#1c1c1c" stroke-width="0.3"/>'
        yield f'<text x="{LEFT - 8}" y="{y + 4:.1f}" text-anchor="end">{share * 100:.0f} %</text>'
    for week in range(0, weeks + 1, WEEKS_A_TICK):
        yield f'<text x="{_across(week, weeks):.1f}" y="{base + 18:.1f}" text-anchor="middle">week {week}</text>'
    y = _down(level, down)
    yield f'<line x1="{LEFT}" y1="{y:.1f}" x2="{right}" y2="{y:.1f}" stroke="#1c1c1c" stroke-width="0.8"/>'


def _labels(ends: Iterable[tuple[float, str, str]]) -> Iterable[str]:
    """Write each line's name behind its end, far enough from the others, with a piece of its line."""
    x, last = WIDTH - RIGHT, float("-inf")
    for wanted, name, dashes in sorted(ends):
        y = last = max(wanted, last + LABEL_STEP)
        ends_at = f'x1="{x + 6}" y1="{y:.1f}" x2="{x + 40}" y2="{y:.1f}"'
        yield f'<line {ends_at} stroke="#1c1c1c" stroke-width="1.6"{dashes}/>'
        yield f'<text x="{x + 46}" y="{y + 4:.1f}">{escape(name)}</text>'


def _across(week: float, weeks: int) -> float:
    return LEFT + (WIDTH - LEFT - RIGHT) * week / max(weeks, 1)


def _down(share: float, down: float) -> float:
    return down + TOP + (PANEL - TOP - BOTTOM) * (1.0 - share)
