"""Which questions count and from which day; the stages of a topic; that time alone never clears anyone."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.permission.builders import (
    AT,
    LIFE_ONLY,
    WHO,
    WITH_MEAN,
    answer,
    asks,
    damage,
    days_ago,
    gap_of,
    grounds,
    judged,
    no_better,
    question,
    recall_of,
    unsafe,
)
from tests.core.permission.strategies import COMING, QUESTIONS, RECALL_RULES, cases
from training.core.memory.gates import Gate, mean_gate_low
from training.core.permission.decision import Ground, Mode
from training.core.permission.evidence import QuestionGate
from training.core.permission.questions import counting
from training.core.permission.rule_book import RecallOf, Requirement
from training.core.questions.kinds import Consequence, Topic

# ------------------------------------------------------------------------------------------------- what counts, when


FIRST_DAY = date(2026, 2, 1)


@pytest.mark.parametrize(
    ("accepted_on", "counts"),
    [
        pytest.param(date(2026, 2, 2), True, id="28 days in use"),
        pytest.param(date(2026, 2, 3), False, id="27 days in use"),
        pytest.param(date(2026, 3, 2), False, id="accepted today"),
        pytest.param(FIRST_DAY, True, id="on the topic's first day"),
        pytest.param(date(2026, 1, 20), True, id="itself the first of its topic"),
    ],
)
def test_a_later_question_counts_once_in_use_for_28_days(accepted_on: date, counts: bool) -> None:
    decision = judged(question("q1", accepted_on=FIRST_DAY), question("new", ln_hold=None, accepted_on=accepted_on))
    assert (decision.mode is Mode.NOT_CLEARED) is counts


@pytest.mark.parametrize("rules", [WITH_MEAN, LIFE_ONLY], ids=["with a mean", "life only"])
def test_the_first_questions_of_a_topic_count_from_the_day_they_are_accepted(rules: Any) -> None:
    today = date(2026, 3, 2)
    assert judged(question("q1", accepted_on=today), rules=rules).mode is Mode.ALONE
    unknown = question("q2", ln_hold=None, accepted_on=today)
    assert Ground.RECALL_LIFE_QUESTIONS in grounds(
        judged(question("q1", accepted_on=today), unknown, rules=rules),
    )


def test_the_first_day_is_that_of_the_questions_asked_about_and_of_their_own_topic() -> None:
    lesser = damage("old", ln_hold=None)
    elsewhere = question("other", topic=Topic.PPE)
    unknown = question("q1", ln_hold=None, accepted_on=date(2026, 3, 1))
    decision = judged(lesser, elsewhere, unknown, rules=LIFE_ONLY)
    assert gap_of(decision, Ground.RECALL_LIFE_QUESTIONS).remedy.questions == ("q1",)
    assert Ground.RECALL_LIFE_QUESTIONS not in grounds(judged(lesser, unknown, rules=WITH_MEAN))  # there it came later


def test_until_ends_on_the_day_on_which_a_question_not_known_begins_to_count() -> None:
    decision = judged(question("q1", ln_hold=1.0), question("new", ln_hold=None, accepted_on=date(2026, 2, 10)))
    assert decision.mode is Mode.ALONE
    # 10 Feb + 28 days = 10 Mar 2026, which begins in Berlin at 23:00 UTC
    assert decision.until == datetime(2026, 3, 9, 23, 0, tzinfo=UTC)
    assert decision.ends_by is not None
    assert (decision.ends_by.because, decision.ends_by.by_day) == (Ground.RECALL_TOPIC, date(2026, 3, 9))


def test_a_known_question_that_begins_to_count_ends_nothing_by_itself() -> None:
    known = question("new", ln_hold=1.0, accepted_on=date(2026, 2, 10))
    alone = judged(question("q1", ln_hold=-1.0))
    assert judged(question("q1", ln_hold=-1.0), known).until == alone.until


def test_forgetting_before_that_day_ends_first() -> None:
    decision = judged(
        question("q1", ln_hold=-4.8, last_at=days_ago(0.1)),
        question("new", ln_hold=None, accepted_on=date(2026, 2, 10)),
    )
    assert decision.ends_by is not None
    assert decision.ends_by.because is Ground.RECALL_LIFE_QUESTIONS
    assert decision.ends_by.at < datetime(2026, 3, 9, 23, 0, tzinfo=UTC)


def test_a_question_accepted_after_the_day_asked_about_leaves_its_topic_without_any_and_says_when_it_came() -> None:
    decision = judged(question("q1", accepted_on=date(2026, 3, 20)))
    assert grounds(decision) == [Ground.NO_QUESTIONS]
    assert decision.gaps[0].remedy.earliest_on == date(2026, 3, 20)
    assert judged().gaps[0].remedy.earliest_on is None


def test_a_manager_may_let_questions_count_sooner() -> None:
    rules = replace(WITH_MEAN, in_use_days=0)
    new = question("new", ln_hold=None, accepted_on=date(2026, 3, 2))
    assert judged(question("q1"), new).mode is Mode.ALONE
    assert grounds(judged(question("q1"), new, rules=rules)) == [Ground.RECALL_LIFE_QUESTIONS]
    assert judged(question("q1"), replace(new, accepted_on=date(2026, 3, 3)), rules=rules).mode is Mode.ALONE


@given(cases(), COMING, st.floats(0, 60), st.integers(0, 28))
def test_letting_questions_count_sooner_clears_no_more(
    one: Any, new: list[QuestionGate], days: float, sooner: int
) -> None:
    """Without a limit: under one, a question that counts sooner may take a place ahead of another topic's."""
    given_evidence, rules = one
    unlimited = tuple(replace(j, requirements=tuple(map(without_limit, j.requirements))) for j in rules.job_types)
    rules, at = replace(rules, job_types=unlimited), AT + timedelta(days=days)
    with_new = replace(given_evidence, gates=(*given_evidence.gates, *new))
    soon = answer(with_new, replace(rules, in_use_days=sooner), at=at)
    assert no_better(soon, answer(with_new, rules, at=at))


