"""The shift drill: which questions, in which order, buy the most readiness in the minutes given.

What a question buys is the rise of its expected readiness 14 days ahead by an answer now: p x if right + (1 - p) x if
wrong - without one (memory model, section 8). Readiness is the gate's bound up to its floor, in the log form that
section 8 names for a gate set by its weakest question: floor x ln(bound / floor). At the floor it rises as the bound
itself does; far below it counts every doubling, so that many half-known questions are brought up together and not a few
at a time (with the bound itself somebody new came to their first job type after six weeks; so after four).
Weighted: life before injury before damage; a quarter for each nearer job type whose life questions are not all at their
floors yet; twice for what is at its floor now and soon would not be. The set is filled exactly (``filling``), once for
each number of weakest life questions of the nearest job type taken in first.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from operator import attrgetter
from typing import Final

import numpy as np
from numpy.typing import NDArray

from training.core.memory.filling import Lengths, Places, Worths, filled, most_worth
from training.core.memory.fold import Trace
from training.core.memory.gains import (
    Column,
    Columns,
    chance_right_now,
    columns,
    low_after_right,
    low_after_wrong,
    low_without,
    table_of,
)
from training.core.memory.honesty import After
from training.core.memory.pace import DEFAULT_SECONDS
from training.core.memory.parameters import DEFAULT, SESSION_DAYS, Parameters
from training.core.memory.posterior import Belief

HORIZON_DAYS: Final = 14.0
SOON_DAYS: Final = 4.0
"""What falls below its floor within so long is about to lapse: the longest usual pause between drills [assumed]."""
WEIGHTS: Final = {"life": 4.0, "injury": 2.0, "damage": 1.0}
FARTHER: Final = 0.25
LAPSING: Final = 2.0
BEYOND_FLOOR: Final = 0.01
"""What is bought above the floor, so that minutes to spare are used; and the least that anything is worth."""
LEAST_WORTH: Final = 1e-6
LEAST_BOUND: Final = 0.005
"""Where the log form begins: a question never answered stands here."""
BELOW_FLOOR: Final = 0.05
"""The least rise of ln(bound / floor) that a question below its floor counts as: of somebody weak, one answer may not
lift a question even to where the log form begins, and it would never be asked while others hold."""
WEAKEST: Final = 20.0
"""What a rise of the weakest life question's ln(bound / floor) by 1 is worth beside its own."""
RETURN_WORTH: Final = {After.UNSAFE: 100_000.0, After.HELD_BACK: 200.0, After.CAREFUL: 1.0}
"""An unsafe answer's return outweighs all else, a held-back one's all but that; a careful one's weighs as much as the
best that others buy. The weights of 4, 2 and 1 were chosen for their order, the other constants by simulation."""
NEW_PER_MINUTE: Final = 1
NEW_AT_LEAST: Final = 3
TENTHS_PER_MINUTE: Final = 600
_QUESTION: Final = attrgetter("question")


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One question that could be asked. ``trace`` None: never answered.

    ``consequence`` is life, injury or damage. ``floor`` is the highest asked of it by the job types held or worked
    towards, ``rank`` the place of the nearest of them (0 is nearest), ``seconds`` what it takes this person.
    ``after`` and ``back_at``: it comes back for its last outcome from then on; an unsafe answer's question not before.
    """

    question: str
    topic: str
    consequence: str
    trace: Trace | None = None
    floor: float = 0.0
    rank: int = 0
    seconds: float = DEFAULT_SECONDS
    chance_floor: float = 1 / 3
    after: After | None = None
    back_at: datetime | None = None

    def __post_init__(self) -> None:
        if self.consequence not in WEIGHTS:
            raise ValueError(f"consequence {self.consequence} of {self.question} is none of {', '.join(WEIGHTS)}")
        if not 0.0 < self.seconds < float("inf"):
            raise ValueError(f"seconds {self.seconds} of {self.question} must be above 0")
        if not (0.0 <= self.floor <= 1.0 and 0.0 <= self.chance_floor < 1.0):
            raise ValueError(f"floor {self.floor} or chance floor {self.chance_floor} of {self.question} is no share")


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftDrill:
    """The questions to ask, in order, and what they buy: weighted rise of gate bounds, and returns asked."""

    questions: tuple[str, ...]
    bought: float


@dataclass(frozen=True, slots=True, eq=False)
class Offer:
    """All that is weighed, a row for each candidate in order of its id; ``gathered`` makes it.

    ``returning``, ``barred`` and ``new`` are what the rules say of each; lengths are whole tenths of a second.
    """

    candidates: Sequence[Candidate]
    asked: Columns
    floor: Column
    weight: Column
    rank: NDArray[np.int64]
    life: NDArray[np.bool_]
    length: Lengths
    returning: Column
    barred: NDArray[np.bool_]
    new: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Weighed:
    """What each question of an offer would buy: ``worth``; ``before`` and ``after`` an answer: ln(bound / floor)."""

    worth: Worths
    before: Column
    after: Column
    near: NDArray[np.bool_]
    lapsing: NDArray[np.bool_]


def compose(
    candidates: Iterable[Candidate],
    belief: Belief,
    minutes: float,
    at: datetime,
    *,
    horizon_days: float = HORIZON_DAYS,
    parameters: Parameters = DEFAULT,
) -> ShiftDrill:
    """Return the drill of at most so many minutes; ValueError for a negative number of minutes or a question twice.

    Unsafe returns stand first, worst consequence first; then what is about to lapse, other returns, and the rest by
    worth per second, no topic behind itself where that can be helped. Nothing seen within half a day comes again, as
    its answer could not count, but for wrong ones at the very end when time is left. New questions come in portions
    (one a minute, at least three), nearest job type first. Equal input gives an equal drill in whatever order it comes.
    """
    if not minutes >= 0.0:
        raise ValueError(f"minutes {minutes} must be at least 0")
    offer = gathered(candidates, at)
    room = int(minutes * TENTHS_PER_MINUTE + 1e-6)
    weighed = weigh(offer, belief, horizon_days, parameters)
    askable = _portioned(offer, weighed, minutes)
    chosen, bought = _best(offer, weighed, askable, room)
    return ShiftDrill(questions=tuple(_in_order(offer, weighed, chosen, room)), bought=bought)


def gathered(candidates: Iterable[Candidate], at: datetime) -> Offer:
    """Gather what is weighed of the candidates at ``at``; ValueError where a question comes twice."""
    ordered = sorted(candidates, key=_QUESTION)
    if len(set(map(_QUESTION, ordered))) < len(ordered):
        raise ValueError("a question must be offered once")
    rows = [(one.floor, WEIGHTS[one.consequence], one.rank, one.seconds, one.chance_floor) for one in ordered]
    floor, weight, rank, seconds, chance_floor = table_of(rows, 5)
    asked = columns([one.trace for one in ordered], chance_floor, at)
    returning = np.zeros(len(ordered))
    for place, one in enumerate(ordered):
        if one.after is not None:
            returning[place] = _returning(one.after, one.back_at, at)
    return Offer(
        candidates=ordered,
        asked=asked,
        floor=floor,
        weight=weight,
        rank=rank.astype(np.int64),
        life=weight == WEIGHTS["life"],
        length=np.ceil(seconds * 10.0 - 1e-6).astype(np.int64),
        returning=np.maximum(returning, 0.0),
        barred=(returning < 0.0) | (asked.seen_days <= SESSION_DAYS),
        new=np.isnan(asked.seen_days),
    )


def weigh(offer: Offer, belief: Belief, horizon_days: float, parameters: Parameters = DEFAULT) -> Weighed:
    """Say what each question would buy; see the module's head for the terms."""
    asked, floor, gate_who = offer.asked, offer.floor, belief.gate_moments
    chance = chance_right_now(asked, belief.moments, parameters)
    without, now, soon = low_without(asked, gate_who, horizon_days, 0.0, SOON_DAYS, parameters=parameters)
    right = low_after_right(asked, belief.moments, gate_who, horizon_days, parameters)
    wrong = low_after_wrong(asked, without)
    before = _ln_share(without, floor)
    expected = chance * _ln_share(right, floor) + (1.0 - chance) * _ln_share(wrong, floor)
    after = np.maximum(expected, before)
    beyond = chance * right + (1.0 - chance) * wrong - without
    lapsing = (now >= floor) & (soon < floor) & (floor > 0.0)
    places = _places_from_nearest(offer, now)
    weight = offer.weight * FARTHER**places * np.where(lapsing, LAPSING, 1.0)
    rise = np.maximum(after - before, np.where(now < floor, BELOW_FLOOR, 0.0))
    worth = weight * (floor * rise + BEYOND_FLOOR * beyond) + offer.weight * offer.returning
    near = offer.life & (places == 0.0) & (floor > 0.0)
    return Weighed(np.maximum(worth, LEAST_WORTH), before, after, near, lapsing)


