"""Where recall of each topic goes if nobody drills from now on: figures by day, and when it falls below what is asked.

Nothing here decides anything: ends and gaps are those that ``decide`` finds (``recall.check_recall``), and the figures
are the same gates read at later instants, in plain days.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from training.core.memory.gates import gate_low, gate_mean, mean_gate_low
from training.core.permission.decide import case_of
from training.core.permission.decision import Ending, Gap
from training.core.permission.ends import earliest
from training.core.permission.evidence import Evidence, QuestionGate
from training.core.permission.findings import Case, Finding
from training.core.permission.keeping import minutes_to_keep
from training.core.permission.questions import is_life, stages
from training.core.permission.recall import check_recall, gates_of, point_of
from training.core.permission.rule_book import JobType, RecallOf, RuleBook, holds_of
from training.core.questions.kinds import Topic

LOOKED_AT_DAYS: Final = (0, 3, 7, 14, 21, 28, 42, 56, 70, 90)
AHEAD: Final = timedelta(days=LOOKED_AT_DAYS[-1])


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """Recall of a topic so many days from now: mean recall low, mean of what is likely, and the lowest of the recall
    lows of its life questions (None: it has none). Shares 0 to 1, rounded down to 3 decimals.
    """

    days: int
    low: float
    likely: float
    lowest_life: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """What a job type itself asks of a topic; ``mean_floor`` None: of its life questions only."""

    job_type: str
    life_floor: float
    mean_floor: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Lapse:
    """When the topic falls below what these job types ask, and the minutes of drill, on the day before at the latest,
    that keep it for a week more (None: more than one right answer to some question is needed, or it is far ahead).
    """

    ending: Ending
    job_types: tuple[str, ...]
    minutes: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Short:
    """What keeps the topic below what these job types ask now."""

    gap: Gap
    job_types: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TopicOutlook:
    """One topic for one person: its figures ahead, what is asked of it, and what comes of that by job type.

    ``counted`` and ``life`` are the numbers of questions that count today, of all and of life consequence.
    """

    topic: Topic
    points: tuple[Point, ...]
    counted: int
    life: int
    asks: tuple[Ask, ...]
    lapses: tuple[Lapse, ...]
    shorts: tuple[Short, ...]


def outlook(
    evidence: Evidence, rule_book: RuleBook, job_types: Sequence[JobType], *, at: datetime
) -> tuple[TopicOutlook, ...]:
    """Return the outlook of every topic that these job types ask for, directly or through a job type that they stand
    on, in the order in which they ask.
    """
    case = case_of(evidence, rule_book, at)
    found: dict[Topic, list[tuple[str, RecallOf, Finding]]] = defaultdict(list)
    for job_type in job_types:
        for rule in _recall_asked(rule_book, job_type):
            for topic, finding in zip(rule.topics, check_recall(case, rule), strict=True):
                found[topic].append((job_type.key, rule, finding))
    return tuple(_topic(case, topic, rows, _asks(job_types, topic)) for topic, rows in found.items())


def _recall_asked(book: RuleBook, job_type: JobType) -> Iterator[RecallOf]:
    for asking in (job_type, *holds_of(book, job_type)):
        for rule in asking.requirements:
            if isinstance(rule, RecallOf):
                yield rule


def _asks(job_types: Iterable[JobType], topic: Topic) -> tuple[Ask, ...]:
    return tuple(
        Ask(job_type=job_type.key, life_floor=rule.life_floor, mean_floor=rule.topic_mean_floor)
        for job_type in job_types
        for rule in job_type.requirements
        if isinstance(rule, RecallOf) and topic in rule.topics
    )


def _topic(
    case: Case, topic: Topic, rows: Sequence[tuple[str, RecallOf, Finding]], asks: tuple[Ask, ...]
) -> TopicOutlook:
    counted = _counted(case, topic, [rule for _key, rule, _finding in rows])
    return TopicOutlook(
        topic=topic,
        points=tuple(_point(case, counted, days) for days in LOOKED_AT_DAYS) if counted else (),
        counted=len(counted),
        life=sum(is_life(question.consequence) for question in counted),
        asks=asks,
        lapses=tuple(_lapses(case, topic, rows)),
        shorts=tuple(_shorts(rows)),
    )


def _counted(case: Case, topic: Topic, rules: Iterable[RecallOf]) -> list[QuestionGate]:
    """Every question of the topic that counts today for any of these rules."""
    begun = (stage for rule in rules for stage in stages(case, rule, topic) if stage.from_day <= case.today)
    counting = {question for stage in begun for question in stage.counted}
    return sorted(counting, key=lambda question: question.question)


def _point(case: Case, counted: Sequence[QuestionGate], days: int) -> Point:
    at, who = case.at + timedelta(days=days), point_of(case)
    gates, parameters = gates_of(case, counted), case.evidence.parameters
    life = gates_of(case, [question for question in counted if is_life(question.consequence)])
    likely = sum(gate_mean(gate, who, at, parameters) for gate in gates) / len(gates)
    return Point(
        days=days,
        low=mean_gate_low(gates, who, at, parameters),
        likely=int(likely * 1000) / 1000,
        lowest_life=min((gate_low(gate, who, at, parameters) for gate in life), default=None),
    )


def _lapses(case: Case, topic: Topic, rows: Sequence[tuple[str, RecallOf, Finding]]) -> Iterator[Lapse]:
    """The ends of the job types for which the topic holds now, soonest first; who ends alike is told together."""
    ends: dict[Ending, dict[str, RecallOf]] = defaultdict(dict)
    for key in dict.fromkeys(key for key, _rule, _finding in rows):
        own = [(rule, finding) for job_type, rule, finding in rows if job_type == key]
        ending = earliest(end for _rule, finding in own for end in finding.endings)
        if ending is not None and not any(finding.gaps for _rule, finding in own):
            ends[ending][key] = next(rule for rule, finding in own if ending in finding.endings)
    for ending in sorted(ends, key=lambda end: end.at):
        yield Lapse(ending=ending, job_types=tuple(ends[ending]), minutes=_minutes(case, topic, ending, ends[ending]))


def _minutes(case: Case, topic: Topic, ending: Ending, rules: dict[str, RecallOf]) -> int | None:
    """Enough for the hardest of the rules that end here."""
    if ending.at > case.at + AHEAD:
        return None
    needed = {minutes_to_keep(case, rule, topic, ending) for rule in rules.values()}
    return None if None in needed else max(minutes for minutes in needed if minutes is not None)


def _shorts(rows: Sequence[tuple[str, RecallOf, Finding]]) -> Iterator[Short]:
    """Each gap once, with every job type that it keeps away."""
    told: dict[object, tuple[Gap, dict[str, None]]] = {}
    for key, _rule, finding in rows:
        for gap in finding.gaps:
            told.setdefault((gap.ground, gap.remedy, gap.records, gap.facts), (gap, {}))[1][key] = None
    for gap, keys in told.values():
        yield Short(gap=gap, job_types=tuple(keys))