def without_limit(requirement: Requirement) -> Requirement:
    if not isinstance(requirement, RecallOf):
        return requirement
    return replace(requirement, most_life_questions=None, most_a_topic=None)


def test_a_limit_a_topic_keeps_as_many_life_questions_and_as_many_others_of_each() -> None:
    both = (Topic.RESCUE, Topic.PPE)
    others = [damage(f"{topic} {n}", topic=topic, accepted_on=FIRST_DAY) for topic in both for n in range(4)]
    life = [question(f"{topic} life {n}", topic=topic, accepted_on=FIRST_DAY) for topic in both for n in range(2)]
    late = [question("PPE a", topic=Topic.PPE, accepted_on=FIRST_DAY + timedelta(days=1))]
    kept = counting(in_order([*others, *life, *late]), recall_of(*both, a_topic=2), 28)
    assert sorted(kept) == sorted(f"{topic} {n}" for topic in both for n in ("0", "1", "life 0", "life 1"))


def test_a_topic_accepted_later_than_another_has_places_of_its_own() -> None:
    early = [question(f"early {n}", accepted_on=FIRST_DAY) for n in range(5)]
    late = [question(f"late {n}", topic=Topic.PPE, accepted_on=date(2026, 3, 1)) for n in range(5)]
    rule = recall_of(Topic.RESCUE, Topic.PPE, a_topic=2)
    assert sorted(counting(in_order([*early, *late]), rule, 28)) == ["early 0", "early 1", "late 0", "late 1"]


def test_others_beyond_the_limit_count_neither_in_the_mean_nor_in_the_share() -> None:
    known, new = damage("a"), [damage(f"b{n}", ln_hold=None) for n in range(9)]
    assert judged(question("q1"), known, *new).mode is Mode.NOT_CLEARED
    assert judged(question("q1"), known, *new, rules=asks(recall_of(a_topic=1))).mode is Mode.ALONE


def test_an_unsafe_answer_blocks_whether_its_question_counts_or_not() -> None:
    left_out = unsafe("z", consequence=Consequence.LIFE)
    decision = judged(question("q1"), question("z"), rules=asks(recall_of(most=1)), unsafe=(left_out,))
    assert grounds(decision) == [Ground.UNSAFE_ANSWER]


@given(RECALL_RULES, st.lists(QUESTIONS, max_size=6, unique_by=lambda q: q.question), COMING)
def test_one_that_begins_to_count_later_takes_no_place_of_one_that_counts(
    rule: RecallOf, old: list[QuestionGate], new: list[QuestionGate]
) -> None:
    before = counting(in_order(old), rule, 28)
    after = counting(in_order([*old, *(replace(q, accepted_on=date(2027, 1, 1)) for q in new)]), rule, 28)
    assert before.items() <= after.items()