def _ln_share(bound: Column, floor: Column) -> Column:
    """Return ln(bound / floor), 0 at the floor and above; bounds below the least count as that."""
    return np.log(np.clip(bound, LEAST_BOUND, np.maximum(floor, LEAST_BOUND)) / np.maximum(floor, LEAST_BOUND))


def _returning(after: After, back_at: datetime | None, at: datetime) -> float:
    """Return what a return is worth at ``at``: below 0 for one that is waited for."""
    if back_at is None or back_at <= at:
        return RETURN_WORTH[after]
    return -1.0 if after is After.UNSAFE else 0.0


def _places_from_nearest(offer: Offer, now: Column) -> Column:
    """Return for each question how many nearer job types have a life question below its floor now."""
    short = np.unique(offer.rank[offer.life & (now < offer.floor)])
    return np.searchsorted(short, offer.rank, side="left").astype(np.float64)


def _portioned(offer: Offer, weighed: Weighed, minutes: float) -> Places:
    """Return the places of what may be asked, with only a portion of the new: nearest and worst first."""
    portion = max(NEW_AT_LEAST, int(minutes * NEW_PER_MINUTE))
    new = np.flatnonzero(offer.new & ~offer.barred)
    by_need = np.lexsort((-weighed.worth[new] / offer.length[new], -offer.weight[new], offer.rank[new]))
    seen = np.flatnonzero(~offer.new & ~offer.barred)
    return np.sort(np.concatenate([seen, new[by_need[:portion]]]))


