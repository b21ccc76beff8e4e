"""Meters, proving and test points against IEC 61010, HSE GS38 and the trade's own rules."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from training.core.trade import meters
from training.core.trade.errors import BadInput
from training.core.trade.meters import Proof, Rating

RATINGS = st.builds(Rating, st.sampled_from(meters.CATEGORIES), st.floats(1, 2000))


@pytest.mark.parametrize(
    ("parts", "expected"),
    [
        ([("III", 1000), ("III", 600)], ("III", 600)),  # M08
        ([("III", 1000), ("II", 1000)], ("II", 1000)),
        ([("IV", 600), ("III", 1000)], ("III", 600)),
        ([("O", 1000), ("IV", 1000), ("III", 1000)], ("O", 1000)),
    ],
)
def test_a_chain_is_as_good_as_its_weakest_part(parts: list[tuple[str, float]], expected: tuple[str, float]) -> None:
    assert meters.weakest(*(Rating(*part) for part in parts)) == Rating(*expected)


@pytest.mark.parametrize(
    ("rating", "highest_v", "by_rating", "on_shop_floor"),
    [
        (("III", 1000), 832, True, True),  # M09
        (("III", 600), 403, True, False),  # M09 by rating; C20 on the shop floor
        (("III", 600), 832, False, False),
        (("II", 1000), 403, False, False),
        (("IV", 1000), 1000, True, True),
        (("III", 1000), 1001, False, False),
    ],
)
def test_a_chain_needs_category_and_volts(
    rating: tuple[str, float], highest_v: float, by_rating: bool, on_shop_floor: bool
) -> None:
    assert meters.meets(Rating(*rating), highest_v) is by_rating
    assert meters.meets_shop_floor(Rating(*rating), highest_v) is on_shop_floor


@pytest.mark.parametrize(
    ("category", "volts", "impulse_v"),
    [("II", 150, 1500), ("III", 150, 2500), ("IV", 150, 4000), ("II", 300, 2500), ("III", 300, 4000)]
    + [("IV", 300, 6000), ("II", 600, 4000), ("III", 600, 6000), ("IV", 600, 8000), ("II", 1000, 6000)]
    + [("III", 1000, 8000), ("IV", 1000, 12_000)],
)  # IEC 61010-2-030 as printed in an instrument manual (M05); 1500 for the misprint 1550
def test_the_impulse_table_is_the_published_one(category: str, volts: float, impulse_v: float) -> None:
    assert meters.impulse_v(Rating(category, volts)) == impulse_v


@pytest.mark.parametrize(("bare_mm", "expected"), [(2, True), (4, True), (4.1, False), (5, False)])  # HSE GS38 (M15)
def test_a_probe_tip_shows_little_metal(bare_mm: float, expected: bool) -> None:
    assert meters.tip_ok(bare_mm) is expected


@pytest.mark.parametrize(
    ("dc_v", "ac_v", "expected"), [(1500, 1000, True), (1501, 0, False), (0, 1001, False)]
)  # IEC 61243-3 scope (M10)
def test_two_pole_detectors_have_a_scope(dc_v: float, ac_v: float, expected: bool) -> None:
    assert meters.detector_in_scope(dc_v, ac_v) is expected


def test_a_detector_light_may_stay_dark_at_80_v_dc() -> None:
    assert not meters.detector_light_shows(80)  # M10, from memory
    assert meters.detector_light_shows(400)


@pytest.mark.parametrize(
    ("steps", "expected"),
    [
        (["prove", "test", "prove"], True),  # HSE GS38 / HSG85 (M13)
        (["prove", "test", "test", "test", "prove"], True),
        (["test", "prove"], False),
        (["prove", "test"], False),
        (["prove", "prove"], False),
        (["prove"], False),
        (["test"], False),
        ([], False),
        (["prove", "test", "prove", "test", "prove"], False),
    ],
)
def test_only_live_dead_live_is_the_order(steps: list[meters.Step], expected: bool) -> None:
    assert meters.live_dead_live(steps) is expected


@pytest.mark.parametrize(
    ("source", "source_current", "tested", "by_procedure", "expected"),
    [
        ("proving unit", "DC", "DC", False, Proof.PROVES),
        ("proving unit", "DC", "AC", False, Proof.DOES_NOT_PROVE),  # C15
        ("12 V battery", "DC", "DC", False, Proof.ONLY_BY_PROCEDURE),  # C15
        ("12 V battery", "DC", "DC", True, Proof.PROVES),
        ("12 V battery", "DC", "AC", True, Proof.DOES_NOT_PROVE),
        ("self-test", "DC", "DC", True, Proof.DOES_NOT_PROVE),  # M12, a meter maker's answer
        ("open live HV point", "DC", "DC", True, Proof.DOES_NOT_PROVE),  # C15
    ],
)
def test_only_a_known_source_of_the_same_kind_proves_a_tester(
    source: str, source_current: meters.Current, tested: meters.Current, by_procedure: bool, expected: Proof
) -> None:
    assert meters.proving_source(source, source_current, tested, by_procedure) is expected


@pytest.mark.parametrize(("ac_side", "pack_work", "count"), [(False, False, 3), (True, False, 9), (False, True, 6)])
def test_every_pair_is_a_point(ac_side: bool, pack_work: bool, count: int) -> None:
    # M16: three on DC, six more on AC; C16: and the pack's own outlet for pack work
    points = meters.points_to_test(ac_side=ac_side, pack_work=pack_work)
    assert len(set(points)) == len(points) == count
    assert any(point.side == "pack" for point in points) is pack_work
    assert any(point.current == "AC" for point in points) is ac_side


@given(st.lists(RATINGS, min_size=1, max_size=5), RATINGS, st.floats(0, 2000))
def test_one_more_part_never_makes_a_chain_better(parts: list[Rating], more: Rating, highest_v: float) -> None:
    if meters.meets(meters.weakest(*parts, more), highest_v):
        assert all(meters.meets(part, highest_v) for part in [*parts, more])
    else:
        assert not all(meters.meets(part, highest_v) for part in [*parts, more])


@pytest.mark.parametrize(
    "call",
    [
        lambda: meters.weakest(),
        lambda: meters.weakest(Rating("V", 1000)),
        lambda: meters.meets(Rating("III", 0), 400),
        lambda: meters.meets(Rating("III", 1000), float("nan")),
        lambda: meters.impulse_v(Rating("III", 700)),
        lambda: meters.live_dead_live(["look"]),  # type: ignore[list-item]
        lambda: meters.proving_source("wall socket", "AC", "AC"),
    ],
)
def test_what_no_meter_bears_is_refused(call) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(BadInput):
        call()
