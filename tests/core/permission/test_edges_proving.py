"""Readings at their edges: the wait by the clock, DC beside AC, and a reading without a verdict among others."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from tests.core.permission.test_proving import BOTH, DC, tried, typed
from training.core.permission.proving import ProvedTester, Readings, not_dead, not_read, unexpected
from training.core.trade.isolation import MakerDead
from training.core.trade.reasons import Reason


def codes(reasons: tuple[Reason, ...]) -> list[str]:
    return [reason.code for reason in reasons]


@pytest.mark.parametrize(
    ("waited", "asked", "told"),
    [
        pytest.param(5.0, 5.0, [], id="to the minute"),
        pytest.param(4.99, 5.0, ["still_to_wait"], id="some seconds short"),
        pytest.param(0.5, 0.5, [], id="half a minute of half a minute"),
        pytest.param(0.4, 0.5, ["still_to_wait"], id="not quite half a minute"),
        pytest.param(None, 0.01, ["still_to_wait"], id="not said how long"),
        pytest.param(None, 0.9, ["still_to_wait"], id="not said how long, less than a minute asked"),
        pytest.param(60.0, 60.0, [], id="an hour of an hour"),
        pytest.param(59.0, 60.0, ["still_to_wait"], id="59 minutes of an hour"),
    ],
)
def test_the_makers_wait_is_over_when_so_many_minutes_have_gone(
    waited: float | None, asked: float, told: list[str]
) -> None:
    assert codes(not_dead(typed(waited_min=waited, maker_wait_min=asked), DC)) == told


def test_what_is_left_of_the_wait_is_told_in_whole_minutes_gone_and_minutes_asked() -> None:
    (reason,) = not_dead(typed(waited_min=4.9, maker_wait_min=12.5), DC)
    assert dict(reason.values) == {"minutes": "4", "asked": "12.5"}
    (nothing,) = not_dead(typed(waited_min=None, maker_wait_min=5.0), DC)
    assert dict(nothing.values) == {"minutes": "0", "asked": "5"}


def test_without_the_makers_wait_nothing_is_proved() -> None:
    (reason,) = not_dead(typed(maker_wait_min=None), DC)
    assert "wait" in reason.sentence
    assert len(not_dead(typed(maker_wait_min=0.0), DC)) == 1


def test_a_tester_that_is_off_on_ac_voids_ac_alone() -> None:
    off = typed(BOTH, testers=(tried("DC"), tried("AC", after_v=None)))
    assert codes(not_dead(off, BOTH)) == codes(not_dead(off, [p for p in BOTH if p.current == "AC"])) != []
    assert not_dead(off, [p for p in BOTH if p.current == "DC"]) == ()
    assert codes(not_read(off, BOTH)) == ["not_live_dead_live"]
    assert not_read(off, [p for p in BOTH if p.current == "DC"]) == ()


def test_points_of_dc_are_no_points_of_ac() -> None:
    only_dc = [point for point in BOTH if point.current == "DC"]
    half = typed(BOTH, read_v=dict.fromkeys(only_dc, 0.4))
    assert not_dead(half, only_dc) == ()
    missing = {str(dict(reason.values).get("point")) for reason in not_read(half, BOTH)}
    assert missing == {str(point) for point in BOTH if point.current == "AC"}


def test_a_reading_without_a_verdict_hides_no_live_one() -> None:
    ac_only = MakerDead(dc_v=None, ac_v=5.0)
    live = typed(
        BOTH, maker=ac_only, read_v={**dict.fromkeys(BOTH, 0.4), **{p: 200.0 for p in BOTH if p.current == "AC"}}
    )
    found = unexpected(live, {})
    assert len(found) == sum(point.current == "AC" for point in BOTH)
    assert set(codes(found)) == {"unexpected_reading"}


@pytest.mark.parametrize(
    ("changes", "off"),
    [
        ({"before_v": 450.0}, []),
        ({"before_v": 550.0}, []),
        ({"before_v": 449.9}, ["before"]),
        ({"after_v": 550.1}, ["after"]),
        ({"before_v": -500.0}, []),
        ({"before_v": 0.0, "after_v": 0.0}, ["before", "after"]),
        ({"source_v": None}, ["before", "after"]),
        ({"source_v": 0.0}, ["before", "after"]),
        ({"source_v": -500.0}, ["before", "after"]),
    ],
)
def test_the_tester_shows_what_the_source_gives_within_a_tenth(changes: dict[str, Any], off: list[str]) -> None:
    # a tenth: common practice of the trade, no source
    found = not_dead(typed(testers=(tried("DC", **changes),)), DC)
    told = [dict(reason.values) for reason in found if reason.code == "tester_off"]
    assert [values["when"] for values in told] == off
    assert bool(found) is bool(off)
    for values in told:
        gives = changes.get("source_v", 500.0)
        assert values["gives"] == ("?" if gives is None else f"{gives:g}")


def test_nothing_typed_is_nothing_proved() -> None:
    tester = ProvedTester(current="DC", source="proving unit")
    assert (tester.source_v, tester.before_v, tester.after_v, tester.by_procedure) == (None, None, None, False)
    bare = Readings(instrument="", testers=(), read_v={})
    assert (bare.maker, bare.maker_wait_min, bare.waited_min) == (MakerDead(), None, None)
    assert "no_instrument" in codes(not_read(replace(typed(), instrument=" "), DC))
    assert codes(not_dead(typed(), [])) == ["no_points"]