@given(cases(), st.floats(0, 60))
def test_one_more_life_question_that_counts_clears_no_more(one: Any, days: float) -> None:
    """Of life questions alone: under a mean, one more that is known well may lift it."""
    given_evidence, rules = one
    at = AT + timedelta(days=days)
    fewer = replace(rules, job_types=tuple(replace(j, requirements=of_life(j.requirements)) for j in rules.job_types))
    more = replace(fewer, job_types=tuple(replace(j, requirements=one_more(j.requirements)) for j in fewer.job_types))
    assert no_better(answer(given_evidence, more, at=at), answer(given_evidence, fewer, at=at))


def of_life(requirements: Iterable[Requirement]) -> tuple[Requirement, ...]:
    return tuple(replace(one, topic_mean_floor=None) if isinstance(one, RecallOf) else one for one in requirements)


def one_more(requirements: Iterable[Requirement]) -> tuple[Requirement, ...]:
    return tuple(_with_one_more(one) if isinstance(one, RecallOf) else one for one in requirements)


def _with_one_more(asked: RecallOf) -> RecallOf:
    if asked.most_life_questions is not None:
        return replace(asked, most_life_questions=asked.most_life_questions + 1)
    return replace(asked, most_a_topic=None if asked.most_a_topic is None else asked.most_a_topic + 1)


def in_order(questions: Iterable[QuestionGate]) -> list[QuestionGate]:
    return sorted(questions, key=lambda q: (q.accepted_on, q.question))


# ------------------------------------------------------------------------------------------ time alone never clears

WEAK = [damage(f"weak{n}", ln_hold=-6.7, accepted_on=FIRST_DAY) for n in range(2)]  # each about .3, and they fall
GOOD = [damage(f"good{n}", ln_hold=2.0, accepted_on=date(2026, 2, 10)) for n in range(6)]  # they count from 10 March
ON_10_MARCH = datetime(2026, 3, 10, 12, 0, tzinfo=UTC)


def test_a_known_question_that_comes_into_use_lifts_no_mean() -> None:
    assert judged(*WEAK, *GOOD, rules=replace(WITH_MEAN, in_use_days=0)).mode is Mode.NOT_CLEARED
    for at in (AT, ON_10_MARCH, ON_10_MARCH + timedelta(days=30)):
        assert grounds(judged(*WEAK, *GOOD, at=at)) == [Ground.RECALL_TOPIC]


@given(
    st.lists(RECALL_RULES, min_size=1, max_size=2),
    st.lists(QUESTIONS, max_size=3, unique_by=lambda q: q.question),
    COMING,
    st.data(),
)
def test_where_only_recall_is_asked_time_alone_never_clears(
    recall: list[RecallOf], old: list[QuestionGate], new: list[QuestionGate], data: st.DataObject
) -> None:
    rules = replace(asks(*recall), share_of_others_answered=data.draw(st.sampled_from([0.0, 0.5, 0.8])))
    instants = [AT + timedelta(days=n) for n in sorted(data.draw(st.lists(st.integers(0, 60), min_size=3, max_size=6)))]
    decisions = [judged(*old, *new, rules=rules, at=at) for at in instants]
    assert all(no_better(later, earlier) for earlier, later in pairwise(decisions))


def test_an_answered_question_that_comes_into_use_lifts_no_share() -> None:
    low_floor = asks(recall_of(mean=0.01))
    first = [damage(f"q{n}", ln_hold=2.0 if n < 3 else None, accepted_on=FIRST_DAY) for n in range(5)]
    for at in (AT, ON_10_MARCH):
        gap = gap_of(judged(*first, *GOOD, rules=low_floor, at=at), Ground.RECALL_TOPIC)
        assert dict(gap.facts)["unanswered"] == 1
        assert gap.remedy.questions == ("q3",)


def test_a_question_that_comes_into_use_does_not_open_a_topic_without_any() -> None:
    for at in (AT, ON_10_MARCH):
        assert grounds(judged(damage("q1", accepted_on=date(2026, 2, 10)), rules=LIFE_ONLY, at=at)) == [
            Ground.NO_QUESTIONS
        ]


def test_of_all_stages_the_lowest_mean_is_told_and_the_questions_that_make_up_for_every_stage() -> None:
    unknown = [damage(f"unknown{n}", ln_hold=None, accepted_on=date(2026, 2, 2)) for n in range(9)]  # from 2 March
    first, second = [*WEAK], [*WEAK, *unknown]
    decision = judged(*second)
    gap = gap_of(decision, Ground.RECALL_TOPIC)
    means = [mean_gate_low([q.gate for q in stage], WHO, AT) for stage in (first, second)]
    assert means[0] > means[1]
    assert dict(gap.facts) == {"recall_low": f"{means[1]:.3f}", "asked": "0.400", "unanswered": 7}
    assert set(gap.remedy.questions) == {"weak0", "weak1", *(f"unknown{n}" for n in range(9))}
    only_first = gap_of(judged(*WEAK, *GOOD, at=ON_10_MARCH), Ground.RECALL_TOPIC)
    assert only_first.remedy.questions == ("weak0", "weak1")
    assert dict(only_first.facts)["recall_low"] == f"{mean_gate_low([q.gate for q in WEAK], WHO, ON_10_MARCH):.3f}"


