"""The outlook of a topic: figures that are the gates' own, lapses that are decide's ends, minutes that really keep."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.permission.builders import (
    AT,
    WHO,
    answer,
    asks,
    book,
    damage,
    days_ago,
    evidence,
    holds,
    job_type,
    question,
    recall_of,
)
from training.core.memory.gates import Gate, gate_after, gate_low, gate_mean, mean_gate_low
from training.core.memory.recall import recall_mean
from training.core.memory.steps import Shown
from training.core.permission.decision import Ground, Mode
from training.core.permission.evidence import QuestionGate
from training.core.permission.outlook import LOOKED_AT_DAYS, TopicOutlook, outlook
from training.core.permission.rule_book import RuleBook
from training.core.questions.kinds import Topic

MEAN_AND_LIFE = asks(recall_of(life=0.6, mean=0.4))


def topics(*questions: QuestionGate, rules: RuleBook = MEAN_AND_LIFE, **fields: Any) -> tuple[TopicOutlook, ...]:
    return outlook(evidence(gates=questions, **fields), rules, rules.job_types, at=AT)


def the_topic(*questions: QuestionGate, rules: RuleBook = MEAN_AND_LIFE, **fields: Any) -> TopicOutlook:
    (found,) = topics(*questions, rules=rules, **fields)
    return found


# ----------------------------------------------------------------------------------------------------------- figures


def test_every_figure_is_that_of_the_gates_at_that_instant() -> None:
    questions = [question("q1"), question("q2", ln_hold=-4.0), damage("q3", ln_hold=-5.0), damage("q4", ln_hold=None)]
    found = the_topic(*questions)
    assert [point.days for point in found.points] == list(LOOKED_AT_DAYS)
    for point in found.points:
        at = AT + timedelta(days=point.days)
        gates = [one.gate for one in questions]
        assert point.low == mean_gate_low(gates, WHO, at)
        assert point.lowest_life == min(gate_low(gate, WHO, at) for gate in gates[:2])
        assert point.likely == int(sum(gate_mean(gate, WHO, at) for gate in gates) / 4 * 1000) / 1000
    assert (found.counted, found.life) == (4, 2)


def test_what_is_likely_is_the_predictive_mean_of_the_model() -> None:
    gate = Gate(ln_hold=-4.0, last_at=days_ago(10))
    whole = recall_mean(-4.0, 10.0, WHO, easiness_var=gate.easiness_var)
    assert gate_mean(gate, WHO, AT) == pytest.approx(float(whole), abs=0.001)


@given(holds=st.lists(st.floats(-8.0, 2.0), min_size=1, max_size=6), wrong=st.integers(0, 3))
def test_no_line_ever_rises_with_time_and_the_band_is_never_upside_down(holds: list[float], wrong: int) -> None:
    gates = [Gate(ln_hold=held, last_at=days_ago(1 + n), wrong_running=wrong) for n, held in enumerate(holds)]
    questions = [replace(question(f"q{n}"), gate=gate) for n, gate in enumerate(gates)]
    points = the_topic(*questions).points
    for before, after in zip(points, points[1:], strict=False):
        assert after.low <= before.low
        assert after.likely <= before.likely
        assert (after.lowest_life or 0.0) <= (before.lowest_life or 0.0)
    assert all(0.0 <= point.low <= point.likely + 0.001 for point in points)


def test_questions_that_do_not_count_yet_are_in_no_figure() -> None:
    new = damage("q2", ln_hold=None, accepted_on=date(2026, 2, 20))
    assert the_topic(question("q1"), new).counted == 1


def test_a_topic_without_any_question_has_no_curve_and_says_so() -> None:
    found = the_topic()
    assert found.points == ()
    assert [short.gap.ground for short in found.shorts] == [Ground.NO_QUESTIONS]


def test_without_the_persons_point_nothing_is_proved() -> None:
    found = the_topic(question("q1"), moments=None)
    assert {point.low for point in found.points} == {0.0}
    assert found.lapses == ()


# ------------------------------------------------------------------------------------------------------------ lapses


def test_a_lapse_is_the_end_that_decide_finds() -> None:
    questions = [question("q1"), question("q2", ln_hold=-4.0), damage("q3", ln_hold=-5.0)]
    decision = answer(evidence(gates=questions), MEAN_AND_LIFE)
    (lapse,) = the_topic(*questions).lapses
    assert decision.mode is Mode.ALONE
    assert lapse.ending == decision.ends_by
    assert lapse.job_types == ("J",)


def test_job_types_that_lapse_together_are_told_together_and_those_that_stand_on_them_too() -> None:
    low, high = recall_of(life=0.6, mean=None), recall_of(life=0.85, mean=0.4)
    rules = book(job_type(low, key="A"), job_type(holds("A"), key="B"), job_type(high, holds("B"), key="C"))
    found = the_topic(question("q1"), rules=rules)
    assert [lapse.job_types for lapse in found.lapses] == [("C",), ("A", "B")]
    assert found.lapses[0].ending.at < found.lapses[1].ending.at
    assert [(ask.job_type, ask.life_floor, ask.mean_floor) for ask in found.asks] == [
        ("A", 0.6, None),
        ("C", 0.85, 0.4),
    ]


def test_what_is_below_now_names_its_job_types_and_lapses_no_more() -> None:
    rules = book(job_type(recall_of(mean=None), key="A"), job_type(recall_of(life=0.95), holds("A"), key="B"))
    found = the_topic(question("q1"), rules=rules)
    assert [(short.gap.ground, short.job_types) for short in found.shorts] == [(Ground.RECALL_LIFE_QUESTIONS, ("B",))]
    assert [lapse.job_types for lapse in found.lapses] == [("A",)]


def test_each_topic_is_told_once_in_the_order_asked() -> None:
    rules = book(
        job_type(recall_of(Topic.RESCUE, mean=None), key="A"),
        job_type(recall_of(Topic.ISOLATION, Topic.RESCUE), key="B"),
    )
    found = topics(question("q1"), question("q2", topic=Topic.ISOLATION), rules=rules)
    assert [one.topic for one in found] == [Topic.RESCUE, Topic.ISOLATION]


# ----------------------------------------------------------------------------------------------------------- keeping


def kept(questions: list[QuestionGate], answered: list[str], at: datetime) -> list[QuestionGate]:
    """The questions after right answers to some of them."""
    moved = []
    for one in questions:
        shown = Shown(right=True, chance_floor=one.chance_floor, off=WHO.ability, fade=WHO.fade)
        after = gate_after(one.gate or Gate(), shown, at) if one.question in answered else one.gate
        moved.append(replace(one, gate=after, answered=after is not None))
    return moved


def test_drilling_the_life_question_that_fades_keeps_the_topic_for_a_week() -> None:
    questions = [question("q1", ln_hold=-4.0, seconds=90.0), question("q2", ln_hold=0.0), question("q3", ln_hold=0.0)]
    (lapse,) = the_topic(*questions).lapses
    assert lapse.minutes == 2  # one question of 90 seconds
    before = lapse.ending.at - timedelta(days=1)
    after = answer(evidence(gates=kept(questions, ["q1"], before)), MEAN_AND_LIFE, at=before)
    assert after.until is not None
    assert after.until >= lapse.ending.at + timedelta(days=7)
    idle = answer(evidence(gates=questions), MEAN_AND_LIFE, at=before)
    assert idle.until == lapse.ending.at


def test_what_the_mean_needs_is_counted_as_well() -> None:
    questions = [damage(f"q{n}", ln_hold=-3.5, seconds=60.0) for n in range(6)]
    (lapse,) = the_topic(*questions).lapses
    assert lapse.ending.because is Ground.RECALL_TOPIC
    assert lapse.minutes is not None
    before = lapse.ending.at - timedelta(days=1)

    def lasts(count: int) -> bool:
        drilled = kept(questions, [f"q{n}" for n in range(count)], before)
        until = answer(evidence(gates=drilled), MEAN_AND_LIFE, at=before).until
        return until is not None and until >= lapse.ending.at + timedelta(days=7)

    least = next(count for count in range(7) if lasts(count))  # one minute a question, all alike
    assert lasts(lapse.minutes)
    assert 1 <= least <= lapse.minutes <= least + 1  # no more than a margin over the floor


def test_no_minutes_are_promised_where_one_answer_a_question_is_not_enough() -> None:
    first_answer_yesterday = question("q1", ln_hold=-6.7, last_at=days_ago(1.1))
    rules = asks(recall_of(life=0.3, mean=None))
    (lapse,) = the_topic(first_answer_yesterday, rules=rules).lapses
    assert lapse.ending.at < AT + timedelta(days=3)
    assert lapse.minutes is None


def test_a_question_that_begins_to_count_is_met_in_time_by_its_minutes() -> None:
    new = damage("q2", ln_hold=None, accepted_on=date(2026, 2, 9), seconds=60.0)
    rules = asks(recall_of(life=0.3, mean=0.4))
    (lapse,) = the_topic(question("q1", ln_hold=0.0), new, rules=rules).lapses
    assert lapse.ending.by_day == date(2026, 3, 8)
    assert lapse.minutes == 1


def test_what_lapses_far_ahead_has_no_minutes() -> None:
    (lapse,) = the_topic(question("q1", ln_hold=3.0)).lapses
    assert lapse.ending.at > AT + timedelta(days=90)
    assert lapse.minutes is None
