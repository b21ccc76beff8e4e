"""The curve of one topic as an SVG: coordinates only, in ``currentColor``; the template says what each line is."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from training.core.permission.outlook import LOOKED_AT_DAYS, Point

WIDTH, HEIGHT = 340, 190
LEFT, RIGHT, TOP, BOTTOM = 30, 330, 12, 160
LABEL_ROOM = 14


@dataclass(frozen=True, slots=True, kw_only=True)
class FloorLine:
    """A floor: where its line lies and its words stand. Coordinates are text, so that no language writes a comma."""

    y: str
    text_y: str
    text: str
    of_life: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A place on an axis with its words."""

    at: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """Everything that the template draws. ``life`` is empty where a topic has no life questions."""

    band: str
    low: str
    likely: str
    life: str
    floors: tuple[FloorLine, ...]
    days: tuple[Mark, ...]
    hundreds: tuple[Mark, ...]
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = RIGHT
    top: int = TOP
    bottom: int = BOTTOM


def curve_of(points: Sequence[Point], floors: Iterable[tuple[float, str, bool]], days: Iterable[str]) -> Curve:
    """The curve through these points. ``floors`` are (share, words, of life questions); ``days`` the words under the
    four marks of the day axis, from today to the last day looked at.
    """
    low = [_place(point.days, point.low) for point in points]
    likely = [_place(point.days, point.likely) for point in points]
    life = [_place(point.days, point.lowest_life) for point in points if point.lowest_life is not None]
    last = LOOKED_AT_DAYS[-1]
    return Curve(
        band=_joined([*likely, *reversed(low)]),
        low=_joined(low),
        likely=_joined(likely),
        life=_joined(life),
        floors=tuple(_floor_lines(floors)),
        days=tuple(Mark(at=f"{_x(last * n / 3):.1f}", text=text) for n, text in enumerate(days)),
        hundreds=tuple(
            Mark(at=f"{_y(share):.1f}", text=str(round(share * 100))) for share in (0.0, 0.25, 0.5, 0.75, 1.0)
        ),
    )


def _floor_lines(floors: Iterable[tuple[float, str, bool]]) -> list[FloorLine]:
    """Highest first; words that would lie over those above them move down."""
    lines: list[FloorLine] = []
    lowest_words = 0.0
    for share, text, of_life in sorted(floors, key=lambda floor: -floor[0]):
        y = _y(share)
        lowest_words = max(y - 4, lowest_words + LABEL_ROOM)
        lines.append(FloorLine(y=f"{y:.1f}", text_y=f"{lowest_words:.1f}", text=text, of_life=of_life))
    return lines


def _place(days: float, share: float) -> tuple[float, float]:
    return _x(days), _y(share)


def _x(days: float) -> float:
    return LEFT + (RIGHT - LEFT) * days / LOOKED_AT_DAYS[-1]


def _y(share: float) -> float:
    return BOTTOM - (BOTTOM - TOP) * share


def _joined(places: Iterable[tuple[float, float]]) -> str:
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in places)
