"""What is missing in recall, and the drills that could close it: questions, minutes by day, earliest day."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from training.core.memory.gates import Gate
from training.core.memory.posterior import PersonMoments
from training.core.memory.schedule import answers_to_floor
from training.core.permission import remedies
from training.core.permission.decision import Gap, Ground, Remedy
from training.core.permission.evidence import QuestionGate, UnsafeAnswer
from training.core.permission.findings import Case
from training.core.permission.questions import is_life
from training.core.permission.rule_book import RecallOf
from training.core.permission.unsafe import SOONEST_RIGHT
from training.core.questions.kinds import Topic
from training.core.trade.calendar import local_day

DEFAULT_SECONDS = 35.0
Plan = tuple[int, ...]
"""Days from now on which one question is to be answered right."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A question that counts, its gate as far as it proves anything, and its recall low now."""

    question: QuestionGate
    gate: Gate | None
    low: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """A stage that has begun: its questions, their mean recall low now, how many others have yet to be answered."""

    shown: tuple[Shown, ...]
    low: float
    unanswered: int


def unsafe_gaps(case: Case, rule: RecallOf, topic: Topic) -> Iterator[Gap]:
    """Open unsafe answers on life-consequence questions of the topic; from the first day, whether they count or not."""
    for answer in sorted(set(case.evidence.unsafe), key=lambda a: (a.happened_at, a.record)):
        if answer.topic == topic and is_life(answer.consequence) and _is_open(case, answer):
            yield Gap(
                ground=Ground.UNSAFE_ANSWER,
                subject=topic,
                sentence=rule.sentence,
                source=rule.source,
                remedy=_unsafe_remedy(case, answer),
                records=(answer.record,),
                facts=(("talked_through", answer.talked_through), ("right_since", answer.right_since)),
            )


def no_questions_gap(rule: RecallOf, topic: Topic, counts_from: date | None) -> Gap:
    """Nothing is asked in the topic, so nothing is known: a checker accepts its first questions, which count at once.

    ``counts_from`` is the day on which they were, where that lies after the day asked about.
    """
    return Gap(
        ground=Ground.NO_QUESTIONS,
        subject=topic,
        sentence=rule.sentence,
        source=rule.source,
        remedy=remedies.entry(counts_from),
    )


def life_gap(case: Case, rule: RecallOf, topic: Topic, short: Sequence[Shown], of: int) -> Gap:
    """Life-consequence questions below their floor."""
    return Gap(
        ground=Ground.RECALL_LIFE_QUESTIONS,
        subject=topic,
        sentence=rule.sentence,
        source=rule.source,
        remedy=_drills(case, short, rule.life_floor),
        facts=(
            ("questions", len(short)),
            ("of", of),
            ("lowest", _figure(min(s.low for s in short))),
            ("asked", _figure(rule.life_floor)),
        ),
    )


def topic_gap(case: Case, rule: RecallOf, topic: Topic, begun: Sequence[Seen]) -> Gap:
    """The mean of a topic below its floor, or too few of its questions answered, at one of its stages or at several.

    Told are the lowest mean of all stages, and the questions that make up for every stage that fails.
    """
    floor = rule.topic_mean_floor or 0.0
    return Gap(
        ground=Ground.RECALL_TOPIC,
        subject=topic,
        sentence=rule.sentence,
        source=rule.source,
        remedy=_drills(case, _worth_raising(begun, floor), floor),
        facts=(
            ("recall_low", _figure(min(seen.low for seen in begun))),
            ("asked", _figure(floor)),
            ("unanswered", max(seen.unanswered for seen in begun)),
        ),
    )


def _worth_raising(begun: Sequence[Seen], floor: float) -> list[Shown]:
    """Questions that lift the mean of every stage to the floor when each is brought there.

    Stage by stage, since those of an earlier one count at all later ones: unanswered ones first, then the lowest.
    """
    raised: list[Shown] = []
    for seen in begun:
        raised += _raised_at(seen, floor, raised)
    return raised


