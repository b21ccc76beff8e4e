"""What a generator hands over, and how options and figures of a draw are made and printed."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date

from training.core.questions.figures import MONTHS, figure_in, figures_of
from training.core.questions.kinds import Consequence, Kind, NumberAnswer, Option, Regime, Topic

PRACTICE = "common practice, no source"
MAKER = "the vehicle maker's procedure"
WRONG_OPTIONS = 2


class DrawFailed(RuntimeError):
    """A generator could not make a sound question from its draw; tell whoever keeps the generators."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """A question with its numbers settled, before id and papers are put to it."""

    topic: Topic
    kind: Kind
    consequence: Consequence
    situation: str
    stem: str
    sources: tuple[str, ...]
    picture: str
    picture_text: str
    options: tuple[Option, ...] = ()
    number: NumberAnswer | None = None
    regime: Regime = Regime.ALL


Generator = Callable[[random.Random], Drawn]


@dataclass(frozen=True, slots=True)
class Choice:
    """An option before it has a key: its text, and why it is right or wrong in this draw."""

    text: str
    reason: str


def pick_one(chance: random.Random, right: Choice, wrong: Iterable[Choice]) -> tuple[Option, ...]:
    """The right choice among the first two wrong ones that differ from it and from each other.

    Figures stand in order of size; anything else is shuffled. DrawFailed when fewer than two wrong ones are left.
    """
    kept = [right]
    for choice in wrong:
        if len(kept) <= WRONG_OPTIONS and all(_differ(choice.text, other.text) for other in kept):
            kept.append(choice)
    if len(kept) <= WRONG_OPTIONS:
        raise DrawFailed(f"Only {len(kept) - 1} wrong options differ from '{right.text}'")
    return tuple(
        Option(key="abc"[n], text=choice.text, reason=choice.reason, right=choice is right)
        for n, choice in enumerate(_arranged(chance, kept))
    )


def by_verdict(chance: random.Random, verdict: str, choices: dict[str, Choice]) -> tuple[Option, ...]:
    """The same three answers in every draw, of which ``verdict`` names the right one."""
    right = choices[verdict]
    return pick_one(chance, right, [choice for name, choice in choices.items() if name != verdict])


def one_of(chance: random.Random, judged: Iterable[tuple[Choice, bool]]) -> tuple[Option, ...]:
    """Options of which the trade core has found exactly one right; DrawFailed when it finds none or several."""
    pairs = list(judged)
    rights = [choice for choice, holds in pairs if holds]
    if len(rights) != 1:
        raise DrawFailed(f"{len(rights)} options are right: {[choice.text for choice in rights]}")
    return pick_one(chance, rights[0], [choice for choice, holds in pairs if not holds])


def pick_all(chance: random.Random, judged: Iterable[tuple[Choice, bool]]) -> tuple[Option, ...]:
    """Options of which the trade core has found some right and some wrong, shuffled; DrawFailed when all are alike."""
    pairs = list(judged)
    if len({holds for _, holds in pairs}) != 2 or len({choice.text for choice, _ in pairs}) != len(pairs):
        raise DrawFailed("Options to pick from are all right, all wrong, or said twice")
    return tuple(
        Option(key="abcdefgh"[n], text=choice.text, reason=choice.reason, right=holds)
        for n, (choice, holds) in enumerate(chance.sample(pairs, len(pairs)))
    )


def in_order(steps: Iterable[Choice]) -> tuple[Option, ...]:
    """Steps to put in order, given first to last."""
    return tuple(
        Option(key="abcdefgh"[n], text=step.text, reason=step.reason, place=n + 1) for n, step in enumerate(steps)
    )


def figure(value: float, places: int = 0) -> str:
    """A number as printed: spaces between thousands, decimal point, this many places."""
    return f"{value:,.{places}f}".replace(",", " ")


def plain(value: float) -> str:
    """A number with the places it needs and no more."""
    return f"{value:,.6f}".rstrip("0").rstrip(".").replace(",", " ")


def day_text(day: date) -> str:
    """A day as printed, like 3 Mar 2026."""
    return f"{day.day} {MONTHS[day.month - 1].capitalize()} {day.year}"


def day_between(chance: random.Random, first: date, last: date) -> date:
    """A day drawn from first to last, both included."""
    return date.fromordinal(chance.randint(first.toordinal(), last.toordinal()))


def _arranged(chance: random.Random, choices: list[Choice]) -> list[Choice]:
    figures = figures_of([choice.text for choice in choices])
    if figures:
        sizes = {choice.text: size.low for choice, size in zip(choices, figures, strict=True)}
        return sorted(choices, key=lambda choice: sizes[choice.text])
    return chance.sample(choices, len(choices))


def _differ(one: str, other: str) -> bool:
    first, second = figure_in(one), figure_in(other)
    if first and second:
        return (first.low, first.unit) != (second.low, second.unit)
    return one.casefold() != other.casefold()