def _best(offer: Offer, weighed: Weighed, askable: Places, room: int) -> tuple[Places, float]:
    """Return the set that buys most, and what it buys."""
    best, most = askable[filled(weighed.worth[askable], offer.length[askable], room)], 0.0
    most = _bought(weighed, best)
    for forced, rise in _weakest_first(weighed, askable):
        rest = np.setdiff1d(askable, forced, assume_unique=True)
        left = room - int(offer.length[forced].sum())
        if left < 0:
            break
        sure = float(weighed.worth[forced].sum()) + WEAKEST * rise
        if sure + most_worth(weighed.worth[rest], offer.length[rest], left) <= most:
            continue
        tried = np.union1d(forced, rest[filled(weighed.worth[rest], offer.length[rest], left)])
        bought = _bought(weighed, tried)
        if bought > most:
            best, most = tried, bought
    return best, most


def _weakest_first(weighed: Weighed, askable: Places) -> Iterator[tuple[Places, float]]:
    """Give the weakest life questions that lift the least share of a floor together, and the most that it may rise."""
    near = np.flatnonzero(weighed.near)
    near = near[np.argsort(weighed.before[near], kind="stable")]
    shares = weighed.before[near]
    may_be_asked = np.zeros(len(weighed.near), dtype=bool)
    may_be_asked[askable] = True
    can = np.cumprod(may_be_asked[near]).sum()
    for number in range(1, int(can) + 1):
        ends_alike = number == len(near) or shares[number] > shares[number - 1]
        if ends_alike:
            least = float(weighed.after[near[:number]].min())
            least = least if number == len(near) else min(least, float(shares[number]))
            yield np.sort(near[:number]), least - float(shares[0])


def _bought(weighed: Weighed, chosen: Places) -> float:
    """Return the worth of a set: what each question buys, and the rise of the weakest of the nearest job type."""
    after = weighed.before.copy()
    after[chosen] = weighed.after[chosen]
    near = weighed.near
    rise = float(after[near].min() - weighed.before[near].min()) if near.any() else 0.0
    return float(weighed.worth[chosen].sum()) + WEAKEST * rise


def _in_order(offer: Offer, weighed: Weighed, chosen: Places, room: int) -> Iterator[str]:
    unsafe = [place for place in chosen.tolist() if offer.returning[place] == RETURN_WORTH[After.UNSAFE]]
    unsafe.sort(key=lambda place: (-offer.weight[place], _instant(offer.candidates[place].back_at), place))
    rest = sorted(set(chosen.tolist()) - set(unsafe), key=lambda place: _need(offer, weighed, place))
    first = [offer.candidates[place] for place in unsafe]
    others = [offer.candidates[place] for place in rest]
    ordered = [*first, *interleaved(others, first[-1].topic if first else "")]
    again = _wrong_again(offer, room - int(offer.length[chosen].sum()))
    last = ordered[-1].topic if ordered else ""
    yield from (one.question for one in (*ordered, *interleaved(again, last)))


def _need(offer: Offer, weighed: Weighed, place: int) -> tuple[bool, bool, float, int]:
    returns = offer.returning[place] > 0.0
    return (not weighed.lapsing[place], not returns, -float(weighed.worth[place] / offer.length[place]), place)


def _instant(at: datetime | None) -> float:
    return float("-inf") if at is None else at.timestamp()


def _wrong_again(offer: Offer, left: int) -> list[Candidate]:
    """Return what was answered wrong within half a day and still fits; it cannot count, but its reasons are read."""
    again = list[Candidate]()
    for place in np.flatnonzero(offer.asked.seen_days <= SESSION_DAYS).tolist():
        one = offer.candidates[place]
        if one.trace is not None and not one.trace.last_right and offer.length[place] <= left:
            again.append(one)
            left -= int(offer.length[place])
    return again


def interleaved(ordered: Sequence[Candidate], topic_before: str) -> list[Candidate]:
    """Return the same candidates, the neediest first as far as no topic follows itself."""
    left, mixed, topic = list(ordered), list[Candidate](), topic_before
    while left:
        crowded, count = Counter(one.topic for one in left).most_common(1)[0]
        fresh = [one for one in left if one.topic != topic] or left
        pressing = [one for one in fresh if one.topic == crowded] if count * 2 > len(left) else []
        one = (pressing or fresh)[0]
        left.remove(one)
        mixed.append(one)
        topic = one.topic
    return mixed
