"""Recall: which questions count, floors, the share answered, unsafe answers, the exact end, the drills to get there."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from tests.core.permission.builders import (
    AT,
    LIFE_ONLY,
    WHO,
    WITH_MEAN,
    answer,
    asks,
    book,
    damage,
    days_ago,
    evidence,
    gap_of,
    grounds,
    holds,
    job_type,
    judged,
    question,
    recall_of,
    supervisor,
    unsafe,
)
from training.core.memory.fold import Answered, fold
from training.core.memory.gates import Gate, gate_low, mean_gate_low
from training.core.permission.decision import Ground, Mode, RemedyKind
from training.core.permission.evidence import QuestionGate
from training.core.questions.kinds import Consequence, Topic


def low(one: QuestionGate, at: datetime) -> float:
    return gate_low(one.gate, WHO, at)


# ------------------------------------------------------------------------------------------------------------ floors


def test_recall_low_at_the_floors_clears() -> None:
    assert judged(question("q1"), damage("q2")).mode is Mode.ALONE


def test_each_life_question_has_to_meet_its_own_floor() -> None:
    decision = judged(question("q1"), question("q2", ln_hold=-6.0), question("q3"), question("q4", ln_hold=None))
    gap = gap_of(decision, Ground.RECALL_LIFE_QUESTIONS)
    assert gap.subject == "rescue"
    assert gap.remedy.questions == ("q2", "q4")
    assert dict(gap.facts) == {"questions": 2, "of": 4, "lowest": "0.000", "asked": "0.600"}
    assert Ground.RECALL_TOPIC not in grounds(decision)


def test_a_lesser_question_has_no_floor_of_its_own_but_counts_in_the_mean() -> None:
    assert judged(question("q1"), damage("q2", ln_hold=-6.7)).mode is Mode.ALONE
    many = [damage(f"q{n}", ln_hold=-6.7) for n in range(2, 6)]
    gap = gap_of(judged(question("q1"), *many), Ground.RECALL_TOPIC)
    mean = mean_gate_low([question("q1").gate, *(q.gate for q in many)], WHO, AT)
    assert dict(gap.facts) == {"recall_low": f"{mean:.3f}", "asked": "0.400", "unanswered": 0}


def test_a_question_never_answered_counts_nothing_in_the_mean() -> None:
    topics = asks(recall_of(life=0.6, mean=0.7))
    answered = [damage(f"q{n}") for n in range(8)]
    assert judged(*answered, rules=topics).mode is Mode.ALONE
    unanswered = [damage(f"u{n}", ln_hold=None) for n in range(2)]
    assert grounds(judged(*answered, *unanswered, rules=topics)) == []  # .902 * 8 / 10 = .7216
    one_more = [*unanswered, damage("u2", ln_hold=None)]
    assert grounds(judged(*answered, *one_more, rules=topics)) == [Ground.RECALL_TOPIC]


@pytest.mark.parametrize(("answered", "enough"), [(4, True), (3, False)])
def test_four_in_five_of_the_other_questions_have_to_be_answered(answered: int, enough: bool) -> None:
    low_floor = asks(recall_of(mean=0.01))
    others = [damage(f"q{n}", ln_hold=-3.0 if n < answered else None) for n in range(5)]
    decision = judged(question("life"), *others, rules=low_floor)
    assert (decision.mode is Mode.ALONE) is enough
    if not enough:
        gap = gap_of(decision, Ground.RECALL_TOPIC)
        assert dict(gap.facts)["unanswered"] == 1
        assert gap.remedy.questions == ("q3",)


def test_the_share_is_counted_exactly() -> None:
    others = [damage(f"q{n:02}", ln_hold=-3.0 if n < 12 else None) for n in range(15)]
    low_floor = recall_of(mean=0.01)
    assert judged(*others, rules=asks(low_floor)).mode is Mode.ALONE  # 0.8 of 15 is 12, not 12.000000000000002
    stricter = replace(asks(low_floor), share_of_others_answered=0.81)
    assert judged(*others, rules=stricter).mode is Mode.NOT_CLEARED


def test_the_lowest_job_type_counts_life_questions_only() -> None:
    assert judged(question("q1"), damage("q2", ln_hold=None), rules=LIFE_ONLY).mode is Mode.ALONE
    assert grounds(judged(damage("q2"), rules=LIFE_ONLY)) == [Ground.NO_QUESTIONS]


def test_each_topic_is_judged_by_itself() -> None:
    rules = asks(recall_of(Topic.RESCUE, Topic.PPE))
    decision = judged(question("q1"), question("q2", topic=Topic.PPE, ln_hold=-6.0), rules=rules)
    assert [(gap.ground, gap.subject) for gap in decision.gaps] == [
        (Ground.RECALL_LIFE_QUESTIONS, "PPE"),
        (Ground.RECALL_TOPIC, "PPE"),
    ]


def test_a_topic_without_questions_clears_nobody() -> None:
    decision = judged(rules=WITH_MEAN)
    assert grounds(decision) == [Ground.NO_QUESTIONS]
    assert decision.gaps[0].remedy.kind is RemedyKind.ENTRY


def test_without_the_persons_point_nothing_is_proved() -> None:
    assert Ground.RECALL_LIFE_QUESTIONS in grounds(judged(question("q1"), moments=None))


def test_a_gate_moved_after_the_instant_asked_about_proves_nothing() -> None:
    assert Ground.RECALL_LIFE_QUESTIONS in grounds(judged(question("q1", last_at=AT + timedelta(minutes=1))))


def test_recall_is_not_practice_so_that_nobody_is_supervised_without_it() -> None:
    assert judged(question("q1", ln_hold=None), supervisors=(supervisor(),)).mode is Mode.NOT_CLEARED


def test_a_consequence_that_nobody_knows_clears_nobody() -> None:
    strange = replace(question("q1"), consequence="worse")  # type: ignore[arg-type]
    assert grounds(judged(strange)) == [Ground.RECORD_UNREADABLE]


def test_a_question_in_two_states_proves_nothing_and_is_told() -> None:
    """Of two states of one question the order decided which came under the limit (found by the oracle)."""
    known, unknown = question("q1"), question("q1", ln_hold=None)
    for both in ((known, unknown), (unknown, known)):
        decision = judged(*both, rules=asks(recall_of(mean=None, most=1)))
        assert grounds(decision) == [Ground.RECORD_UNREADABLE]
        assert dict(decision.gaps[0].facts) == {"why": "question q1 is there in two states"}
    assert judged(known, known).mode is Mode.ALONE


def test_numbers_that_are_none_clear_nobody() -> None:
    broken = replace(question("q1"), gate=Gate(ln_hold=math.nan, last_at=days_ago(3)))
    assert judged(broken).mode is Mode.NOT_CLEARED


def test_job_types_that_ask_the_same_say_it_in_their_own_words() -> None:
    other_words = replace(recall_of(), sentence="Other words.")
    rules = book(job_type(recall_of(), key="A"), job_type(other_words, key="J"))
    given = evidence(gates=(question("q1", ln_hold=None),))
    assert {gap.sentence for gap in answer(given, rules, key="J").gaps} == {"Other words."}
    chained = book(job_type(recall_of(), key="A"), job_type(holds("A"), other_words, key="J"))
    assert [gap.through for gap in answer(given, chained, key="J").gaps] == ["A", "A"]


# --------------------------------------------------------------------------------------------------- the exact minute


@pytest.mark.parametrize("ln_hold", [-4.9, -4.0, -3.0, -2.2])
def test_until_is_the_last_whole_minute_at_the_floor(ln_hold: float) -> None:
    one = question("q1", ln_hold=ln_hold, last_at=days_ago(1.0))
    until = judged(one).until
    assert until is not None
    assert until.second == until.microsecond == 0
    assert low(one, until) >= 0.6 > low(one, until + timedelta(minutes=1))


def test_the_end_does_not_depend_on_when_it_is_asked() -> None:
    one = question("q1", ln_hold=-4.0, last_at=days_ago(1.0))
    until = judged(one).until
    assert until is not None
    for before in (timedelta(microseconds=1), timedelta(seconds=59), timedelta(hours=3)):
        assert judged(one, at=until - before).until == until
    assert judged(one, at=until).mode is Mode.NOT_CLEARED


def test_in_its_last_minute_a_question_is_a_gap_with_an_answer_to_give() -> None:
    one = question("q1", ln_hold=-4.0, last_at=days_ago(1.0))
    until = judged(one).until
    assert until is not None
    gap = gap_of(judged(one, at=until), Ground.RECALL_LIFE_QUESTIONS)
    assert gap.remedy.minutes_by_day == ((1, 1),)


def test_the_first_life_question_to_fall_ends_it() -> None:
    many = [question(f"q{n}", ln_hold=-3.0 + n / 10, last_at=days_ago(n)) for n in range(8)]
    ends = [judged(one, rules=LIFE_ONLY).until for one in many]
    assert judged(*many, rules=LIFE_ONLY).until == min(end for end in ends if end)


# ------------------------------------------------------------------------------------------------------ unsafe answers


def test_an_open_unsafe_answer_on_a_life_question_blocks_its_topic_from_the_first_day() -> None:
    decision = judged(question("q1"), unsafe=(unsafe("not-yet-in-use", record=77),))
    assert grounds(decision) == [Ground.UNSAFE_ANSWER]
    assert decision.gaps[0].records == (77,)


@pytest.mark.parametrize(
    "harmless",
    [
        pytest.param(unsafe(consequence=Consequence.INJURY), id="lesser consequence"),
        pytest.param(unsafe(topic=Topic.LIFTING), id="another topic"),
        pytest.param(unsafe(at=AT + timedelta(minutes=1)), id="still to come"),
        pytest.param(unsafe(closed_at=days_ago(1), talked_through=True, right_since=True), id="closed"),
    ],
)
def test_what_blocks_nothing(harmless: Any) -> None:
    assert judged(question("q1"), unsafe=(harmless,)).mode is Mode.ALONE


@pytest.mark.parametrize("closed_at", [AT + timedelta(minutes=1), days_ago(2), days_ago(3)])
def test_closed_later_or_before_it_opened_is_not_closed(closed_at: datetime) -> None:
    assert grounds(judged(question("q1"), unsafe=(unsafe(closed_at=closed_at),))) == [Ground.UNSAFE_ANSWER]


def test_the_way_out_of_an_unsafe_answer_is_told_with_minutes_and_day() -> None:
    fresh = unsafe("q1", AT - timedelta(hours=1))
    remedy = judged(question("q1"), unsafe=(fresh,)).gaps[0].remedy
    assert remedy.kind is RemedyKind.TALK_THROUGH
    # 09:15 UTC + 12 h is 22:15 in Berlin, the same local day
    assert remedy.minutes_by_day == ((0, 4),)
    assert (remedy.minutes, remedy.earliest_on, remedy.questions) == (4, date(2026, 3, 2), ("q1",))
    evening = unsafe("q1", datetime(2026, 3, 2, 10, 14, tzinfo=UTC))
    late = answer(
        evidence(gates=(question("q1"),), unsafe=(evening,)), WITH_MEAN, at=datetime(2026, 3, 2, 22, tzinfo=UTC)
    )
    assert late.gaps[0].remedy.minutes_by_day == ((0, 4),)


def test_a_right_answer_that_can_only_count_tomorrow_is_told_for_tomorrow() -> None:
    noon = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
    remedy = judged(question("q1"), unsafe=(unsafe("q1", noon),), at=noon).gaps[0].remedy
    assert remedy.minutes_by_day == ((0, 3), (1, 1))
    assert remedy.earliest_on == date(2026, 3, 3)


def test_after_the_talk_through_only_the_right_answer_is_left() -> None:
    talked = unsafe("gone-from-the-bank", days_ago(1), talked_through=True)
    remedy = judged(question("q1"), unsafe=(talked,)).gaps[0].remedy
    assert (remedy.kind, remedy.minutes_by_day) == (RemedyKind.DRILL, ((0, 1),))
    right = unsafe("q1", days_ago(1), right_since=True)
    remedy = judged(question("q1"), unsafe=(right,)).gaps[0].remedy
    assert (remedy.kind, remedy.minutes_by_day) == (RemedyKind.TALK_THROUGH, ((0, 3),))


# --------------------------------------------------------------------------------------------------------- the drills


def answered_as_planned(names: list[str], days: list[int]) -> Any:
    """What the record would hold had every one of these questions been answered right on each of these days."""
    answers = [
        Answered(question=name, at=AT + timedelta(days=day), right=True, chance_floor=1 / 3, record=n)
        for n, (day, name) in enumerate((day, name) for day in days for name in names)
    ]
    return fold(answers)


@pytest.mark.parametrize("rules", [WITH_MEAN, LIFE_ONLY], ids=["with a mean", "life only"])
def test_doing_the_drills_clears(rules: Any) -> None:
    names = [f"q{n}" for n in range(6)]
    decision = judged(*(question(name, ln_hold=None) for name in names), rules=rules)
    remedy = gap_of(decision, Ground.RECALL_LIFE_QUESTIONS).remedy
    assert remedy.questions == tuple(names)
    days = [day for day, _ in remedy.minutes_by_day]
    assert remedy.minutes_by_day == tuple((day, 4) for day in days)  # six questions of 35 seconds
    assert remedy.earliest_on == date(2026, 3, 2) + timedelta(days=days[-1])
    state = answered_as_planned(names, days)
    known = [replace(question(name), gate=state.traces[name].gate, answered=True) for name in names]
    then = AT + timedelta(days=days[-1], minutes=1)
    assert judged(*known, rules=rules, at=then, moments=state.gate_moments).mode is Mode.ALONE


def test_what_no_plan_can_reach_promises_no_day() -> None:
    beyond = asks(recall_of(life=0.9999, mean=None))
    remedy = gap_of(judged(question("q1", ln_hold=None), rules=beyond), Ground.RECALL_LIFE_QUESTIONS).remedy
    assert remedy.earliest_on is None
    assert remedy.questions == ("q1",)
    assert remedy.minutes_by_day == ()


def test_for_the_mean_no_more_questions_are_drilled_than_it_takes() -> None:
    rules = asks(recall_of(mean=0.4))
    others = [damage(f"q{n}", ln_hold=-6.7) for n in range(6)]
    remedy = gap_of(judged(question("life"), *others, rules=rules), Ground.RECALL_TOPIC).remedy
    assert 0 < len(remedy.questions) < 6
    raised = len(remedy.questions) * 0.4
    kept = low(others[0], AT) * (6 - len(remedy.questions)) + low(question("life"), AT)
    assert raised + kept >= 0.4 * 7
