"""Recall at its edges: whose recall it is, when a further question ends it, and which drills are named."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from tests.core.permission.builders import (
    AT,
    LIFE_ONLY,
    TODAY,
    WHO,
    WITH_MEAN,
    asks,
    damage,
    days_ago,
    evidence,
    gap_of,
    grounds,
    judged,
    question,
    recall_of,
    unsafe,
)
from training.core.memory.gates import last_minute_at_floor
from training.core.memory.posterior import PersonMoments
from training.core.permission.decide import case_of
from training.core.permission.decision import Gap, Ground, Mode, RemedyKind
from training.core.permission.evidence import Evidence, PersonEvidence, QuestionGate, StandDown
from training.core.permission.findings import unreadable
from training.core.permission.recall_gaps import DEFAULT_SECONDS, Seen, Shown, topic_gap
from training.core.questions.kinds import Consequence, Topic

WEAK = PersonMoments(ability=-0.4)
RULE = recall_of(mean=0.4)


# ------------------------------------------------------------------------------------------- what is taken as given


def test_what_nobody_said_is_taken_at_its_least() -> None:
    given = Evidence(of=PersonEvidence(person="tom"), workshop="shop", zone="UTC", workshop_opened_on=None)
    assert (given.chain_sound, given.moments, given.head, given.parameter_set) == (False, None, 0, 1)
    down = StandDown(record=1, happened_at=AT, job_types=None)
    assert (down.incident, down.medical, down.job_given_by, down.releases) == (False, False, "", ())


def test_a_question_takes_35_seconds_and_is_guessed_in_one_of_three_where_nothing_is_known() -> None:
    # common practice, no source: between 20 and 50 seconds for a question with three options
    asked = QuestionGate(
        question="q", topic=Topic.PPE, consequence=Consequence.LIFE, accepted_on=TODAY, gate=None, answered=False
    )
    assert (asked.seconds, asked.chance_floor) == (35.0, 1 / 3)
    assert asked.seconds == DEFAULT_SECONDS


def test_what_cannot_be_read_takes_nobody_any_minutes() -> None:
    remedy = unreadable("records", "why", (3,)).remedy
    assert (remedy.kind, remedy.minutes, remedy.earliest_on) == (RemedyKind.REPAIR, 0, None)


# --------------------------------------------------------------------------------------------------- whose recall


@pytest.mark.parametrize("who", [WHO, WEAK, PersonMoments(fade=-0.3), PersonMoments(ability=0.3, cov=0.05)])
def test_recall_ends_for_each_person_at_their_own_minute(who: PersonMoments) -> None:
    one = question("q1", ln_hold=-1.0)
    decision = judged(one, rules=LIFE_ONLY, moments=who)
    assert decision.mode is Mode.ALONE
    assert decision.until == last_minute_at_floor([one.gate], who, 0.6, AT)


def test_drills_are_planned_for_the_person_who_does_them() -> None:
    plans = [
        gap_of(judged(question("q1", ln_hold=None), rules=LIFE_ONLY, moments=who), Ground.RECALL_LIFE_QUESTIONS).remedy
        for who in (WHO, PersonMoments(ability=-2.0, fade=-1.0))
    ]
    assert plans[0].minutes_by_day != plans[1].minutes_by_day


# --------------------------------------------------------------------------- when a further question begins to count


def test_a_topic_that_opens_later_says_the_first_of_its_days() -> None:
    late = [question(f"q{n}", accepted_on=date(2026, 3, n)) for n in (20, 25)]
    assert gap_of(judged(*late), Ground.NO_QUESTIONS).remedy.earliest_on == date(2026, 3, 20)


def ends_at(end: datetime) -> QuestionGate:
    """A question that holds at .6 until this minute, and not a minute longer."""
    one = question("q1", ln_hold=-1.0)
    usual = judged(one, rules=LIFE_ONLY).until
    assert usual is not None
    return question("q1", ln_hold=-1.0, last_at=days_ago(3) + (end - usual))


@pytest.mark.parametrize("within", [timedelta(minutes=1), timedelta(hours=9), timedelta(hours=23, minutes=59)])
def test_a_day_with_a_further_question_ends_it_as_it_begins_and_not_later_in_the_day(within: timedelta) -> None:
    day = datetime(2026, 3, 9, 23, 0, tzinfo=UTC)  # 10 March in Berlin
    unknown = question("new", ln_hold=None, accepted_on=date(2026, 2, 10))
    decision = judged(ends_at(day + within), unknown, rules=LIFE_ONLY)
    assert (decision.mode, decision.until) == (Mode.ALONE, day)
    assert decision.ends_by is not None
    assert (decision.ends_by.because, decision.ends_by.by_day) == (Ground.RECALL_TOPIC, date(2026, 3, 9))


def test_forgetting_at_the_very_minute_at_which_a_further_question_counts_is_what_ends_it() -> None:
    day = datetime(2026, 3, 9, 23, 0, tzinfo=UTC)
    unknown = question("new", ln_hold=None, accepted_on=date(2026, 2, 10))
    ends_by = judged(ends_at(day), unknown, rules=LIFE_ONLY).ends_by
    assert ends_by is not None
    assert (ends_by.at, ends_by.because, ends_by.by_day) == (day, Ground.RECALL_LIFE_QUESTIONS, None)


def test_a_further_question_that_is_known_until_late_on_its_first_day_ends_it_then() -> None:
    day = datetime(2026, 3, 9, 23, 0, tzinfo=UTC)
    known = replace(ends_at(day + timedelta(hours=5)), question="new", accepted_on=date(2026, 2, 10))
    decision = judged(question("q1", ln_hold=1.0), known, rules=LIFE_ONLY)
    assert decision.until == day + timedelta(hours=5)


def test_a_topic_whose_questions_all_lie_beyond_the_limit_ends_nothing_now_or_later() -> None:
    rules = asks(recall_of(Topic.RESCUE, Topic.WORK_AREA, mean=None, most=1))
    beyond = [
        question(f"w{n}", topic=Topic.WORK_AREA, ln_hold=None, accepted_on=day)
        for n, day in enumerate([date(2025, 8, 1), date(2026, 2, 10)])
    ]
    first = question("r0")
    decision = judged(first, *beyond, rules=rules)
    assert (decision.mode, decision.until) == (Mode.ALONE, judged(first, rules=LIFE_ONLY).until)


# -------------------------------------------------------------------------------------------------- unsafe answers


def test_an_unsafe_answer_is_closed_from_the_instant_at_which_it_was_closed() -> None:
    for closed_at, mode in ((AT, Mode.ALONE), (AT + timedelta(microseconds=1), Mode.NOT_CLEARED)):
        assert judged(question("q1"), unsafe=(unsafe(closed_at=closed_at),)).mode is mode


@pytest.mark.parametrize(("seconds", "minutes"), [(59.0, 1), (60.0, 1), (61.0, 2), (120.0, 2)])
def test_a_question_takes_its_own_seconds_in_whole_minutes(seconds: float, minutes: int) -> None:
    asked = question("q1", seconds=seconds)
    blocked = judged(asked, unsafe=(unsafe("q1", days_ago(1), talked_through=True),))
    assert gap_of(blocked, Ground.UNSAFE_ANSWER).remedy.minutes_by_day == ((0, minutes),)
    never = judged(replace(asked, gate=None, answered=False), rules=LIFE_ONLY)
    drill = gap_of(never, Ground.RECALL_LIFE_QUESTIONS).remedy
    assert {each for _, each in drill.minutes_by_day} == {minutes}


# -------------------------------------------------------------------------------------------------------- the drills


def shown(name: str, low: float, *, life: bool = False, answered: bool = True) -> Shown:
    gate = {} if answered else {"ln_hold": None}
    one = question(name, consequence=Consequence.LIFE if life else Consequence.DAMAGE, **gate)  # type: ignore[arg-type]
    return Shown(question=one, gate=one.gate, low=low)


def seen(*each: Shown, unanswered: int = 0) -> Seen:
    return Seen(shown=each, low=sum(one.low for one in each) / len(each), unanswered=unanswered)


def gap(*stages: Seen, **changes: Any) -> Gap:
    rule = replace(RULE, **changes)
    return topic_gap(case_of(evidence(), asks(rule), AT), rule, Topic.RESCUE, stages)


def named(*stages: Seen, **changes: Any) -> tuple[str, ...]:
    return gap(*stages, **changes).remedy.questions


KNOWN = [shown(f"k{n}", 0.95) for n in range(5)]


def test_what_is_raised_for_one_stage_counts_at_the_next() -> None:
    a, b, c = shown("a", 0.1), shown("b", 0.1), shown("c", 0.9)
    assert named(seen(a), seen(a, b, c)) == ("a",)


def test_a_question_raised_already_is_not_raised_again() -> None:
    a, b, c = shown("a", 0.1), shown("b", 0.2), shown("c", 0.2)
    assert named(seen(a), seen(a, b, c)) == ("a", "b", "c")


def test_a_mean_that_comes_out_at_its_floor_needs_no_more() -> None:
    c, a, b = shown("c", 0.25), shown("a", 0.25), shown("b", 0.75)
    assert named(seen(c), seen(c, a, b), topic_mean_floor=0.5) == ("c",)


def test_for_the_share_answered_a_question_that_is_no_life_question_and_was_never_answered_is_named() -> None:
    life, other = shown("a", 0.0, life=True, answered=False), shown("b", 0.0, answered=False)
    assert named(seen(life, other, shown("c", 0.1), *KNOWN, unanswered=1)) == ("b",)


def test_an_answered_question_that_is_raised_makes_up_for_none_that_was_never_answered() -> None:
    c, b = shown("c", 0.1), shown("b", 0.0, answered=False)
    assert named(seen(c), seen(c, b, *KNOWN, unanswered=1)) == ("b", "c")


def test_a_life_question_that_was_never_answered_makes_up_for_none_of_the_others() -> None:
    a, b = shown("a", 0.0, life=True, answered=False), shown("b", 0.0, answered=False)
    assert named(seen(a), seen(a, b, *KNOWN, unanswered=1)) == ("a", "b")


def test_more_answered_than_a_later_stage_asks_for_names_none_of_its_others() -> None:
    b, d, e = (shown(name, 0.0, answered=False) for name in "bde")
    assert named(seen(b, unanswered=1), seen(b, d, e, *KNOWN)) == ("b",)


def test_of_questions_that_lift_the_mean_the_lowest_are_named_first() -> None:
    low, middle = shown("z", 0.1), shown("a", 0.3)
    assert named(seen(middle, low, shown("k", 0.6))) == ("z",)


def test_the_facts_of_a_topic_are_its_lowest_mean_its_floor_and_the_most_unanswered() -> None:
    new = shown("n", 0.0, answered=False)
    first, second = seen(shown("a", 0.2), new, unanswered=1), seen(shown("a", 0.2), new, shown("b", 0.4), unanswered=0)
    assert gap(second, first).facts == (("recall_low", "0.100"), ("asked", "0.400"), ("unanswered", 1))


def test_a_floor_of_nothing_asks_only_that_enough_are_answered() -> None:
    told = gap(seen(shown("a", 0.2), unanswered=1), topic_mean_floor=0.0)
    assert dict(told.facts)["asked"] == "0.000"


def test_the_last_of_the_days_on_which_something_is_to_be_answered_is_the_day_that_is_promised() -> None:
    fresh, weak = question("new", ln_hold=None), question("weak", ln_hold=-4.9)
    remedy = gap_of(judged(fresh, weak, rules=LIFE_ONLY), Ground.RECALL_LIFE_QUESTIONS).remedy
    days = [day for day, _ in remedy.minutes_by_day]
    assert remedy.questions == ("new", "weak")
    assert remedy.earliest_on == TODAY + timedelta(days=max(days))
    alone = gap_of(judged(weak, rules=LIFE_ONLY), Ground.RECALL_LIFE_QUESTIONS).remedy
    assert alone.earliest_on is not None
    assert alone.earliest_on < remedy.earliest_on


def test_a_topic_in_which_nothing_counts_is_not_known_and_promises_no_day() -> None:
    rules = asks(recall_of(Topic.RESCUE, Topic.WORK_AREA, mean=0.4, most=1))
    decision = judged(question("r0"), question("w0", topic=Topic.WORK_AREA), rules=rules)
    assert grounds(decision) == [Ground.RECALL_TOPIC]
    told = gap_of(decision, Ground.RECALL_TOPIC)
    assert (told.subject, told.remedy.questions, told.remedy.earliest_on) == ("work area", (), None)
    assert told.facts == (("recall_low", "0.000"), ("asked", "0.400"), ("unanswered", 0))


def test_a_gap_of_recall_tells_how_many_of_how_many_and_the_lowest() -> None:
    told = gap_of(judged(question("q1"), question("q2", ln_hold=None), rules=WITH_MEAN), Ground.RECALL_LIFE_QUESTIONS)
    assert told.facts == (("questions", 1), ("of", 2), ("lowest", "0.000"), ("asked", "0.600"))
    assert not [each for each in judged(question("q1"), damage("d", ln_hold=-3.0)).gaps]


def test_what_is_talked_through_and_answered_but_not_closed_takes_no_minutes_and_can_be_had_today() -> None:
    both = unsafe("q1", days_ago(1), talked_through=True, right_since=True)
    remedy = gap_of(judged(question("q1"), unsafe=(both,)), Ground.UNSAFE_ANSWER).remedy
    assert (remedy.kind, remedy.minutes, remedy.earliest_on) == (RemedyKind.DRILL, 0, TODAY)


def test_an_unsafe_answer_takes_the_seconds_of_its_own_question() -> None:
    first, own = question("q1", seconds=20.0), question("q2", seconds=200.0)
    blocked = judged(first, own, unsafe=(unsafe("q2", days_ago(1), talked_through=True),))
    assert gap_of(blocked, Ground.UNSAFE_ANSWER).remedy.minutes == 4
