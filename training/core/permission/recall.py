"""Requirements on recall: whether recall low meets the floors, and until which minute."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from training.core.memory.gates import Gate, last_minute_at_floor, mean_gate_low
from training.core.memory.posterior import PersonMoments
from training.core.permission.decision import Ending, Ground
from training.core.permission.ends import at_instant, at_start_of, earliest, whole_minute
from training.core.permission.evidence import QuestionGate
from training.core.permission.findings import Case, Finding
from training.core.permission.questions import Counted, counted_on, days_of_change, unanswered
from training.core.permission.recall_gaps import Shown, life_gap, no_questions_gap, topic_gap, unsafe_gaps
from training.core.permission.rule_book import RecallOf
from training.core.questions.kinds import Topic
from training.core.trade.calendar import close_of_day


def check_recall(case: Case, rule: RecallOf) -> tuple[Finding, ...]:
    """One finding per topic. Job types that ask the same share the work, and each says it in its own words."""
    return tuple(_in_words_of(rule, _remembered(case, rule, topic)) for topic in rule.topics)


def _remembered(case: Case, rule: RecallOf, topic: Topic) -> Finding:
    limit = None if rule.most_life_questions is None else (rule.most_life_questions, rule.topics)
    key = ("recall", topic, rule.life_floor, rule.topic_mean_floor, limit)
    if key not in case.remembered:
        case.remembered[key] = (_check_topic(case, rule, topic),)
    return case.remembered[key][0]


def _in_words_of(rule: RecallOf, finding: Finding) -> Finding:
    gaps = tuple(replace(gap, sentence=rule.sentence, source=rule.source) for gap in finding.gaps)
    return replace(finding, gaps=gaps)


def _check_topic(case: Case, rule: RecallOf, topic: Topic) -> Finding:
    """Questions that count, each life question and the mean at their floors, enough answered, none open unsafe."""
    gaps = list(unsafe_gaps(case, rule, topic))
    counted = counted_on(case, rule, topic, case.today)
    if not counted.any_in_topic:
        first = min(days_of_change(case, topic), default=None)
        return Finding(gaps=(*gaps, no_questions_gap(case, rule, topic, first)))
    short = [q for q in counted.life if not _meets(case, [q], rule.life_floor, case.at)]
    if short:
        gaps.append(life_gap(case, rule, topic, [_shown(case, q) for q in short], len(counted.life)))
    if not _topic_holds(case, rule, counted, case.at):
        shown = [_shown(case, q) for q in counted.all]
        low = _low(case, counted.all, case.at)
        gaps.append(topic_gap(case, rule, topic, shown, low, unanswered(case, counted)))
    if gaps:
        return Finding(gaps=tuple(gaps))
    return Finding(endings=_endings(case, rule, topic))


def _endings(case: Case, rule: RecallOf, topic: Topic) -> tuple[Ending, ...]:
    """When the topic first fails: by forgetting, or on the day on which a further question begins to count."""
    start, day = case.at, case.today
    for next_day in days_of_change(case, topic):
        first = _first_end(case, rule, topic, counted_on(case, rule, topic, day), start)
        start, day = close_of_day(next_day - timedelta(days=1), case.zone), next_day
        if first is not None and first.at <= start:
            return (first,)
        if not _holds(case, rule, counted_on(case, rule, topic, day), start):
            return (at_start_of(day, case.zone, Ground.RECALL_TOPIC, topic),)
    last = _first_end(case, rule, topic, counted_on(case, rule, topic, day), start)
    return () if last is None else (last,)


def _first_end(case: Case, rule: RecallOf, topic: Topic, counted: Counted, start: datetime) -> Ending | None:
    """The first end by forgetting of questions that all hold at ``start``."""
    ends = []
    life = _life_end(case, counted.life, rule.life_floor, start)
    if life is not None:
        ends.append(at_instant(life, Ground.RECALL_LIFE_QUESTIONS, topic))
    if rule.topic_mean_floor is not None:
        mean = last_minute_at_floor(_gates(case, counted.all), _who(case), rule.topic_mean_floor, start)
        ends.append(at_instant(mean or start, Ground.RECALL_TOPIC, topic))
    return earliest(ends)


def _life_end(case: Case, life: Sequence[QuestionGate], floor: float, start: datetime) -> datetime | None:
    """The last minute of the life question that falls first; None where there are no life questions."""
    end: datetime | None = None
    for question in life:
        if end is None or _low(case, [question], end) < floor:  # else it lasts no less than the one that ends there
            end = last_minute_at_floor(_gates(case, [question]), _who(case), floor, start) or start
    return end


def _holds(case: Case, rule: RecallOf, counted: Counted, at: datetime) -> bool:
    life = all(_meets(case, [q], rule.life_floor, at) for q in counted.life)
    return life and _topic_holds(case, rule, counted, at)


def _topic_holds(case: Case, rule: RecallOf, counted: Counted, at: datetime) -> bool:
    """Mean at its floor, and enough of the others answered; nothing is asked where only life questions count."""
    if rule.topic_mean_floor is None:
        return True
    return not unanswered(case, counted) and _meets(case, counted.all, rule.topic_mean_floor, at)


def _meets(case: Case, questions: Sequence[QuestionGate], floor: float, at: datetime) -> bool:
    """Whether recall low meets the floor now and still at a whole minute after now, so that its end lies ahead."""
    return _low(case, questions, whole_minute(at) + timedelta(minutes=1)) >= floor


def _low(case: Case, questions: Sequence[QuestionGate], at: datetime) -> float:
    return mean_gate_low(_gates(case, questions), _who(case), at)


def _gates(case: Case, questions: Iterable[QuestionGate]) -> list[Gate | None]:
    return [_proved(case, q) for q in questions]


def _proved(case: Case, question: QuestionGate) -> Gate | None:
    """The gate, as far as it proves anything: nothing without the person's point, nor after the instant asked about."""
    gate = question.gate
    if gate is None or case.evidence.moments is None:
        return None
    return gate if gate.last_at is None or gate.last_at <= case.at else None


def _who(case: Case) -> PersonMoments:
    return case.evidence.moments or PersonMoments()


def _shown(case: Case, question: QuestionGate) -> Shown:
    return Shown(question=question, gate=_proved(case, question), low=_low(case, [question], case.at))
