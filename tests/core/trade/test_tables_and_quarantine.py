"""Lift tables by statics, and damaged packs, which time never releases."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from training.core.trade import quarantine, tables
from training.core.trade.errors import BadInput, NotADate, RuleMissing
from training.core.trade.quarantine import Judgement, Place
from training.core.trade.tables import LoadedTable


def table(offset_m: float) -> LoadedTable:
    return LoadedTable(table_kg=250, load_kg=500, offset_m=offset_m, half_base_m=0.35)


def codes(reasons) -> list[str]:  # type: ignore[no-untyped-def]
    return [reason.code for reason in reasons]


def test_the_equilibrium_offset_comes_out_and_is_for_teaching_only() -> None:
    assert tables.tipping_offset_m(250, 500, 0.35) == pytest.approx(0.525)  # L24
    assert table(0.525).restoring_nm == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize(
    ("offset_m", "restoring_nm", "steadiness"), [(0.30, 1103.6, 4.60), (0.10, 2084.6, 8.69), (0.55, -122.6, -0.51)]
)  # L25: against 200 N at 1.2 m
def test_the_restoring_moments_come_out(offset_m: float, restoring_nm: float, steadiness: float) -> None:
    assert table(offset_m).restoring_nm == pytest.approx(restoring_nm, abs=0.05)
    assert tables.push_moment_nm(200, 1.2) == pytest.approx(240)
    assert table(offset_m).steadiness(200, 1.2) == pytest.approx(steadiness, abs=0.005)


def test_inside_the_equilibrium_one_push_already_tips_it() -> None:
    near_the_edge = table(0.50)  # C10
    assert near_the_edge.restoring_nm == pytest.approx(123, abs=0.5)
    assert not tables.steady_enough(near_the_edge)
    assert "table_tips" in codes(tables.not_steady(near_the_edge, None))


@pytest.mark.parametrize(
    ("offset_m", "inside_chart", "expected"),
    [
        (0.05, None, []),
        (0.10, None, []),
        (-0.10, None, []),
        (0.11, None, ["off_centre"]),
        (0.30, True, []),
        (0.05, False, ["outside_chart"]),
        (0.50, True, ["table_tips"]),
        (0.50, None, ["off_centre", "table_tips"]),
    ],
)  # C10: the maker's chart, else 100 mm; and twice the push (common practice, no source)
def test_chart_or_centre_and_always_steady(offset_m: float, inside_chart: bool | None, expected: list[str]) -> None:
    assert codes(tables.not_steady(table(offset_m), inside_chart)) == expected


@pytest.mark.parametrize(
    ("rated_kg", "pack_kg", "fixture_kg", "expected"),
    [(500, 544, 0, False), (600, 544, 56, True), (600, 544, 57, False)],
)  # L26; T6: fixture mass added
def test_the_table_is_rated_for_pack_and_fixture(
    rated_kg: float, pack_kg: float, fixture_kg: float, expected: bool
) -> None:
    assert tables.rating_covers(rated_kg, pack_kg, fixture_kg) is expected


@given(st.floats(-0.6, 0.6), st.floats(-0.6, 0.6))
def test_further_off_centre_is_never_steadier(one: float, other: float) -> None:
    near, far = sorted((one, other), key=abs)
    assert table(far).restoring_nm <= table(near).restoring_nm + 1e-9


@given(st.floats(50, 500), st.floats(100, 900), st.floats(0.2, 0.6))
def test_the_tipping_offset_is_where_the_moment_vanishes(table_kg: float, load_kg: float, half_m: float) -> None:
    edge_m = tables.tipping_offset_m(table_kg, load_kg, half_m)
    loaded = LoadedTable(table_kg=table_kg, load_kg=load_kg, offset_m=edge_m, half_base_m=half_m)
    assert loaded.restoring_nm == pytest.approx(0, abs=1e-6)
    assert not tables.steady_enough(loaded)


@pytest.mark.parametrize("change", [{"table_kg": 0}, {"load_kg": -1}, {"half_base_m": 0}, {"offset_m": float("nan")}])
def test_tables_that_cannot_be_are_refused(change: dict[str, float]) -> None:
    with pytest.raises(BadInput):
        tables.steady_enough(replace(table(0.1), **change))


# ---------------------------------------------------------------- quarantine
def place(regime: str, *sides_m: float, **known: object) -> Place:
    settled: dict[str, object] = {"indoors": False, "locked": True, "marked": True}
    return Place(regime=regime, open_sides_m=sides_m, **(settled | known))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("regime", "side_m", "on_the_spot_m", "expected"),
    [
        ("US", 15.24, None, []),  # B03: SAE J2990 practice, 50 ft
        ("US", 14.9, None, ["too_near"]),
        ("US", 15.0, None, ["too_near"]),  # 15 m is not 50 ft
        ("US", 12, None, ["too_near"]),  # B04: an open side of 12 m
        ("DE", 5, None, []),  # C11: trade body's figure
        ("DE", 4.9, None, ["too_near"]),
        ("DE", 5, 10, ["too_near"]),  # the fire service asks for more
        ("UK", 15, 15, []),
        ("US", 14, 5, ["too_near"]),  # nobody on the spot can ask for less
    ],
)
def test_distance_is_per_regime(regime: str, side_m: float, on_the_spot_m: float | None, expected: list[str]) -> None:
    assert codes(quarantine.not_a_place(place(regime, side_m, on_the_spot_m=on_the_spot_m))) == expected


@pytest.mark.parametrize("regime", ["UK", "EU"])
def test_where_no_figure_stands_somebody_on_the_spot_must_give_it(regime: str) -> None:
    with pytest.raises(RuleMissing):
        quarantine.distance_m(regime)


def test_one_open_side_too_near_is_enough() -> None:
    assert codes(quarantine.not_a_place(place("US", 30, 30, 12))) == ["too_near"]
    assert quarantine.not_a_place(place("US")) == ()  # barriers on every side


@pytest.mark.parametrize(
    ("known", "expected"),
    [
        ({"indoors": None}, "indoors"),
        ({"indoors": True}, "indoors"),
        ({"locked": None}, "not_locked"),  # DE: the place must be locked (C11)
        ({"marked": None}, "not_marked"),
    ],
)
def test_what_is_not_known_of_the_place_counts_against_it(known: dict[str, object], expected: str) -> None:
    assert codes(quarantine.not_a_place(place("DE", 10, **known))) == [expected]


GOOD = Judgement(
    damage="dry",
    temperature_not_rising=True,
    no_gas_no_noise=True,
    isolation_value_good=True,
    cell_values_good=True,
    signed_by_cleared_person=True,
)
AT = datetime(2026, 1, 5, 8, 0, tzinfo=UTC)


def test_the_first_check_is_after_72_hours_and_a_flooded_vehicle_has_none() -> None:
    assert quarantine.earliest_check("dry", AT) == AT + timedelta(hours=72)  # C11, common practice
    assert quarantine.earliest_check("flooded", AT) is None
    with pytest.raises(NotADate):
        quarantine.earliest_check("dry", AT.replace(tzinfo=None))


def test_no_field_of_a_judgement_is_a_time_so_time_releases_nothing() -> None:
    assert not {field.name for field in fields(Judgement)} & {"hours", "days", "since", "at", "on", "until"}


@pytest.mark.parametrize(
    "name", [field.name for field in fields(Judgement) if field.name.endswith(("ing", "good", "noise", "person"))]
)
def test_one_finding_missing_keeps_it_in_quarantine(name: str) -> None:
    for unknown in (None, False):
        assert quarantine.not_released(replace(GOOD, **{name: unknown}))


def test_a_flooded_vehicle_waits_for_pack_out_or_the_maker() -> None:
    assert quarantine.not_released(GOOD) == ()
    assert codes(quarantine.not_released(replace(GOOD, damage="flooded"))) == ["flooded"]
    assert quarantine.not_released(replace(GOOD, damage="flooded", pack_out_or_maker_asked=True)) == ()
    assert codes(quarantine.not_released(replace(GOOD, signed_by_cleared_person=None))) == ["signature"]
    assert len(quarantine.not_released(Judgement(damage="flooded"))) == 6


@pytest.mark.parametrize("sign", sorted(quarantine.ALARM_SIGNS))
def test_any_one_sign_means_out(sign: str) -> None:
    assert quarantine.must_evacuate([sign])  # B07
    assert not quarantine.must_evacuate([])


def test_a_sign_or_regime_that_is_not_known_is_refused() -> None:
    with pytest.raises(BadInput):
        quarantine.must_evacuate(["dull"])
    with pytest.raises(BadInput):
        quarantine.distance_m("Mars")
