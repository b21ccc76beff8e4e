"""Minutes that keep a topic: none are promised where one right answer a question does not do it."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.core.permission.builders import AT, answer, asks, damage, days_ago, evidence, question, recall_of
from tests.core.permission.test_outlook import kept
from training.core.permission.decide import case_of
from training.core.permission.decision import Ending, Ground
from training.core.permission.evidence import QuestionGate
from training.core.permission.keeping import minutes_to_keep
from training.core.permission.rule_book import RuleBook
from training.core.questions.kinds import Topic

BEFORE, WEEK = timedelta(days=1), timedelta(days=7)


def minutes(questions: list[QuestionGate], rules: RuleBook, topic: Topic = Topic.RESCUE) -> int | None:
    """For the end that ``decide`` finds, or tomorrow where it finds none."""
    given = evidence(gates=tuple(questions))
    ending = answer(given, rules).ends_by or Ending(at=AT + BEFORE, because=Ground.RECALL_TOPIC, subject=topic)
    (rule,) = rules.job_types[0].requirements
    return minutes_to_keep(case_of(given, rules, AT), rule, topic, ending)  # type: ignore[arg-type]


def test_a_topic_of_which_nothing_is_accepted_has_no_minutes() -> None:
    rules = asks(recall_of(Topic.RESCUE, life=0.6, mean=0.4))
    assert minutes([question("q1")], rules, Topic.PPE) is None


def test_a_topic_all_of_whose_questions_begin_to_count_later_still_has_no_minutes() -> None:
    rules = asks(recall_of(Topic.RESCUE, life=0.6, mean=0.4))
    coming = damage("q1", ln_hold=None, accepted_on=(AT + timedelta(days=100)).date())
    assert minutes([coming], rules) is None


def fading(ln_hold: float) -> list[QuestionGate]:
    """Three questions of a minute each, answered right for the first time yesterday."""
    return [damage(f"q{n}", ln_hold=ln_hold, last_at=days_ago(1.1), seconds=60.0) for n in range(3)]


@pytest.mark.parametrize(
    ("ln_hold", "floor", "expected"),
    [
        pytest.param(-6.0, 0.4, None, id="not even by all three"),
        pytest.param(-6.0, 0.2, 3, id="by all three"),
        pytest.param(-5.5, 0.2, 2, id="by two"),
        pytest.param(-4.0, 0.4, 1, id="by one"),
    ],
)
def test_drilling_that_many_keeps_the_mean_a_week_more_and_all_three_do_not_where_none_is_promised(
    ln_hold: float, floor: float, expected: int | None
) -> None:
    rules, questions = asks(recall_of(life=0.3, mean=floor)), fading(ln_hold)
    until = answer(evidence(gates=tuple(questions)), rules).until
    assert until is not None
    assert minutes(questions, rules) == expected
    at = max(AT, until - BEFORE)
    drilled = kept(questions, [f"q{n}" for n in range(expected or 3)], at)
    after = answer(evidence(gates=tuple(drilled)), rules, at=at).until
    assert after is not None
    assert (after >= until + WEEK) is (expected is not None)
