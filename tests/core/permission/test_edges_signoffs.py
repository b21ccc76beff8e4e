"""Sign-offs at their edges: what proves one, what was done last, and who is sent to observe what is missing."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from tests.core.permission.builders import (
    AT,
    MENTORS,
    TODAY,
    answer,
    appointed,
    appointment,
    asks,
    days_ago,
    evidence,
    gap_of,
    mentor,
    named_mentor,
    observed,
    person,
    sign_off,
    small_shop,
    stood_down,
)
from training.core.permission.decision import Ground, Mode, RemedyKind
from training.core.permission.evidence import Observation, Supervision
from training.core.permission.rule_book import RuleBook

INSTANT = timedelta(microseconds=1)
RULES = asks(sign_off("T1"))
OLA = mentor("ola", mentor_appointments=(named_mentor(outside=True),))


def judged(*seen: Observation, rules: RuleBook = RULES, **fields: Any) -> Any:
    return answer(evidence(person(observations=seen, **fields)), rules)


def test_a_sign_off_is_proved_by_every_observation_that_is_valid_today() -> None:
    seen = [observed(days_ago(10), record=12), observed(days_ago(20), record=5), observed(days_ago(366), record=2)]
    assert judged(*seen).proofs == (5, 12)


def test_what_was_done_last_is_the_proof_and_of_one_day_the_earliest_record() -> None:
    rules = asks(sign_off("T1", within=90))
    late, early = observed(days_ago(10), record=12), observed(days_ago(10), record=5, by="max")
    done = replace(observed(days_ago(20), record=3), done_only=True)
    decision = judged(late, done, early, rules=rules)
    assert decision.proofs == (5, 12)
    assert decision.ends_by.because is Ground.NOT_DONE_LATELY
    assert decision.ends_by.by_day == days_ago(10).date() + timedelta(days=90)


@pytest.mark.parametrize(
    ("changes", "counts"),
    [
        ({}, True),
        ({"happened_at": AT}, True),
        ({"happened_at": AT + INSTANT}, False),
        ({"task": "T2"}, False),
        ({"passed": False}, False),
        ({"observer": "tom"}, False),
        ({"workshop": "elsewhere"}, False),
        ({"observer": "anybody"}, True),
    ],
)
def test_a_job_that_somebody_else_confirmed_here_counts_as_done(changes: Any, counts: bool) -> None:
    seen = observed(days_ago(100))
    done = replace(observed(days_ago(5)), done_only=True, **changes)
    decision = judged(seen, done, rules=asks(sign_off("T1", within=30)))
    expected = Mode.ALONE if counts else Mode.NOT_CLEARED
    assert decision.mode is (Mode.NOT_CLEARED if changes.get("passed") is False else expected)


def test_not_done_lately_is_one_observation_away_by_whoever_may() -> None:
    gap = gap_of(judged(observed(days_ago(100)), rules=asks(sign_off("T1", within=30))), Ground.NOT_DONE_LATELY)
    assert (gap.subject, gap.facts, gap.records) == ("T1", (("within_days", 30),), ())
    assert (gap.remedy.kind, gap.remedy.minutes_by_day, gap.remedy.who) == (
        RemedyKind.OBSERVATION,
        ((0, 30),),
        ("max", "mia", "moe"),
    )
    assert gap.remedy.earliest_on == TODAY


def test_the_gap_of_a_sign_off_says_what_is_short_who_may_watch_and_what_is_there() -> None:
    rules = asks(sign_off("T1", 3, 2, 2, beside=2))
    beside = observed(days_ago(30), supervision=Supervision.BESIDE)
    gap = gap_of(judged(beside, rules=rules), Ground.SIGN_OFF)
    assert gap.facts == (("observations", 3), ("mentors", 2), ("days", 2), ("beside_first", 1))
    assert gap.remedy.minutes_by_day == ((0, 90), (1, 30))
    assert gap.records == ()
    twice = observed(days_ago(29), supervision=Supervision.BESIDE)
    seen = observed(days_ago(20), by="mia", record=44)
    more = gap_of(judged(beside, twice, seen, rules=rules), Ground.SIGN_OFF)
    assert more.facts == (("observations", 2), ("mentors", 1), ("days", 1))
    assert (more.records, more.remedy.who) == ((44,), ("max", "moe", "mia"))


def test_who_appointed_is_not_sent_and_a_deciding_observation_of_theirs_asks_for_another_signature() -> None:
    rules = asks(appointed(), sign_off("T1", 1))
    named = (appointment(by="mia", record=3),)
    short = gap_of(judged(rules=rules, appointments=named), Ground.SIGN_OFF)
    assert short.remedy.who == ("max", "moe")
    decided = gap_of(judged(observed(days_ago(5), by="mia"), rules=rules, appointments=named), Ground.SIGN_OFF)
    assert (decided.remedy.kind, decided.remedy.earliest_on) == (RemedyKind.SIGNATURE, TODAY)
    assert decided.facts == (("appointed_by_observer", "mia"),)


def test_of_appointments_that_leave_equally_little_missing_the_one_that_lasts_longest_is_taken() -> None:
    rules = asks(appointed(), sign_off("T1", 1, months=36))
    short, long = appointment(record=3, through_day=date(2026, 5, 1)), appointment(record=8)
    for papers in ((short, long), (long, short)):
        decision = judged(observed(days_ago(5), record=20), rules=rules, appointments=papers)
        assert (decision.ends_by.by_day, decision.proofs) == (date(2027, 1, 11), (8, 20))
    same = (appointment(record=8), appointment(record=4))
    assert judged(observed(days_ago(5), record=20), rules=rules, appointments=same).proofs == (4, 20)


def test_without_enough_mentors_no_day_is_promised() -> None:
    rules = asks(sign_off("T1", 2, 2, 1))
    one = answer(evidence(colleagues={"mia": MENTORS["mia"]}), rules)
    assert gap_of(one, Ground.SIGN_OFF).remedy.earliest_on is None
    two = answer(evidence(colleagues={key: MENTORS[key] for key in ("mia", "max")}), rules)
    assert gap_of(two, Ground.SIGN_OFF).remedy.earliest_on == TODAY
    seen = person(observations=(observed(days_ago(9), by="mia"),))
    again = answer(evidence(seen, colleagues={"mia": MENTORS["mia"]}), rules)
    assert gap_of(again, Ground.SIGN_OFF).remedy.earliest_on is None


def test_a_small_shops_way_is_told_where_it_can_be_had_and_the_ordinary_one_cannot() -> None:
    rules = asks(sign_off("T1", 2, 2, 1))
    people = {"mia": MENTORS["mia"]}
    outside = {**people, "ola": OLA}
    seen = person(observations=(observed(days_ago(9), by="mia", record=40), observed(days_ago(8), by="mia", record=41)))
    facts = dict(
        gap_of(
            answer(evidence(seen, colleagues=people, small_shops=(small_shop(record=7),)), rules), Ground.SIGN_OFF
        ).facts
    )
    assert facts == {"observations": 1, "mentors": 0, "days": 0, "small_shop": 7, "outside": 1}
    ordinary = gap_of(
        answer(evidence(seen, colleagues=outside, small_shops=(small_shop(record=7),)), rules), Ground.SIGN_OFF
    )
    assert dict(ordinary.facts) == {"observations": 1, "mentors": 1, "days": 0}
    assert ordinary.remedy.who == ("ola", "mia")


def test_a_proof_is_one_on_its_last_day_too() -> None:
    old = observed(days_ago(181), record=4)  # 2 September
    assert judged(old, observed(days_ago(3), record=9), rules=asks(sign_off("T1", months=6))).proofs == (4, 9)


def test_more_with_the_mentor_beside_than_asked_for_are_not_told_as_missing() -> None:
    beside = [observed(days_ago(n), supervision=Supervision.BESIDE) for n in (9, 8, 7)]
    gap = gap_of(judged(*beside, rules=asks(sign_off("T1", 1, beside=1))), Ground.SIGN_OFF)
    assert gap.facts == (("observations", 1), ("mentors", 1), ("days", 1))


def test_who_has_seen_the_person_is_new_again_once_that_lapses_before_the_last_further_day() -> None:
    rules = asks(sign_off("T1", 4, 1, 4, months=6))
    lapsing = [observed(days_ago(181), by="mia")]
    assert gap_of(judged(*lapsing, rules=rules), Ground.SIGN_OFF).remedy.who == ("max", "mia", "moe")
    lasting = [observed(days_ago(100), by="mia")]
    assert gap_of(judged(*lasting, rules=rules), Ground.SIGN_OFF).remedy.who == ("max", "moe", "mia")


def test_somebody_from_outside_comes_first_only_where_one_is_asked_for() -> None:
    zoe = replace(OLA, person="zoe")
    gap = gap_of(answer(evidence(colleagues={**MENTORS, "zoe": zoe}), RULES), Ground.SIGN_OFF)
    assert gap.remedy.who == ("max", "mia", "moe", "zoe")


def test_where_nobody_may_watch_the_way_of_a_small_shop_is_told() -> None:
    rules = asks(sign_off("T1", 3, 2, 1))
    seen = [observed(days_ago(n), by=by) for n, by in ((9, "mia"), (8, "max"))]
    gone = {key: replace(MENTORS[key], stand_downs=(stood_down(days_ago(1)),)) for key in ("mia", "max")}
    given = evidence(person(observations=tuple(seen)), colleagues=gone, small_shops=(small_shop(record=7),))
    gap = gap_of(answer(given, rules), Ground.SIGN_OFF)
    assert (gap.remedy.who, gap.remedy.earliest_on, dict(gap.facts)["small_shop"]) == ((), None, 7)
