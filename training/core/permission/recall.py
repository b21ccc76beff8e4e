"""Requirements on recall: whether recall low meets the floors, and until which minute.

Time alone never clears anyone: the mean and the share answered have to hold at every stage (see ``questions.py``), so
that a question which begins to count later can end a clearance and never give one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from training.core.memory.gates import Gate, last_minute_at_floor, mean_gate_low
from training.core.memory.posterior import PersonMoments
from training.core.permission.decision import Ending, Ground
from training.core.permission.ends import at_instant, at_start_of, whole_minute
from training.core.permission.evidence import QuestionGate
from training.core.permission.findings import Case, Finding
from training.core.permission.questions import Stage, stages, unanswered
from training.core.permission.recall_gaps import Seen, Shown, life_gap, no_questions_gap, topic_gap, unsafe_gaps
from training.core.permission.rule_book import RecallOf
from training.core.questions.kinds import Topic
from training.core.trade.calendar import close_of_day

_HAIR: Final = 1e-9
"""More than the error of adding up figures of three decimals."""


def check_recall(case: Case, rule: RecallOf) -> tuple[Finding, ...]:
    """One finding per topic. Job types that ask the same share the work, and each says it in its own words."""
    return tuple(_in_words_of(rule, _remembered(case, rule, topic)) for topic in rule.topics)


def _remembered(case: Case, rule: RecallOf, topic: Topic) -> Finding:
    limits = (rule.most_life_questions, rule.most_a_topic)
    limit = None if limits == (None, None) else (*limits, rule.topics)
    key = ("recall", topic, rule.life_floor, rule.topic_mean_floor, limit)
    if key not in case.remembered:
        case.remembered[key] = (_check_topic(case, rule, topic),)
    return case.remembered[key][0]


def _in_words_of(rule: RecallOf, finding: Finding) -> Finding:
    gaps = tuple(replace(gap, sentence=rule.sentence, source=rule.source) for gap in finding.gaps)
    return replace(finding, gaps=gaps)


def _check_topic(case: Case, rule: RecallOf, topic: Topic) -> Finding:
    """Each life question and, stage by stage, the mean at their floors, enough answered, no open unsafe answer."""
    gaps = list(unsafe_gaps(case, rule, topic))
    asked = stages(case, rule, topic)
    begun = [stage for stage in asked if stage.from_day <= case.today]
    if not begun:
        first = asked[0].from_day if asked else None
        return Finding(gaps=(*gaps, no_questions_gap(rule, topic, first)))
    life = [question for stage in begun for question in stage.life]
    short = [q for q in life if not _meets(case, [q], rule.life_floor, case.at)]
    if short:
        gaps.append(life_gap(case, rule, topic, _shown(case, short), len(life)))
    if not all(_stage_holds(case, rule, stage, case.at) for stage in begun):
        gaps.append(topic_gap(case, rule, topic, [_seen(case, stage) for stage in begun]))
    if gaps:
        return Finding(gaps=tuple(gaps))
    end = _first_end(case, rule, topic, asked)
    return Finding(endings=() if end is None else (end,))


def _first_end(case: Case, rule: RecallOf, topic: Topic, asked: Sequence[Stage]) -> Ending | None:
    """When the topic first fails: by forgetting, or on the day on which a further question begins to count."""
    end: Ending | None = None
    for stage in asked:
        start = case.at
        if stage.from_day > case.today:
            start = close_of_day(stage.from_day - timedelta(days=1), case.zone)
            if end is not None and end.at <= start:
                return end
            if not _begins_well(case, rule, stage, start):
                return at_start_of(stage.from_day, case.zone, Ground.RECALL_TOPIC, topic)
        end = _end_in_stage(case, rule, topic, stage, start, end)
    return end


def _end_in_stage(
    case: Case, rule: RecallOf, topic: Topic, stage: Stage, start: datetime, end: Ending | None
) -> Ending | None:
    """``end``, or when the stage is forgotten if that comes first; all of it holds at ``start``."""
    for question in stage.life:
        end = _sooner(case, [question], rule.life_floor, start, (Ground.RECALL_LIFE_QUESTIONS, topic), end)
    if rule.topic_mean_floor is not None:
        end = _sooner(case, stage.counted, rule.topic_mean_floor, start, (Ground.RECALL_TOPIC, topic), end)
    return end


def _sooner(
    case: Case,
    questions: Sequence[QuestionGate],
    floor: float,
    start: datetime,
    because: tuple[Ground, Topic],
    end: Ending | None,
) -> Ending:
    """``end``, or the last minute of these questions if they fall before it; looked for only where they do."""
    if end is not None and _meets(case, questions, floor, end.at):
        return end
    last = (
        last_minute_at_floor(gates_of(case, questions), point_of(case), floor, start, case.evidence.parameters) or start
    )
    return at_instant(last, *because)


def _begins_well(case: Case, rule: RecallOf, stage: Stage, start: datetime) -> bool:
    life = all(_meets(case, [question], rule.life_floor, start) for question in stage.life)
    return life and _stage_holds(case, rule, stage, start)


def _stage_holds(case: Case, rule: RecallOf, stage: Stage, at: datetime) -> bool:
    """Mean at its floor, and enough of the others answered; nothing is asked where only life questions count."""
    if rule.topic_mean_floor is None:
        return True
    return not unanswered(case, stage) and _meets(case, stage.counted, rule.topic_mean_floor, at)


def _meets(case: Case, questions: Sequence[QuestionGate], floor: float, at: datetime) -> bool:
    """Whether recall low meets the floor now and still at a whole minute after now, so that its end lies ahead."""
    minute = _minute_after(at)
    total = math.fsum(_own_low(case, question, minute) for question in questions)
    if questions and total >= (floor + _HAIR) * len(questions):
        return True  # each rounded down by itself, so that the mean rounded down once is no less
    return _low(case, questions, minute) >= floor


def _own_low(case: Case, question: QuestionGate, at: datetime) -> float:
    lows = case.lows.setdefault(at, {})
    if question.question not in lows:
        lows[question.question] = _low(case, [question], at)
    return lows[question.question]


def _minute_after(at: datetime) -> datetime:
    return whole_minute(at) + timedelta(minutes=1)


def _low(case: Case, questions: Sequence[QuestionGate], at: datetime) -> float:
    return mean_gate_low(gates_of(case, questions), point_of(case), at, case.evidence.parameters)


def gates_of(case: Case, questions: Iterable[QuestionGate]) -> list[Gate | None]:
    """The gates of these questions, as far as each proves anything at the instant asked about."""
    return [_proved(case, q) for q in questions]


def _proved(case: Case, question: QuestionGate) -> Gate | None:
    """The gate, as far as it proves anything: nothing without the person's point, nor after the instant asked about."""
    gate = question.gate
    if gate is None or case.evidence.moments is None:
        return None
    return gate if gate.last_at is None or gate.last_at <= case.at else None


def point_of(case: Case) -> PersonMoments:
    """What is known of the person; nothing known where the evidence says nothing."""
    return case.evidence.moments or PersonMoments()


def _shown(case: Case, questions: Sequence[QuestionGate]) -> tuple[Shown, ...]:
    """The questions with their recall low as it is compared with the floor: at the whole minute after now."""
    at = _minute_after(case.at)
    return tuple(Shown(question=q, gate=_proved(case, q), low=_low(case, [q], at)) for q in questions)


def _seen(case: Case, stage: Stage) -> Seen:
    low = _low(case, stage.counted, _minute_after(case.at))
    return Seen(shown=_shown(case, stage.counted), low=low, unanswered=unanswered(case, stage))
