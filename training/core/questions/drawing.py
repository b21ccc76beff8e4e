"""Line drawings as SVG text: strokes and letters in the page's own ink, 340 wide, every text escaped."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

WIDTH = 340
LETTER_PX = 13


def picture(height: int, shapes: Iterable[str]) -> str:
    """An SVG of the usual width; what it shows is said in ``picture_text`` beside it, so it is hidden from readers."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" width="{WIDTH}" aria-hidden="true"'
        f' fill="none" stroke="currentColor" stroke-width="1.5">{"".join(shapes)}</svg>'
    )


def line(x1: float, y1: float, x2: float, y2: float, *, dashed: bool = False) -> str:
    dashes = ' stroke-dasharray="5 4"' if dashed else ""
    return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"{dashes}/>'


def box(x: float, y: float, width: float, height: float) -> str:
    return f'<rect x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}"/>'


def circle(x: float, y: float, radius: float) -> str:
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}"/>'


def path(points: Iterable[tuple[float, float]]) -> str:
    """An open line through these points."""
    return f'<polyline points="{" ".join(f"{x:.1f},{y:.1f}" for x, y in points)}"/>'


def text(x: float, y: float, words: str, *, anchor: str = "middle") -> str:
    """Words at a point; ``anchor`` is start, middle or end."""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{LETTER_PX}" text-anchor="{anchor}" fill="currentColor"'
        f' stroke="none">{escape(words)}</text>'
    )


def label(x: float, y: float, width: float, lines: list[str]) -> str:
    """A box with lines of text in it, as on a label or a display."""
    rows = (text(x + width / 2, y + 18 + 17 * n, words) for n, words in enumerate(lines))
    return box(x, y, width, 10 + 17 * len(lines)) + "".join(rows)


def arrow(x1: float, y1: float, x2: float, y2: float) -> str:
    """A line with a head at its second end, level or upright."""
    along_x, along_y = _sign(x2 - x1), _sign(y2 - y1)
    wings = [
        line(x2, y2, x2 - 6 * along_x + 4 * side * (along_x == 0), y2 - 6 * along_y + 4 * side * (along_y == 0))
        for side in (-1, 1)
    ]
    return line(x1, y1, x2, y2) + "".join(wings)


def measure(x1: float, x2: float, y: float, words: str) -> str:
    """A level distance with heads at both ends and its figure above."""
    middle = (x1 + x2) / 2
    return arrow(middle, y, x1, y) + arrow(middle, y, x2, y) + text(middle, y - 5, words)


def _sign(value: float) -> int:
    return (value > 0) - (value < 0)
