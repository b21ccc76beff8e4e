"""Readings as proof: tester proved before and after, every pair, the maker's own values; and what a plan may say."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from training.core.permission.evidence import Appointment
from training.core.permission.planning import Plan, may_plan
from training.core.permission.proving import (
    ProvedTester,
    Proving,
    Readings,
    is_pack_work,
    not_dead,
    not_read,
    proving_of,
    unexpected,
)
from training.core.permission.rule_book import AppointedFor, AtStart, JobType, YoungPerson
from training.core.permission.scope import counting_appointments, left_out, outside_scope
from training.core.trade.fitness import Job
from training.core.trade.isolation import MakerDead
from training.core.trade.meters import points_to_test

DC = points_to_test(ac_side=False, pack_work=False)
BOTH = points_to_test(ac_side=True, pack_work=True)
AT = datetime(2026, 3, 2, 8, tzinfo=UTC)
DAY = date(2026, 3, 2)


def tried(current: Any = "DC", **changed: Any) -> ProvedTester:
    right = {"source": "proving unit", "source_v": 500.0, "before_v": 498.0, "after_v": 502.0}
    return ProvedTester(current=current, **{**right, **changed})


def typed(points: Any = DC, **changed: Any) -> Readings:
    right: dict[str, Any] = {
        "instrument": "M-1",
        "testers": (tried("DC"), tried("AC")),
        "read_v": dict.fromkeys(points, 0.4),
        "maker": MakerDead(dc_v=5.0, ac_v=5.0),
        "maker_wait_min": 5.0,
        "waited_min": 5.0,
    }
    return Readings(**{**right, **changed})


def codes(reasons: Any) -> set[str]:
    return {reason.code for reason in reasons}


# ---------------------------------------------------------------- proof
@pytest.mark.parametrize("points", [DC, BOTH])
def test_a_full_round_at_the_makers_values_proves_these_points(points: Any) -> None:
    assert not_dead(typed(points), points) == ()
    assert not_read(typed(points), points) == ()


@pytest.mark.parametrize(
    ("changed", "wrong"),
    [
        ({"instrument": " "}, {"no_instrument"}),
        ({"testers": ()}, {"not_live_dead_live"}),
        ({"testers": (tried(before_v=None),)}, {"not_live_dead_live"}),
        ({"testers": (tried(after_v=None),)}, {"not_live_dead_live"}),
        ({"testers": (tried(after_v=0.0),)}, {"not_live_dead_live", "tester_off"}),
        ({"testers": (tried(before_v=449.0),)}, {"not_live_dead_live", "tester_off"}),
        ({"testers": (tried(source_v=None),)}, {"not_live_dead_live", "tester_off"}),
        ({"testers": (tried(source_v=0.0, before_v=0.0, after_v=0.0),)}, {"not_live_dead_live", "tester_off"}),
        ({"testers": (tried(source="self-test"),)}, {"not_live_dead_live", "source_does_not_prove"}),
        ({"testers": (tried(source="12 V battery"),)}, {"not_live_dead_live", "source_does_not_prove"}),
        ({"testers": (tried(source="a lamp"),)}, {"not_live_dead_live", "unknown_word"}),
        ({"testers": (tried("AC"),)}, {"not_live_dead_live"}),
    ],
)
def test_a_tester_that_is_not_proved_makes_everything_void(changed: dict[str, Any], wrong: set[str]) -> None:
    assert codes(not_dead(typed(**changed), DC)) == wrong
    assert codes(not_read(typed(**changed), DC)) == wrong


def test_a_12_v_battery_proves_where_this_vehicles_procedure_says_so() -> None:
    battery = tried(source="12 V battery", source_v=12.6, before_v=12.5, after_v=-12.5, by_procedure=True)
    assert not_dead(typed(testers=(battery,)), DC) == ()


@pytest.mark.parametrize(
    ("changed", "wrong"),
    [
        ({"read_v": {DC[0]: 0.4, DC[1]: 0.4}}, "not_measured"),
        ({"read_v": dict.fromkeys(DC, 5.1)}, "not_dead"),
        ({"maker": MakerDead()}, "maker_value_missing"),
        ({"maker": MakerDead(dc_v=61.0)}, "contradiction"),
        ({"maker_wait_min": None}, "maker_value_missing"),
        ({"maker_wait_min": 0.0}, "out_of_range"),
        ({"waited_min": None}, "still_to_wait"),
        ({"waited_min": 4.9}, "still_to_wait"),
        ({"read_v": dict.fromkeys(DC, float("nan"))}, "not_a_number"),
    ],
)
def test_points_are_not_proved_dead(changed: dict[str, Any], wrong: str) -> None:
    assert wrong in codes(not_dead(typed(**changed), DC))


def test_no_points_prove_nothing_and_a_missing_pair_is_named() -> None:
    assert codes(not_dead(typed(), ())) == {"no_points"}
    assert codes(not_read(typed(read_v={}), DC)) == {"not_measured"}


@pytest.mark.parametrize(
    ("volts", "earlier", "wrong"),
    [(4.9, None, False), (38.0, None, False), (38.0, 39.0, False), (38.0, 38.0, True), (61.0, None, True)],
)
def test_what_is_unexpected_ends_the_work(volts: float, earlier: float | None, wrong: bool) -> None:
    """60 V DC is where class B begins: ISO 6469-3; UN R100 section 2."""
    before = {} if earlier is None else {DC[0]: earlier}
    assert bool(unexpected(typed(read_v={DC[0]: volts}), before)) is wrong


def test_without_the_makers_value_there_is_no_verdict_on_a_reading() -> None:
    assert unexpected(typed(maker=MakerDead(), read_v={DC[0]: 400.0}), {}) == ()


@given(st.sets(st.sampled_from(BOTH)), st.floats(-1000, 1000), st.booleans(), st.booleans())
def test_nothing_left_out_or_above_the_makers_value_is_ever_proved_dead(
    left_out_points: set[Any], volts: float, before: bool, after: bool
) -> None:
    testers = tuple(
        tried(kind, before_v=500.0 if before else None, after_v=500.0 if after else None) for kind in ("DC", "AC")
    )
    read = {point: volts for point in BOTH if point not in left_out_points}
    proved = not_dead(typed(BOTH, testers=testers, read_v=read), BOTH) == ()
    assert proved == (not left_out_points and abs(volts) <= 5.0 and before and after)


def test_what_a_job_asks_for_follows_from_its_kit_and_its_order() -> None:
    assert proving_of(AtStart()) is Proving.NOTHING
    assert proving_of(AtStart(kit_kinds=("proving unit",))) is Proving.DEAD
    assert proving_of(AtStart(kit_kinds=("proving unit",), live_work_order=True)) is Proving.READINGS


def test_the_pack_side_is_measured_unless_the_hands_stay_on_the_vehicle_side() -> None:
    assert not is_pack_work(Job(point_of_work="vehicle side"))
    assert not is_pack_work(Job(point_of_work="not at HV"))
    assert is_pack_work(Job())
    assert is_pack_work(Job(point_of_work="pack terminals"))
    assert is_pack_work(Job(point_of_work="vehicle side", pack_kg=400.0))


# ---------------------------------------------------------------- plans
PLAN = Plan(
    vehicle="QF 417",
    highest_dc_v=450.0,
    highest_ac_v=300.0,
    mass_kg=2100.0,
    bay="2",
    starts=AT,
    ends=AT + timedelta(hours=4),
    lead="lea",
    second="sam",
)


def test_a_whole_plan_may_stand_and_people_may_be_named_later() -> None:
    assert may_plan(PLAN, AT) == ()
    assert may_plan(replace(PLAN, lead="", second=""), AT) == ()
    assert may_plan(replace(PLAN, ends=AT + timedelta(hours=10)), AT) == ()
    in_a_year = AT + timedelta(days=366)
    assert may_plan(replace(PLAN, starts=in_a_year, ends=in_a_year + timedelta(hours=1)), AT) == ()


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"vehicle": " "}, "no_vehicle"),
        ({"bay": ""}, "no_bay"),
        ({"highest_dc_v": None}, "voltage_unknown"),
        ({"highest_dc_v": -450.0}, "out_of_range"),
        ({"highest_dc_v": 0.45}, "voltage_unit"),
        ({"highest_ac_v": 300_000.0}, "voltage_unit"),
        ({"highest_dc_v": 0.0, "highest_ac_v": 0.0}, "voltage_zero"),
        ({"mass_kg": None}, "mass_unit"),
        ({"mass_kg": 2.1}, "mass_unit"),
        ({"mass_kg": -5.0}, "mass_unit"),
        ({"mass_kg": float("nan")}, "mass_unit"),
        ({"mass_kg": 0.0}, "mass_unit"),
        ({"highest_dc_v": float("nan")}, "not_a_number"),
        ({"highest_ac_v": float("inf")}, "not_a_number"),
        ({"mass_kg": 60_001.0}, "mass_unit"),
        ({"starts": None}, "no_times"),
        ({"ends": None}, "no_times"),
        ({"starts": AT - timedelta(hours=3), "ends": AT}, "end_is_past"),
        ({"starts": AT + timedelta(hours=4)}, "ends_first"),
        ({"ends": AT + timedelta(hours=10, minutes=1)}, "too_long"),
        (
            {"starts": datetime(9999, 12, 31, 22, tzinfo=UTC), "ends": datetime(9999, 12, 31, 23, tzinfo=UTC)},
            "too_far_ahead",
        ),
        ({"starts": datetime(9999, 12, 31, 22, tzinfo=UTC)}, "ends_first"),
        ({"ends": datetime(9999, 12, 31, 23, tzinfo=UTC)}, "too_long"),
        ({"ends": datetime(1, 1, 1, tzinfo=UTC)}, "ends_first"),
        ({"second": "lea"}, "leads_and_stands_by"),
    ],
)
def test_a_plan_that_cannot_be_meant_is_told(changed: dict[str, Any], code: str) -> None:
    assert code in codes(may_plan(replace(PLAN, **changed), AT))


# ---------------------------------------------------------------- appointments and vehicles
RULE = AppointedFor(valid_months=12, sentence="Appointed.", source="common practice, no source")


def role(*requirements: AppointedFor) -> JobType:
    return JobType(
        key="C", title="Isolate", says="", requirements=requirements, young_person=YoungPerson.NO,
        supervised_allowed=True, at_start=AtStart(),
    )  # fmt: skip


def appointed(**changed: Any) -> Appointment:
    right: dict[str, Any] = {
        "record": 5,
        "job_types": frozenset({"C"}),
        "workshop": "mill",
        "from_day": date(2025, 6, 1),
        "through_day": date(2026, 12, 31),
        "entered_on": date(2025, 6, 1),
        "by": "mia",
    }
    return Appointment(**{**right, **changed})


@pytest.mark.parametrize(
    ("changed", "ends_on", "rules", "counts"),
    [
        ({}, DAY, (RULE,), True),
        ({"job_types": frozenset({"D"})}, DAY, (RULE,), False),
        ({"by": "lea"}, DAY, (RULE,), False),
        ({"workshop": "quay"}, DAY, (RULE,), False),
        ({"withdrawn_from": DAY}, DAY, (RULE,), False),
        ({"from_day": date(2025, 3, 2)}, DAY, (RULE,), True),
        ({"from_day": date(2025, 3, 2)}, DAY + timedelta(days=1), (RULE,), False),
        ({"from_day": date(2025, 3, 2)}, DAY + timedelta(days=1), (), True),
        ({"through_day": DAY}, DAY + timedelta(days=1), (), False),
    ],
)
def test_an_appointment_counts_for_a_job_that_it_lasts_through(
    changed: dict[str, Any], ends_on: date, rules: tuple[AppointedFor, ...], counts: bool
) -> None:
    found = counting_appointments(
        [appointed(**changed)], role(*rules), person="lea", workshop="mill", on=DAY, ends_on=ends_on
    )
    assert bool(found) is counts


def test_one_appointment_that_reaches_the_vehicle_is_enough() -> None:
    vans, buses = appointed(vehicle_families=("van",)), appointed(vehicle_families=("Bus  with trailer",))
    assert outside_scope((), "car") == ()
    assert outside_scope((vans, buses), "bus with TRAILER") == ()
    assert codes(outside_scope((vans, buses), "car")) == {"not_for_family"}
    assert codes(outside_scope((vans,), "")) == {"family_unknown"}
    assert outside_scope((vans, appointed()), "") == ()


def test_what_is_left_out_is_read_once_each() -> None:
    one, two = appointed(may_not=("no packs",)), appointed(may_not=("no packs", "not alone"))
    assert left_out((one, two)) == ("no packs", "not alone")
