"""Line drawings of kit: a glove, a visor, a clock, a meter, a probe, and a lift seen from above."""

from __future__ import annotations

import math
from collections.abc import Sequence

from training.core.questions.drawing import box, circle, label, line, path, picture, text


def labels_in_a_row(rows: Sequence[Sequence[str]], *, top: float = 8) -> list[str]:
    """Three labels side by side, each with its lines."""
    return [label(6 + 112 * n, top, 104, list(lines)) for n, lines in enumerate(rows)]


def rows_of_text(lines: Sequence[str]) -> str:
    """A picture of a sheet with one line of text below the other."""
    return picture(20 + 20 * len(lines), [label(10, 6, 320, list(lines))])


def meter(x: float, y: float, rows: Sequence[str]) -> list[str]:
    """A meter 110 wide with its display, its switch and two sockets."""
    deep = 10 + 17 * len(rows)
    body = [box(x, y, 110, deep + 62), label(x + 8, y + 8, 94, list(rows)), circle(x + 55, y + deep + 30, 12)]
    switch = line(x + 55, y + deep + 30, x + 62, y + deep + 21)
    return [*body, switch, circle(x + 40, y + deep + 52, 4), circle(x + 70, y + deep + 52, 4)]


def probe(x: float, y: float, tip_px: float) -> list[str]:
    """A test probe pointing right: handle, guard and so much bare tip."""
    handle = [box(x, y - 6, 60, 12), line(x + 60, y - 10, x + 60, y + 10)]
    return [*handle, line(x + 60, y, x + 60 + tip_px, y), line(x - 20, y, x, y, dashed=True)]


# Tips of the four fingers, as parts of the whole length from the cuff.
_FINGERS = (0.93, 1.0, 0.97, 0.87)


def glove(x: float, y: float, length_px: float) -> str:
    """A gauntlet glove pointing right; the longest finger ends ``length_px`` from the cuff."""

    def at(part: float, down: float) -> tuple[float, float]:
        return x + part * length_px, y + down

    outline = [
        at(0.72, 22),
        at(0.6, 22),
        at(0.42, 15),
        at(0, 24),
        at(0, -24),
        at(0.42, -15),
        at(0.6, -22),
        at(0.72, -22),
    ]
    for number, tip in enumerate(_FINGERS):
        top = -22 + 11 * number
        outline += [
            at(tip - 0.02, top),
            at(tip, top + 4),
            at(tip, top + 7),
            at(tip - 0.02, top + 11),
            at(0.74, top + 11),
        ]
    thumb = [at(0.46, -16), at(0.6, -36), at(0.66, -36), at(0.68, -31), at(0.6, -22)]
    return path([*outline, at(0.72, 22)]) + path(thumb)


def visor(x: float, y: float, marking: str) -> list[str]:
    """A face shield from the front with its marking."""
    shield = path([(x, y), (x + 100, y), (x + 92, y + 70), (x + 50, y + 88), (x + 8, y + 70), (x, y)])
    return [shield, line(x, y + 14, x + 100, y + 14), text(x + 50, y + 46, marking)]


def clock(x: float, y: float, hour: int, minute: int, words: str) -> list[str]:
    """A clock face with its hands and what happened then below it."""
    small, big = (hour % 12 + minute / 60) / 12, minute / 60
    hands = [_hand(x, y, small, 18), _hand(x, y, big, 28)]
    return [circle(x, y, 34), *hands, text(x, y + 52, words)]


def _hand(x: float, y: float, turn: float, length: float) -> str:
    angle = 2 * math.pi * turn
    return line(x, y, x + length * math.sin(angle), y - length * math.cos(angle))


def lift_plan(at_m: float, front_m: float, rear_m: float, left_mm: float) -> str:
    """A vehicle on its four pads from above, nose to the left; G marks the centre of gravity."""

    def across(metres: float) -> float:
        return 50 + 80 * metres

    pads = [box(across(place) - 7, side - 7, 14, 14) for place in (front_m, rear_m) for side in (34, 106)]
    # Left of the vehicle is below: it drives to the left of the picture.
    centre_y = 70 + 0.3 * left_mm
    centre = [circle(across(at_m), centre_y, 4), text(across(at_m) + 8, centre_y - 4, "G", anchor="start")]
    middle = line(20, 70, 320, 70, dashed=True)
    words = [text(30, 20, "right"), text(30, 132, "left")]
    return picture(140, [box(34, 26, 272, 88), middle, *pads, *centre, *words])
