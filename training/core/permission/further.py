"""What further observations would meet a sign-off: how many, on which days, by whom, and by which way."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from training.core.permission import remedies
from training.core.permission.counting import Seen, Short, first_day_possible
from training.core.permission.decision import Gap, Ground
from training.core.permission.findings import Case
from training.core.permission.rule_book import SignOffOf
from training.core.permission.ways import Way


@dataclass(frozen=True, slots=True, kw_only=True)
class Further:
    """The fewest further observations by one way: what is short, the days from now, and who may give them, best first.

    ``can_be_had``: enough mentors may, and the way is still open on the last of these days.
    """

    way: Way
    short: Short
    days_from_now: tuple[int, ...]
    who: tuple[str, ...]
    can_be_had: bool


def sign_off_gap(case: Case, rule: SignOffOf, ways: Sequence[Way], kept: Sequence[Seen], appointer: str) -> Gap:
    """The gap of a sign-off by the shortest way; ``appointer`` is not sent to observe."""
    further = _shortest([_further(case, rule.task, way, kept, appointer) for way in ways])
    short, shop = further.short, further.way.small_shop
    beside = max(0, rule.beside_first - len(case.court.made_beside(case.evidence.of, rule.task, at=case.at)))
    days_from_now = (further.days_from_now[0],) * beside + further.days_from_now
    return Gap(
        ground=Ground.SIGN_OFF,
        subject=rule.task,
        sentence=rule.sentence,
        source=rule.source,
        remedy=remedies.observations(case.today, days_from_now, further.who, can_be_had=further.can_be_had),
        records=tuple(sorted(a.record for a in kept)),
        facts=(
            ("observations", len(further.days_from_now)),
            ("mentors", short.mentors),
            ("days", short.days),
            *((("beside_first", beside),) if beside else ()),
            *((("small_shop", shop.record),) if shop else ()),
            *((("outside", short.outside),) if short.outside else ()),
        ),
    )


def mentors(case: Case, task: str, already: Collection[str]) -> tuple[str, ...]:
    """Who may observe the person at this task now, those who have not yet done so first."""
    people = sorted(case.court.house.people, key=lambda m: (m in already, m))
    return tuple(m for m in people if not case.court.refusals(m, case.person, task, case.at))


def _shortest(each: Sequence[Further]) -> Further:
    """The ordinary way, which is the first, unless it cannot be had, or another that can is shorter."""
    ordinary, *others = each
    for other in others:
        is_shorter = other.can_be_had and len(other.days_from_now) < len(ordinary.days_from_now)
        if is_shorter or not ordinary.can_be_had:
            return other
    return ordinary


def _further(case: Case, task: str, way: Way, kept: Sequence[Seen], appointer: str) -> Further:
    short, days_from_now = first_day_possible(case.today, kept, way.asked)
    last_day = case.day(max(days_from_now))
    already = {a.observer for a in kept if last_day <= a.through}
    who = [m for m in mentors(case, task, already) if m != appointer]
    from_outside = [m for m in who if case.court.is_from_outside(m, task, case.at)]
    if short.outside:
        who = [*from_outside, *(m for m in who if m not in from_outside)]
    enough = len(set(who) - already) >= short.mentors and len(from_outside) >= short.outside
    return Further(
        way=way,
        short=short,
        days_from_now=days_from_now,
        who=tuple(who),
        can_be_had=bool(who) and enough and last_day <= way.last_day,
    )
