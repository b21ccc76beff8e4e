"""What it takes to keep a topic from falling below what is asked: the fewest minutes of drill, the day before."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Final

from training.core.memory.gates import Gate, gate_after, gate_low, mean_gate_low
from training.core.memory.schedule import SAFETY_MARGIN
from training.core.memory.steps import Shown
from training.core.permission.decision import Ending
from training.core.permission.evidence import QuestionGate
from training.core.permission.findings import Case
from training.core.permission.questions import Stage, is_life, stages, unanswered
from training.core.permission.recall import gates_of, point_of
from training.core.permission.rule_book import RecallOf
from training.core.questions.kinds import Topic
from training.core.trade.calendar import local_day

THE_DAY_BEFORE: Final = timedelta(days=1)
A_WEEK_MORE: Final = timedelta(days=7)


def minutes_to_keep(case: Case, rule: RecallOf, topic: Topic, ending: Ending) -> int | None:
    """Minutes of right answers, one a question, that keep the topic a week beyond ``ending`` for this rule.

    Given on the day before it ends, or now if that is past. Those of life questions that fall below their floor by
    then, and as many more as the mean needs, those that it helps most first. None where one answer a question is not
    enough: then only drilling shift by shift keeps it.
    """
    answered_at, later = max(case.at, ending.at - THE_DAY_BEFORE), ending.at + A_WEEK_MORE
    asked = [stage for stage in stages(case, rule, topic) if stage.from_day <= local_day(later, case.zone)]
    if not asked:
        return None
    counted = asked[-1].counted
    before = dict(zip(counted, gates_of(case, counted), strict=True))
    after = {question: _answered(case, question, gate, answered_at) for question, gate in before.items()}
    chosen = [q for q in counted if is_life(q.consequence) and _low(case, before[q], later) < rule.life_floor]
    if any(_low(case, after[q], later) < rule.life_floor for q in chosen):
        return None
    if not all(_mean_kept(case, rule, stage, before, after, chosen, later) for stage in asked):
        return None
    return math.ceil(sum(question.seconds for question in chosen) / 60)


def _mean_kept(
    case: Case,
    rule: RecallOf,
    stage: Stage,
    before: Mapping[QuestionGate, Gate | None],
    after: Mapping[QuestionGate, Gate | None],
    chosen: list[QuestionGate],
    later: datetime,
) -> bool:
    """Add to ``chosen`` what the mean of a stage needs, and new questions for the share answered; False: no way."""
    if rule.topic_mean_floor is None:
        return True
    chosen += _new_ones(case, stage, chosen)
    lift = {q: _low(case, after[q], later) - _low(case, before[q], later) for q in stage.counted if q not in chosen}
    waiting = sorted((q for q in lift if lift[q] > 0), key=lambda q: (lift[q], q.question))
    floor = min(rule.topic_mean_floor + SAFETY_MARGIN, max(rule.topic_mean_floor, 0.999))
    while not _meets(case, stage.counted, before, after, chosen, floor, later):
        if not waiting:
            return False
        chosen.append(waiting.pop())
    return True


def _new_ones(case: Case, stage: Stage, chosen: Sequence[QuestionGate]) -> list[QuestionGate]:
    never = [q for q in stage.counted if not q.answered and not is_life(q.consequence)]
    wanted = unanswered(case, stage) - sum(question in chosen for question in never)
    return [question for question in never if question not in chosen][: max(0, wanted)]


def _meets(
    case: Case,
    counted: Sequence[QuestionGate],
    before: Mapping[QuestionGate, Gate | None],
    after: Mapping[QuestionGate, Gate | None],
    chosen: Sequence[QuestionGate],
    floor: float,
    later: datetime,
) -> bool:
    gates = [after[question] if question in chosen else before[question] for question in counted]
    return mean_gate_low(gates, point_of(case), later, case.evidence.parameters) >= floor


def _low(case: Case, gate: Gate | None, at: datetime) -> float:
    return gate_low(gate, point_of(case), at, case.evidence.parameters)


def _answered(case: Case, question: QuestionGate, gate: Gate | None, at: datetime) -> Gate:
    """The gate after a right answer, at the person's present point."""
    start, who = gate or Gate(), point_of(case)
    shown = Shown(right=True, chance_floor=question.chance_floor, off=who.ability + start.easiness, fade=who.fade)
    return gate_after(start, shown, at, parameters=case.evidence.parameters)