def _raised_at(seen: Seen, floor: float, raised: Sequence[Shown]) -> list[Shown]:
    """What one stage needs besides the questions that are raised already, all of which count at it."""
    below = sorted(
        (s for s in seen.shown if s.low < floor and s not in raised),
        key=lambda s: (s.question.answered, s.low, s.question.question),
    )
    new = [s for s in below if _is_new(s)][: max(0, seen.unanswered - sum(map(_is_new, raised)))]
    wanted = floor * len(seen.shown) - math.fsum(s.low for s in seen.shown)
    wanted -= math.fsum(floor - s.low for s in (*raised, *new))
    more = list(new)
    for one in (s for s in below if s not in new):
        if wanted > 0:
            more.append(one)
            wanted -= floor - one.low
    return more


def _is_new(shown: Shown) -> bool:
    """Never answered, and one of those of which a share has to be."""
    return not shown.question.answered and not is_life(shown.question.consequence)


def _drills(case: Case, shown: Sequence[Shown], floor: float) -> Remedy:
    """Right answers by day; without a plan for one of the questions there is no honest day."""
    plans = [(s.question, _plan(case, s, floor)) for s in shown]
    reachable = [(question, plan) for question, plan in plans if plan is not None]
    by_day = _minutes_by_day((day, question.seconds) for question, plan in reachable for day in plan)
    last = max((plan[-1] for _, plan in reachable), default=None)
    on = case.day(last) if last is not None and len(reachable) == len(plans) else None
    return remedies.drill(on, tuple(sorted({s.question.question for s in shown})), by_day)


def _plan(case: Case, shown: Shown, floor: float) -> Plan | None:
    """When to answer; a question that holds now but no whole minute longer takes one answer tomorrow."""
    who = case.evidence.moments or PersonMoments()
    plan = _remembered_plan(case, shown.gate, who, floor, shown.question.chance_floor)
    return plan if plan is None or plan else (1,)


def _remembered_plan(case: Case, gate: Gate | None, who: PersonMoments, floor: float, chance: float) -> Plan | None:
    key = ("plan", gate, floor, chance)
    if key not in case.plans:
        case.plans[key] = answers_to_floor(gate, who, floor, case.at, chance, parameters=case.evidence.parameters)
    return case.plans[key]


def _minutes_by_day(seconds_on: Iterable[tuple[int, float]]) -> tuple[tuple[int, int], ...]:
    seconds: dict[int, float] = {}
    for day, taken in seconds_on:
        seconds[day] = seconds.get(day, 0.0) + taken
    return tuple((day, math.ceil(seconds[day] / 60)) for day in sorted(seconds))


def _is_open(case: Case, answer: UnsafeAnswer) -> bool:
    closed = answer.closed_at
    return answer.happened_at <= case.at and (closed is None or not answer.happened_at < closed <= case.at)


def _unsafe_remedy(case: Case, answer: UnsafeAnswer) -> Remedy:
    """A talk-through, and a right answer more than half a day after; whichever of the two is still missing."""
    by_day: dict[int, int] = {}
    if not answer.talked_through:
        by_day[0] = remedies.TALK_THROUGH_MINUTES
    if not answer.right_since:
        soonest = max(case.at, answer.happened_at + SOONEST_RIGHT)
        day = local_day(soonest, case.zone).toordinal() - case.today.toordinal()
        by_day[day] = by_day.get(day, 0) + math.ceil(_seconds(case, answer.question) / 60)
    on = case.day(max(by_day, default=0))
    make = remedies.drill if answer.talked_through else remedies.talk_through
    return make(on, (answer.question,), tuple(sorted(by_day.items())))


def _seconds(case: Case, question: str) -> float:
    return next((q.seconds for q in case.evidence.gates if q.question == question), DEFAULT_SECONDS)


def _figure(low: float) -> str:
    """Three decimals, as text: recall low is already rounded down to them."""
    return f"{low:.3f}"
