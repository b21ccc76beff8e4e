"""Counting observations at its edges: the day on which one lapses, the day on which the next can be had, each way."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from tests.core.permission.builders import SHOP, TODAY, asks, book, days_ago, job_type, observed, sign_off, small_shop
from training.core.permission.counting import (
    Asked,
    Seen,
    Short,
    asked_by,
    enough_through,
    first_day_possible,
    most_demanding,
    seen,
    short_on,
)
from training.core.permission.evidence import SmallShop
from training.core.permission.ways import Way, small_shop_for, ways_of

DAY = timedelta(days=1)


def asked(n: int = 1, k: int = 1, d: int = 1, *, months: int = 12, outside: int = 0) -> Asked:
    return Asked(observations=n, mentors=k, days=d, valid_months=months, outside=outside)


def one(by: str = "mia", back: int = 10, through: date = TODAY, **fields: Any) -> Seen:
    at = days_ago(back)
    return Seen(record=back, observer=by, happened_at=at, day=at.date(), through=through, **fields)


# ------------------------------------------------------------------------------------------------- what is asked


def test_what_a_rule_asks_is_taken_over_figure_by_figure() -> None:
    assert asked_by(sign_off("T1", 5, 3, 2, months=7, beside=4)) == Asked(
        observations=5, mentors=3, days=2, valid_months=7, beside_first=4, outside=0
    )


def test_the_hardest_of_all_rules_for_a_task_is_asked_each_figure_on_its_own() -> None:
    rules = book(
        job_type(sign_off("T1", 4, 1, 1, months=24, beside=2), sign_off("T2", 9, 9, 9, months=1, beside=9), key="A"),
        job_type(sign_off("T1", 3, 3, 1, months=36), key="B"),
        job_type(sign_off("T1", 3, 1, 2, months=6, beside=1), key="C"),
    )
    assert most_demanding(rules, "T1") == Asked(observations=4, mentors=3, days=2, valid_months=6, beside_first=2)


def test_a_task_that_nothing_asks_for_is_seen_once_within_a_year() -> None:
    once = Asked(observations=1, mentors=1, days=1, valid_months=12, beside_first=0)
    assert most_demanding(asks(sign_off("T2", 3, 2, 2, beside=1)), "T1") == once


def test_an_observation_is_valid_through_its_months_and_speaks_from_outside_for_a_year() -> None:
    late = observed(datetime(2026, 1, 31, 23, 30, tzinfo=UTC), by="ola", record=7)  # 1 February in Berlin
    inside, outside = (seen(late, 24, "Europe/Berlin", outside=by) for by in (False, True))
    assert (inside.record, inside.observer, inside.happened_at) == (7, "ola", late.happened_at)
    assert (inside.day, inside.through, inside.outside_through) == (date(2026, 2, 1), date(2028, 2, 1), None)
    assert outside == replace(inside, outside_through=date(2027, 2, 1))


# ------------------------------------------------------------------------------------------------- what is short


def test_an_observation_counts_through_its_last_day() -> None:
    assert short_on(TODAY, [one()], asked()) == Short(observations=0, mentors=0, days=0, outside=0)
    assert short_on(TODAY + DAY, [one()], asked()) == Short(observations=1, mentors=1, days=1, outside=0)


def test_each_figure_is_counted_on_its_own_and_never_below_nothing() -> None:
    two = [one("mia", 10), one("mia", 9)]
    assert short_on(TODAY, two, asked(3, 2, 3)) == Short(observations=1, mentors=1, days=1)
    assert short_on(TODAY, [*two, one("max", 9), one("moe", 8)], asked(2, 1, 1)).attempts == 0


def test_the_same_mentor_at_the_same_instant_is_one_attempt_and_two_mentors_are_two() -> None:
    twice = [one("mia", 10), replace(one("mia", 10), record=99)]
    assert short_on(TODAY, twice, asked(2)).observations == 1
    assert short_on(TODAY, [*twice, one("max", 10)], asked(2)).observations == 0


@pytest.mark.parametrize(
    ("until", "day", "short"),
    [(None, TODAY, 1), (TODAY, TODAY, 0), (TODAY, TODAY + DAY, 1), (TODAY + 9 * DAY, TODAY + DAY, 0)],
)
def test_an_observation_from_outside_speaks_as_one_through_its_own_last_day(
    until: date | None, day: date, short: int
) -> None:
    attempt = one(through=TODAY + 90 * DAY, outside_through=until)
    assert short_on(day, [attempt], asked(outside=1)) == Short(observations=0, mentors=0, days=0, outside=short)


def test_one_from_outside_that_has_lapsed_as_an_observation_speaks_no_more() -> None:
    lapsed = one(through=TODAY - DAY, outside_through=TODAY + 90 * DAY)
    assert short_on(TODAY, [lapsed, one()], asked(outside=1)).outside == 1


@pytest.mark.parametrize(
    ("short", "attempts"),
    [((2, 0, 0, 0), 2), ((0, 3, 0, 0), 3), ((1, 0, 4, 0), 4), ((0, 0, 0, 5), 5), ((0, 0, 0, 0), 0)],
)
def test_the_most_that_is_short_is_the_number_of_further_attempts(
    short: tuple[int, int, int, int], attempts: int
) -> None:
    observations, mentors, days, outside = short
    assert Short(observations=observations, mentors=mentors, days=days, outside=outside).attempts == attempts
    assert Short(observations=observations, mentors=mentors, days=days).outside == 0


# -------------------------------------------------------------------------------------------------- until when


def test_the_last_day_is_the_latest_on_which_nothing_is_short() -> None:
    attempts = [one("mia", 10, TODAY), one("max", 9, TODAY + 5 * DAY), one("mia", 8, TODAY + 9 * DAY)]
    assert enough_through(attempts, asked(1)) == TODAY + 9 * DAY
    assert enough_through(attempts, asked(2, 2)) == TODAY + 5 * DAY
    assert enough_through(attempts, asked(3)) == TODAY
    assert enough_through(attempts, asked(4)) is None
    assert enough_through([], asked(0, 0, 0)) is None


def test_the_day_on_which_the_one_from_outside_falls_silent_may_be_the_last() -> None:
    attempts = [one("ola", 10, TODAY + 9 * DAY, outside_through=TODAY + 2 * DAY), one("mia", 9, TODAY + 5 * DAY)]
    assert enough_through(attempts, asked(1, outside=1)) == TODAY + 2 * DAY
    assert enough_through(attempts, asked(1)) == TODAY + 9 * DAY


# ------------------------------------------------------------------------------------------ what can be had, and when


@pytest.mark.parametrize(
    ("attempts", "wanted", "offsets"),
    [
        pytest.param([], asked(1), (0,), id="one, today"),
        pytest.param([], asked(3), (0, 0, 0), id="three, all today"),
        pytest.param([], asked(3, 1, 2), (0, 0, 1), id="three on two days: two on the first"),
        pytest.param([], asked(3, 3, 3), (0, 1, 2), id="three on three days"),
        pytest.param([one("mia", 0, TODAY + 90 * DAY)], asked(2, 1, 2), (1,), id="today counts already"),
        pytest.param([one("mia", 0, TODAY + 90 * DAY)], asked(2), (0,), id="today again, where no new day is asked"),
        pytest.param([one("mia", 1, TODAY + 90 * DAY)], asked(2, 1, 2), (0,), id="yesterday counts already"),
        pytest.param([one("mia", 0, TODAY + 90 * DAY)], asked(4, 1, 3), (1, 1, 2), id="two new days"),
        pytest.param([one("mia", 9, TODAY + 90 * DAY)], asked(1), (0,), id="one more where nothing is short"),
        pytest.param([one("mia", 9, TODAY)], asked(3, 1, 3), (0, 1, 2), id="one lapses before the last day"),
        pytest.param([one("mia", 9, TODAY + DAY)], asked(3, 1, 3), (0, 1), id="one lasts to the last day"),
        pytest.param([], asked(2, 1, 1, outside=3), (0, 0, 0), id="three from outside"),
    ],
)
def test_the_fewest_further_observations_are_told_with_their_days(
    attempts: list[Seen], wanted: Asked, offsets: tuple[int, ...]
) -> None:
    assert first_day_possible(TODAY, attempts, wanted)[1] == offsets


def test_what_is_short_is_told_for_the_last_of_those_days() -> None:
    short, offsets = first_day_possible(TODAY, [one("mia", 9, TODAY), one("max", 8, TODAY + 9 * DAY)], asked(4, 2, 4))
    assert (short, offsets) == (Short(observations=3, mentors=1, days=3), (0, 1, 2))


# --------------------------------------------------------------------------------------------------- the small shop

THE_SHOP = small_shop(record=5, through_day=TODAY)


def found(*shops: SmallShop, person: str = "tom", task: str = "T1", workshop: str = SHOP) -> SmallShop | None:
    return small_shop_for(shops, person=person, task=task, workshop=workshop, day=TODAY)


@pytest.mark.parametrize(
    ("changes", "counts"),
    [
        pytest.param({}, True, id="as it is"),
        pytest.param({"tasks": frozenset({"T1", "T2"})}, True, id="for this task and another"),
        pytest.param({"tasks": frozenset({"T2"})}, False, id="for another task"),
        pytest.param({"tasks": frozenset[str]()}, False, id="for no task"),
        pytest.param({"by": "chief"}, False, id="twice by the same"),
        pytest.param({"second_by": ""}, False, id="signed once"),
        pytest.param({"by": ""}, False, id="by nobody"),
        pytest.param({"by": "tom"}, False, id="by the person"),
        pytest.param({"second_by": "tom"}, False, id="by the person as second"),
        pytest.param({"workshop": "elsewhere"}, False, id="of another workshop"),
        pytest.param({"through_day": TODAY - DAY}, False, id="over"),
        pytest.param({"from_day": TODAY + DAY}, False, id="still to come"),
        pytest.param({"withdrawn_from": TODAY}, False, id="withdrawn today"),
        pytest.param({"withdrawn_from": TODAY + DAY}, True, id="withdrawn tomorrow"),
    ],
)
def test_a_small_shop_counts_for_the_task_while_in_force_and_signed_by_two_others(
    changes: dict[str, Any], counts: bool
) -> None:
    shop = replace(THE_SHOP, **changes)
    assert found(shop) == (shop if counts else None)


def test_of_small_shops_the_one_that_lasts_longest_counts_and_of_equals_the_earliest_record() -> None:
    longer, same = replace(THE_SHOP, through_day=TODAY + 9 * DAY, record=9), replace(THE_SHOP, record=3)
    assert found(THE_SHOP, longer, same) == found(same, longer, THE_SHOP) == longer
    assert found(THE_SHOP, same) == found(same, THE_SHOP) == same


def test_a_small_shop_opens_a_way_only_where_more_than_one_mentor_is_asked_for() -> None:
    for hard in (asked(3, 1, 2), asked(3, 2, 2)):
        assert ways_of(hard, None) == (Way(asked=hard),)
    assert ways_of(asked(3, 1, 2), THE_SHOP) == (Way(asked=asked(3, 1, 2)),)
    assert ways_of(asked(3, 2, 2), THE_SHOP) == (
        Way(asked=asked(3, 2, 2)),
        Way(asked=asked(4, 1, 2, outside=1), small_shop=THE_SHOP),
    )


def test_a_way_is_open_through_the_last_day_of_its_small_shop() -> None:
    attempts = [one(through=TODAY + 90 * DAY)]
    ordinary, by_shop = Way(asked=asked()), Way(asked=asked(), small_shop=THE_SHOP)
    assert (ordinary.last_day, by_shop.last_day) == (date.max, TODAY)
    assert [way.is_met(attempts, TODAY) for way in (ordinary, by_shop)] == [True, True]
    assert [way.is_met(attempts, TODAY + DAY) for way in (ordinary, by_shop)] == [True, False]
    assert [way.is_met([], TODAY) for way in (ordinary, by_shop)] == [False, False]
    assert [way.through(attempts) for way in (ordinary, by_shop)] == [TODAY + 90 * DAY, TODAY]
    assert [way.through([]) for way in (ordinary, by_shop)] == [None, None]
    assert by_shop.through([one(through=TODAY - DAY)]) == TODAY - DAY
