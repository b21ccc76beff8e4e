"""The outlook at its edges: the days it looks at, what counts today, how far ahead minutes are told."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from tests.core.permission.builders import AT, asks, book, damage, evidence, holds, job_type, question, recall_of
from training.core.permission.decision import Ground
from training.core.permission.outlook import Ask, TopicOutlook, outlook
from training.core.permission.rule_book import RuleBook
from training.core.questions.kinds import Topic

WITH_MEAN = asks(recall_of(life=0.6, mean=0.4))


def topics(*questions: object, rules: RuleBook = WITH_MEAN) -> tuple[TopicOutlook, ...]:
    return outlook(evidence(gates=tuple(questions)), rules, rules.job_types, at=AT)


def test_recall_is_looked_at_today_and_on_nine_days_of_the_next_ninety() -> None:
    (found,) = topics(question("q1"))
    assert [point.days for point in found.points] == [0, 3, 7, 14, 21, 28, 42, 56, 70, 90]


def test_a_topic_in_which_nothing_counts_has_no_figures() -> None:
    (found,) = topics()
    assert (found.points, found.counted, found.life, found.lapses) == ((), 0, 0, ())
    assert [short.gap.ground for short in found.shorts] == [Ground.NO_QUESTIONS]


def test_only_questions_that_count_today_are_counted_each_once() -> None:
    later = question("new", accepted_on=date(2026, 2, 10), ln_hold=1.0)
    today = question("old", accepted_on=date(2026, 2, 2), ln_hold=1.0)
    (found,) = topics(question("q1"), damage("d1", ln_hold=-1.0), later, today)
    assert (found.counted, found.life) == (3, 2)
    lesser = [damage("d1", ln_hold=-1.0), damage("d2", ln_hold=-1.0)]
    (found,) = topics(*lesser)
    assert (found.counted, found.life) == (2, 0)
    assert {point.lowest_life for point in found.points} == {None}


def test_shares_are_told_in_thousandths() -> None:
    (found,) = topics(question("q1"), damage("d1", ln_hold=None))
    for point in found.points:
        assert point.likely == round(point.likely, 3)
        assert point.low <= point.likely < 0.5
        assert point.lowest_life is not None
        assert point.lowest_life > point.low


@pytest.mark.parametrize(("rule", "asked"), [(recall_of(mean=None), None), (recall_of(mean=0.4), 0.4)])
def test_what_each_job_type_asks_itself_is_told(rule: object, asked: float | None) -> None:
    own = recall_of(Topic.RESCUE, Topic.PPE, life=0.5, mean=0.3)
    rules = book(job_type(rule, key="A"), job_type(holds("A"), own, key="J"))  # type: ignore[arg-type]
    rescue, ppe = topics(question("q1"), question("p1", topic=Topic.PPE), rules=rules)
    assert (rescue.topic, ppe.topic) == (Topic.RESCUE, Topic.PPE)
    assert rescue.asks == (
        Ask(job_type="A", life_floor=0.6, mean_floor=asked),
        Ask(job_type="J", life_floor=0.5, mean_floor=0.3),
    )
    assert ppe.asks == (Ask(job_type="J", life_floor=0.5, mean_floor=0.3),)


def test_who_lapses_together_is_told_together_soonest_first() -> None:
    rules = book(
        job_type(recall_of(life=0.3, mean=None), key="A"),
        job_type(recall_of(life=0.6, mean=None), key="B"),
        job_type(holds("B"), key="C"),
    )
    (found,) = topics(question("q1", ln_hold=-2.0), rules=rules)
    assert [lapse.job_types for lapse in found.lapses] == [("B", "C"), ("A",)]
    assert found.lapses[0].ending.at < found.lapses[1].ending.at
    strict = replace(rules, job_types=(*rules.job_types, job_type(recall_of(life=0.99, mean=None), key="D")))
    (found,) = topics(question("q1", ln_hold=-2.0), rules=strict)
    assert [lapse.job_types for lapse in found.lapses] == [("B", "C"), ("A",)]
    assert [short.job_types for short in found.shorts] == [("D",)]
