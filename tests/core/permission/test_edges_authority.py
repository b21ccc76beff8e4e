"""Authority at its edges: an instant, a day or a signature earlier or later."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

import pytest

from tests.core.permission.builders import (
    AT,
    MENTORS,
    OPENED,
    SHOP,
    TODAY,
    ZONE,
    asks,
    certificate,
    days_ago,
    evidence,
    mentor,
    named_mentor,
    observed,
    person,
    release,
    sign_off,
    small_shop,
    stood_down,
)
from training.core.permission.authority import Court, House, Refusal, house_of, latest_failure, may_observe
from training.core.permission.counting import Asked
from training.core.permission.evidence import Observation, PersonEvidence, Supervision
from training.core.permission.rule_book import RuleBook
from training.core.permission.validity import in_force, twice_signed
from training.core.permission.ways import Way

INSTANT = timedelta(microseconds=1)
DAY = timedelta(days=1)
RULES = asks(sign_off("T1"))


def house(*people: PersonEvidence, rules: RuleBook = RULES, **changes: Any) -> House:
    return replace(house_of(evidence(colleagues={one.person: one for one in people}), rules), **changes)


def refusals(mia: PersonEvidence, *others: PersonEvidence, at: datetime = AT, **changes: Any) -> tuple[Refusal, ...]:
    return may_observe("mia", "tom", "T1", at, house(mia, *others, **changes))


# ---------------------------------------------------------------------------------------- what stands, and since when


def court(*observations: Observation, rules: RuleBook = RULES) -> tuple[Court, PersonEvidence]:
    tom = person(observations=observations)
    return Court(house_of(evidence(tom), rules)), tom


def test_an_observation_at_the_very_instant_stands_unless_only_earlier_ones_are_asked_for() -> None:
    seen = observed(AT)
    judge, tom = court(seen)
    assert judge.standing(tom, "T1", at=AT, before=False) == (seen,)
    assert judge.standing(tom, "T1", at=AT, before=True) == ()
    assert judge.standing(tom, "T1", at=AT + INSTANT, before=True) == (seen,)
    assert judge.standing(tom, "T1", at=AT - INSTANT, before=False) == ()
    assert judge.standing(tom, "T2", at=AT, before=False) == ()


def test_what_stands_comes_by_time_and_then_by_record() -> None:
    late, first, second = (
        observed(days_ago(1), record=1),
        observed(days_ago(2), record=9),
        observed(days_ago(2), record=4),
    )
    judge, tom = court(late, first, second)
    assert judge.standing(tom, "T1", at=AT, before=True) == (second, first, late)


@pytest.mark.parametrize(
    ("failed", "counts"),
    [
        pytest.param(observed(days_ago(5), passed=False), True, id="failed"),
        pytest.param(observed(AT, passed=False), True, id="at the very instant"),
        pytest.param(observed(AT + INSTANT, passed=False), False, id="an instant later"),
        pytest.param(observed(days_ago(5), passed=False, task="T2"), False, id="at another task"),
        pytest.param(observed(days_ago(5)), False, id="passed"),
        pytest.param(observed(days_ago(5), passed=False, supervision=Supervision.WATCHED), False, id="watched only"),
        pytest.param(observed(days_ago(5), passed=False, supervision=Supervision.BESIDE), True, id="with one beside"),
        pytest.param(observed(days_ago(5), passed=False, workshop="elsewhere"), True, id="elsewhere"),
        pytest.param(observed(days_ago(5), passed=None), True, id="neither passed nor failed"),  # type: ignore[arg-type]
    ],
)
def test_a_failure_is_whatever_was_tried_and_not_passed_by_then(failed: Observation, counts: bool) -> None:
    assert latest_failure([failed], "T1", AT) == (failed.happened_at if counts else None)
    later = observed(days_ago(7), passed=False)
    assert latest_failure([later, failed], "T1", AT) == (failed if counts else later).happened_at


def test_only_a_pass_after_the_last_failure_stands() -> None:
    failed = observed(days_ago(5), passed=False)
    for at, stands in ((days_ago(5) - INSTANT, False), (days_ago(5), False), (days_ago(5) + INSTANT, True)):
        judge, tom = court(failed, observed(at))
        assert bool(judge.standing(tom, "T1", at=AT, before=True)) is stands


@pytest.mark.parametrize(
    ("changes", "stands"),
    [
        ({}, True),
        ({"passed": False}, False),
        ({"done_only": True}, False),
        ({"workshop": "elsewhere"}, False),
        ({"supervision": Supervision.WATCHED}, False),
        ({"supervision": Supervision.BESIDE}, True),
        ({"observer": "tom"}, False),
        ({"observer": "eve"}, False),
    ],
)
def test_an_attempt_stands_when_passed_here_in_earnest_before_somebody_who_may_watch(
    changes: Any, stands: bool
) -> None:
    seen = replace(observed(days_ago(5)), **changes)
    judge, _ = court(seen)
    assert judge.stands("tom", seen) is stands
    assert judge.stands("tom", seen) is stands


def test_so_many_with_the_mentor_beside_come_strictly_before_those_made_alone() -> None:
    beside = [observed(days_ago(n), supervision=Supervision.BESIDE) for n in (8, 6)]
    for at, counts in (
        (days_ago(7), (0, 1)),
        (days_ago(6), (0, 1)),
        (days_ago(6) + INSTANT, (0, 1, 2)),
        (days_ago(8), (0,)),
    ):
        alone = observed(at)
        judge, tom = court(*beside, alone)
        for first in range(4):
            made = judge.made_alone(tom, "T1", at=AT, before=True, beside_first=first)
            assert made == ((alone,) if first in counts else ()), (at, first)


def test_beside_counts_up_to_the_instant_and_not_at_it() -> None:
    seen = observed(days_ago(5), supervision=Supervision.BESIDE)
    judge, tom = court(seen, observed(days_ago(6)), observed(days_ago(6), task="T2", supervision=Supervision.BESIDE))
    assert judge.made_beside(tom, "T1", at=days_ago(5)) == set()
    assert judge.made_beside(tom, "T1", at=days_ago(5) + INSTANT) == {seen}


# --------------------------------------------------------------------------------------------------- formal refusals


@pytest.mark.parametrize(
    ("changes", "refused"),
    [
        pytest.param({}, (), id="as it is"),
        pytest.param({"unreadable": (3,)}, (Refusal.UNREADABLE,), id="unreadable"),
        pytest.param({"stand_downs": (stood_down(AT),)}, (Refusal.STOOD_DOWN,), id="stood down at the instant"),
        pytest.param({"stand_downs": (stood_down(AT + INSTANT),)}, (), id="stood down an instant later"),
        pytest.param(
            {"mentor_appointments": (named_mentor(frozenset({"T2"})),)}, (Refusal.NOT_APPOINTED, Refusal.NO_SIGN_OFF)
        ),
        pytest.param({"mentor_appointments": (named_mentor(by="mia"),)}, (Refusal.NOT_APPOINTED, Refusal.NO_SIGN_OFF)),
        pytest.param({"mentor_appointments": (named_mentor(second_by=""),)}, (Refusal.NO_SIGN_OFF,), id="signed once"),
        pytest.param({"certificates": ()}, (Refusal.NO_SIGN_OFF,), id="no certificate"),
    ],
)
def test_every_reason_is_told_and_no_other(changes: Any, refused: tuple[Refusal, ...]) -> None:
    assert refusals(replace(MENTORS["mia"], **changes)) == refused


def test_what_was_released_before_the_instant_stops_no_mentor() -> None:
    seen = observed(days_ago(6), by="max", record=50)
    down = stood_down(days_ago(7), record=40, releases=(release(days_ago(5), 50, record=60),))
    mia = replace(MENTORS["mia"], observations=(seen,), stand_downs=(down,))
    assert refusals(mia, MENTORS["max"], at=days_ago(5)) == ()
    assert refusals(mia, MENTORS["max"], at=days_ago(5) - INSTANT) == (Refusal.STOOD_DOWN,)


@pytest.mark.parametrize(
    ("second_by", "second_on", "twice"),
    [
        ("chief", TODAY, True),
        ("chief", TODAY + DAY, False),
        ("chief", None, False),
        ("", TODAY, False),
        ("boss", TODAY, False),
        ("mia", TODAY, False),
    ],
)
def test_two_sign_a_mentors_appointment_and_neither_is_the_mentor(
    second_by: str, second_on: date | None, twice: bool
) -> None:
    assert twice_signed(named_mentor(second_by=second_by, second_on=second_on), "mia", TODAY) is twice


@pytest.mark.parametrize(
    ("changes", "counts"),
    [
        ({}, True),
        ({"workshop": "elsewhere"}, False),
        ({"from_day": TODAY, "entered_on": TODAY}, True),
        ({"from_day": TODAY + DAY, "entered_on": TODAY}, False),
        ({"through_day": TODAY}, True),
        ({"through_day": TODAY - DAY}, False),
        ({"withdrawn_from": TODAY}, False),
        ({"withdrawn_from": TODAY + DAY}, True),
        ({"entered_on": TODAY}, True),
        ({"entered_on": TODAY + DAY}, False),
        ({"entered_on": date(2025, 5, 31)}, False),
        ({"entered_on": date(2025, 5, 31), "confirmed_on": date(2025, 5, 31)}, False),
        ({"entered_on": date(2025, 5, 31), "confirmed_on": date(2025, 6, 1)}, True),
        ({"entered_on": date(2025, 5, 31), "confirmed_on": TODAY}, True),
        ({"entered_on": date(2025, 5, 31), "confirmed_on": TODAY + DAY}, False),
    ],
)
def test_a_naming_is_in_force_on_its_days_once_written_and_confirmed(changes: Any, counts: bool) -> None:
    assert in_force(replace(named_mentor(), **changes), SHOP, TODAY) is counts


# ------------------------------------------------------------------------------------------ what carries a signature


@pytest.mark.parametrize(
    ("opened", "carries"),
    [
        pytest.param(None, False, id="no opening day on record"),
        pytest.param(TODAY, True, id="opened today"),
        pytest.param(TODAY + DAY, False, id="opens tomorrow"),
        pytest.param(date(2025, 3, 2), True, id="the last day of its first months"),
        pytest.param(date(2025, 3, 1), False, id="a day past its first months"),
    ],
)
def test_a_certificate_stands_in_for_the_sign_off_in_the_first_months_only(opened: date | None, carries: bool) -> None:
    assert refusals(MENTORS["mia"], opened_on=opened) == (() if carries else (Refusal.NO_SIGN_OFF,))


@pytest.mark.parametrize("opened", [OPENED, date(2020, 1, 1), None])
def test_a_mentor_from_outside_is_carried_by_a_certificate_for_good(opened: date | None) -> None:
    ola = mentor("mia", mentor_appointments=(named_mentor(outside=True),))
    assert refusals(ola, opened_on=opened) == ()


@pytest.mark.parametrize(
    ("changes", "outside"),
    [
        pytest.param({}, True, id="as it is"),
        pytest.param({"mentor_appointments": (named_mentor(),)}, False, id="from inside"),
        pytest.param({"mentor_appointments": (named_mentor(outside=True, second_by=""),)}, False, id="signed once"),
        pytest.param(
            {"mentor_appointments": (named_mentor(), named_mentor(outside=True))}, True, id="named twice, once outside"
        ),
        pytest.param({"certificates": ()}, False, id="no certificate"),
        pytest.param({"certificates": (certificate("c", tasks=frozenset({"T2"})),)}, False, id="for another task"),
        pytest.param(
            {"certificates": (certificate("c", date(2023, 3, 2), tasks=frozenset({"T1"})),)}, True, id="36 months old"
        ),
        pytest.param(
            {"certificates": (certificate("c", date(2023, 3, 1), tasks=frozenset({"T1"})),)}, False, id="a day older"
        ),
    ],
)
def test_who_is_from_outside_is_named_so_by_two_and_certified_for_the_task(changes: Any, outside: bool) -> None:
    ola = replace(mentor("ola", mentor_appointments=(named_mentor(outside=True),)), **changes)
    assert Court(house(ola)).is_from_outside("ola", "T1", AT) is outside
    assert Court(house(ola)).is_from_outside("eve", "T1", AT) is False


def insider(key: str, *observations: Observation, **fields: Any) -> PersonEvidence:
    """Named as mentor, without any certificate."""
    return mentor(key, certificates=(), observations=observations, **fields)


OLA = mentor("ola", mentor_appointments=(named_mentor(outside=True),))
LONG_AGO = {"opened_on": date(2020, 1, 1)}


def test_the_own_sign_off_carries_through_its_last_day() -> None:
    for seen, refused in ((date(2025, 3, 2), ()), (date(2025, 3, 1), (Refusal.NO_SIGN_OFF,))):
        at = datetime.fromisoformat(f"{seen}T10:00:00+00:00")
        early = named_mentor(outside=True, from_day=date(2024, 1, 1))
        ola = mentor(
            "ola",
            mentor_appointments=(early,),
            certificates=(certificate("c", date(2024, 6, 1), tasks=frozenset({"T1"})),),
        )
        assert refusals(insider("mia", observed(at, by="ola")), ola, **LONG_AGO) == refused


@pytest.mark.parametrize(
    ("months_ago", "refused"),
    [
        pytest.param(date(2023, 3, 2), (), id="36 months ago"),
        pytest.param(date(2023, 3, 1), (Refusal.EACH_OTHER,), id="a day longer ago"),
    ],
)
def test_two_who_sign_each_other_reach_outside_by_what_was_seen_within_36_months(
    months_ago: date, refused: tuple[Refusal, ...]
) -> None:
    """Mia was signed off by Tom besides Ola from outside, and now wants to watch him; Ola saw him as well, long ago."""
    rules = asks(sign_off("T1", 2, months=120))
    at = datetime.fromisoformat(f"{months_ago}T10:00:00+00:00")
    course = certificate("c", date(2022, 6, 1), tasks=frozenset({"T1"}), through_day=date(2024, 1, 1))
    early = named_mentor(outside=True, from_day=date(2022, 1, 1))
    ola = mentor("ola", mentor_appointments=(early,), certificates=(course,))
    tom = insider("tom", observed(at, by="ola"), observed(at + timedelta(hours=1), by="ola"))
    mia = insider("mia", observed(at, by="ola"), observed(days_ago(9), by="tom"))
    exchange = house(rules=rules, people={"mia": mia, "ola": ola, "tom": tom}, **LONG_AGO)
    assert may_observe("mia", "tom", "T1", AT, exchange) == refused
    assert may_observe("mia", "eve", "T1", AT, exchange) == ()


def test_a_small_shop_signs_off_a_mentor_as_it_does_anybody() -> None:
    rules = asks(sign_off("T1", 2, 2, 1))
    early = named_mentor(outside=True, from_day=date(2024, 1, 1))
    ola = mentor("ola", mentor_appointments=(early,))
    mia = insider("mia", *(observed(days_ago(n), by="ola") for n in (30, 20, 10)))
    assert refusals(mia, ola, rules=rules, **LONG_AGO) == (Refusal.NO_SIGN_OFF,)
    assert refusals(mia, ola, rules=rules, small_shops=(small_shop(),), **LONG_AGO) == ()
    broken = replace(small_shop(), record="5")  # type: ignore[arg-type]
    assert refusals(mia, ola, rules=rules, small_shops=(broken,), **LONG_AGO) == (Refusal.NO_SIGN_OFF,)
    judge = Court(house(mia, ola, rules=rules, small_shops=(small_shop(record=8),)))
    wanted = Asked(observations=2, mentors=2, days=1, valid_months=12)
    ways = judge.ways("mia", "T1", wanted, TODAY)
    assert [way.small_shop and way.small_shop.record for way in ways] == [None, 8]
    assert judge.ways("boss", "T1", wanted, TODAY) == (Way(asked=wanted),)


def test_an_observation_is_counted_as_one_from_outside_where_it_is_one() -> None:
    judge = Court(house(OLA, MENTORS["mia"]))
    inside, outside = (judge.seen(observed(days_ago(10), by=by), 24) for by in ("mia", "ola"))
    assert (inside.outside_through, outside.outside_through) == (None, date(2027, 2, 20))
    assert (inside.through, outside.through) == (date(2028, 2, 20), date(2028, 2, 20))


def test_who_is_not_on_record_or_filed_under_another_name_may_not_watch() -> None:
    assert may_observe("eve", "tom", "T1", AT, house()) == (Refusal.UNKNOWN,)
    assert may_observe("tom", "tom", "T1", AT, house()) == (Refusal.SELF,)
    filed = house(people={"mia": MENTORS["max"]})
    assert may_observe("mia", "tom", "T1", AT, filed) == (Refusal.UNREADABLE,)


def test_a_zone_decides_the_day_of_a_mentor_too() -> None:
    night = datetime.fromisoformat("2026-03-01T23:30:00+00:00")  # 2 March in Berlin
    mia = replace(MENTORS["mia"], mentor_appointments=(named_mentor(from_day=TODAY),))
    assert refusals(mia, at=night, zone=ZONE) == ()
    assert Refusal.NOT_APPOINTED in refusals(mia, at=night, zone="UTC")


def test_hundreds_of_renewals_that_no_certificate_carries_are_judged_without_running_out_of_stack() -> None:
    early = named_mentor(outside=True, from_day=date(2024, 1, 1))
    ola = mentor("ola", mentor_appointments=(early,))
    first = datetime.fromisoformat("2025-06-02T09:00:00+00:00")
    seen = {"ann": [observed(first, by="ola")], "bob": [observed(first, by="ola")]}
    for n in range(1, 300):
        whose, by = ("ann", "bob") if n % 2 else ("bob", "ann")
        seen[whose].append(observed(first + timedelta(hours=7 * n), by=by))
    people = [insider(key, *reversed(observations)) for key, observations in seen.items()]  # the newest is met first
    judge = Court(house(*people, ola, **LONG_AGO))
    assert judge.refusals("ann", "tom", "T1", first + timedelta(hours=7 * 300)) == ()
    assert judge.stands("bob", seen["bob"][-1])
