"""Releases at their edges: one instant earlier or later, one record earlier or later."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from tests.core.permission.builders import AT, ZONE, certificate, days_ago, observed, person, release, stood_down
from training.core.permission.evidence import Observation, Release, StandDown
from training.core.permission.release import counts, ended_by, fresh_evidence, is_open, may_release, people_asked

FELL = days_ago(3)
SEEN = observed(days_ago(2), record=50)
TOM = person(observations=(SEEN,))
INSTANT = timedelta(microseconds=1)


def anybody(_: str, __: Observation) -> bool:
    return True


def down(*releases: Release, **fields: Any) -> StandDown:
    return stood_down(FELL, record=40, releases=releases, **fields)


# ------------------------------------------------------------------------------------------------ begun and ended


def test_a_stand_down_is_open_from_its_own_instant() -> None:
    assert is_open(down(), TOM, FELL, anybody, ZONE)
    assert not is_open(down(), TOM, FELL - INSTANT, anybody, ZONE)


def test_a_release_ends_it_at_its_own_instant() -> None:
    given = release(days_ago(1), 50, record=60)
    assert ended_by(down(given), TOM, days_ago(1), anybody, ZONE) == (given,)
    assert not is_open(down(given), TOM, days_ago(1), anybody, ZONE)
    assert ended_by(down(given), TOM, days_ago(1) - INSTANT, anybody, ZONE) == ()


def test_a_release_at_the_instant_of_the_stand_down_does_not_count() -> None:
    early = person(observations=(observed(FELL - timedelta(days=1), record=50),))
    assert not counts(release(FELL, 50, record=60), down(), early, anybody, ZONE)
    assert not counts(release(FELL, 50, record=60), down(), TOM, anybody, ZONE)


def test_the_first_releases_are_the_ones_that_ended_it() -> None:
    releases = [release(days_ago(1), 50, by=by, record=60 + n) for n, by in enumerate(["a", "b", "c"])]
    assert ended_by(down(*releases[::-1]), TOM, AT, anybody, ZONE) == (releases[0],)
    assert ended_by(down(*releases[::-1], incident=True), TOM, AT, anybody, ZONE) == (releases[0], releases[1])
    assert ended_by(down(releases[0], incident=True), TOM, AT, anybody, ZONE) == ()


def test_of_two_releases_by_one_person_the_first_counts_and_once_only() -> None:
    first, again = release(days_ago(1.5), 50, record=61), release(days_ago(1), 50, record=60)
    assert ended_by(down(again, first), TOM, AT, anybody, ZONE) == (first,)
    assert ended_by(down(again, first, incident=True), TOM, AT, anybody, ZONE) == ()


def test_two_people_release_an_incident_and_one_anything_else() -> None:
    assert (people_asked(down()), people_asked(down(incident=True))) == (1, 2)


@pytest.mark.parametrize(("by", "may"), [("boss", True), ("", False), ("tom", False), ("giver", False)])
def test_nobody_with_a_part_in_it_releases(by: str, may: bool) -> None:
    assert may_release(by, down(job_given_by="giver"), "tom") is may


# ------------------------------------------------------------------------------------------------- fresh evidence


@pytest.mark.parametrize(("record", "counted"), [(49, False), (50, False), (51, True)])
def test_a_release_is_recorded_after_its_evidence(record: int, counted: bool) -> None:
    assert counts(release(days_ago(1), 50, record=record), down(), TOM, anybody, ZONE) is counted


def test_a_release_needs_only_one_of_the_records_that_it_names_to_be_fresh() -> None:
    assert counts(release(days_ago(1), 7, 50, record=60), down(), TOM, anybody, ZONE)
    assert not counts(release(days_ago(1), 7, record=60), down(), TOM, anybody, ZONE)


@pytest.mark.parametrize(
    ("at", "fresh"),
    [
        pytest.param(FELL, False, id="at the instant of the stand-down"),
        pytest.param(FELL + INSTANT, True, id="an instant after it"),
        pytest.param(days_ago(1) - INSTANT, True, id="an instant before the release"),
        pytest.param(days_ago(1), False, id="at the instant of the release"),
    ],
)
def test_what_was_seen_between_the_stand_down_and_the_release_is_fresh(at: Any, fresh: bool) -> None:
    tom = person(observations=(replace(SEEN, happened_at=at),))
    assert fresh_evidence(down(), tom, days_ago(1), anybody, ZONE) == ((50,) if fresh else ())


def test_only_observations_that_stand_are_fresh() -> None:
    assert fresh_evidence(down(), TOM, AT, lambda who, one: (who, one) == ("tom", SEEN), ZONE) == (50,)
    assert fresh_evidence(down(), TOM, AT, lambda _, __: False, ZONE) == ()


FELL_ON = date(2026, 2, 27)


@pytest.mark.parametrize(
    ("kind", "record", "issued_on", "fields", "fresh"),
    [
        pytest.param("medical", 41, FELL_ON, {}, True, id="given on the day"),
        pytest.param("medical", 40, FELL_ON, {}, False, id="the record of the stand-down itself"),
        pytest.param("medical", 39, FELL_ON, {}, False, id="recorded before it"),
        pytest.param("medical", 41, FELL_ON - timedelta(days=1), {}, False, id="given the day before"),
        pytest.param(
            "medical", 41, FELL_ON - timedelta(days=9), {"entered_on": FELL_ON}, True, id="entered on the day"
        ),
        pytest.param("medical", 41, FELL_ON, {"withdrawn_from": date(2027, 1, 1)}, False, id="withdrawn"),
        pytest.param("first aid and CPR", 41, FELL_ON, {}, False, id="another paper"),
    ],
)
def test_a_medical_answer_is_fresh_when_given_and_recorded_since(
    kind: str, record: int, issued_on: date, fields: Any, fresh: bool
) -> None:
    tom = person(certificates=(certificate(kind, issued_on, record=record, **fields),))
    assert fresh_evidence(down(medical=True), tom, AT, anybody, ZONE) == ((record,) if fresh else ())
    assert fresh_evidence(down(), tom, AT, anybody, ZONE) == ()


def test_the_day_of_a_stand_down_is_the_workshops() -> None:
    late = stood_down(days_ago(3).replace(hour=23, minute=30), record=40, medical=True)  # 28 February in Berlin
    tom = person(certificates=(certificate("medical", FELL_ON, record=41),))
    assert fresh_evidence(late, tom, AT, anybody, ZONE) == ()
    assert fresh_evidence(late, tom, AT, anybody, "UTC") == (41,)


def test_fresh_evidence_comes_in_the_order_of_its_records() -> None:
    tom = person(
        observations=(SEEN, replace(SEEN, record=45)), certificates=(certificate("medical", FELL_ON, record=47),)
    )
    assert fresh_evidence(down(medical=True), tom, AT, anybody, ZONE) == (45, 47, 50)