@given(cases(), COMING, st.floats(0, 60))
def test_answering_the_questions_that_the_gaps_name_leaves_no_gap_of_recall(
    one: Any, new: list[QuestionGate], days: float
) -> None:
    given_evidence, rules = one
    at = AT + timedelta(days=days)
    gates = {q.question: q for q in (*given_evidence.gates, *new)}
    with_new = replace(given_evidence, gates=tuple(gates.values()), unsafe=())
    in_recall = (Ground.RECALL_LIFE_QUESTIONS, Ground.RECALL_TOPIC)
    found = [gap for gap in answer(with_new, rules, at=at).gaps if gap.ground in in_recall]
    named = {name for gap in found for name in gap.remedy.questions}
    assert all(gap.remedy.questions for gap in found)
    learnt = Gate(ln_hold=2.0, last_at=at)
    raised = [replace(q, gate=learnt, answered=True) if q.question in named else q for q in with_new.gates]
    after = answer(replace(with_new, gates=tuple(raised)), rules, at=at)
    assert not set(grounds(after)) & set(in_recall)


# ---------------------------------------------------------------------------------------------- at most 24 of them

FEW = asks(recall_of(Topic.RESCUE, Topic.WORK_AREA, mean=None, most=4))


def test_of_more_life_questions_than_the_limit_the_earliest_accepted_count() -> None:
    first = [question(f"q{n}") for n in range(4)]
    later = question("a-later-one", ln_hold=None, accepted_on=date(2025, 7, 2))
    ppe = question("w", topic=Topic.WORK_AREA)
    assert judged(*first, later, rules=asks(recall_of(mean=None, most=4))).mode is Mode.ALONE
    assert judged(*first, ppe, later, rules=asks(recall_of(mean=None, most=5))).mode is Mode.NOT_CLEARED


def test_a_question_accepted_later_never_takes_the_place_of_one_that_counts() -> None:
    weak = question("z", ln_hold=None, accepted_on=date(2025, 7, 1))
    good = [question(f"a{n}", accepted_on=date(2025, 7, 2)) for n in range(9)]
    assert judged(weak, *good, rules=asks(recall_of(mean=None, most=4))).mode is Mode.NOT_CLEARED


def test_of_several_topics_those_keep_their_places_that_count_from_an_earlier_day() -> None:
    """Work area's first question counts at once, on 20 February; rescue's later ones from 10 March."""
    rescue = [question("r0"), *(question(f"r{n}", accepted_on=date(2026, 2, 10), ln_hold=2.0) for n in (1, 2, 3))]
    unknown = question("w0", topic=Topic.WORK_AREA, accepted_on=date(2026, 2, 20), ln_hold=None)
    for at in (AT, ON_10_MARCH):
        decision = judged(*rescue, unknown, rules=FEW, at=at)
        assert [(gap.ground, gap.subject) for gap in decision.gaps] == [(Ground.RECALL_LIFE_QUESTIONS, "work area")]


def test_a_topic_whose_life_questions_all_lie_beyond_the_limit_asks_nothing_more() -> None:
    rescue = [question(f"r{n}") for n in range(4)]
    late = question("w0", topic=Topic.WORK_AREA, ln_hold=None, accepted_on=date(2025, 8, 1))
    assert judged(*rescue, late, rules=FEW).mode is Mode.ALONE


def test_two_limits_are_two_requirements() -> None:
    rescue = [question("r0"), question("r1"), question("r2", ln_hold=None)]
    two, three = recall_of(mean=None, most=2), recall_of(mean=None, most=3)
    assert judged(*rescue, rules=asks(two)).mode is Mode.ALONE
    assert judged(*rescue, rules=asks(two, three)).mode is Mode.NOT_CLEARED


def test_topics_take_turns_among_questions_accepted_on_one_day() -> None:
    rescue = [question(f"r{n}") for n in range(9)]
    weak = question("w0", topic=Topic.WORK_AREA, ln_hold=None)
    decision = judged(*rescue, weak, rules=FEW)
    assert gap_of(decision, Ground.RECALL_LIFE_QUESTIONS).subject == "work area"
