"""Voltage class, order, wait and dead against UN R100, EN 50110-1 and the maker's value."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from training.core.trade import isolation, meters
from training.core.trade.errors import BadInput, Contradiction, MakerValueMissing
from training.core.trade.isolation import MakerDead, Reading, VoltageClass

POINTS = meters.points_to_test(ac_side=True, pack_work=True)
MAKER = MakerDead(dc_v=12, ac_v=5)
STEPS: list[meters.Step] = ["prove", "test", "prove"]


@pytest.mark.parametrize(
    ("voltage_v", "current", "expected"),
    [(60.0, "DC", "A"), (60.1, "DC", "B"), (30.0, "AC", "A"), (30.1, "AC", "B"), (1500, "DC", "B")]
    + [(1501, "DC", "beyond B"), (1000, "AC", "B"), (1001, "AC", "beyond B"), (48, "DC", "A"), (-400, "DC", "B")]
    + [(55, "DC", "A"), (0, "AC", "A")],
)  # UN R100 section 2; ISO 6469-3; DGUV 209-093 (V01)
def test_voltage_class_begins_above_60_v_dc_and_30_v_ac(
    voltage_v: float, current: meters.Current, expected: str
) -> None:
    assert isolation.voltage_class(voltage_v, current) == VoltageClass(expected)


@pytest.mark.parametrize("order", list(itertools.permutations((1, 2, 3))))
def test_only_disconnect_secure_verify_is_the_order(order: tuple[int, ...]) -> None:
    assert isolation.rules_in_order(order) is (order == (1, 2, 3))  # EN 50110-1 6.2 (I01, I03)


def test_rule_five_returns_as_soon_as_something_near_stays_live() -> None:
    assert isolation.rules_needed([]) == (1, 2, 3)
    for situation in ("pack opened", "pack connector unplugged", "second pack", "charge plug in"):  # C31
        assert isolation.rules_needed([situation]) == (1, 2, 3, 5)
        assert not isolation.rules_in_order([1, 2, 3], [situation])


def test_the_isolation_steps_count_only_complete_and_in_order() -> None:
    steps = list(isolation.ISOLATION_STEPS)
    assert isolation.steps_in_order(steps)
    assert not isolation.steps_in_order(steps[:-1])
    for place in range(len(steps) - 1):
        swapped = steps[:place] + [steps[place + 1], steps[place]] + steps[place + 2 :]
        assert not isolation.steps_in_order(swapped)


@pytest.mark.parametrize(
    ("means", "expected"),
    [
        ("service plug", True),
        ("HV disconnect", True),
        ("interlock loop", False),
        ("contactor", False),
        ("key out", False),
    ],
)  # 29 CFR 1910.333(b)(2)(ii) (I16); C5 for the key
def test_a_control_is_never_the_isolation(means: str, expected: bool) -> None:
    assert isolation.isolates(means) is expected


def test_keys_are_controlled_by_lock_and_hand_never_by_distance() -> None:
    answers = [
        isolation.keys_controlled(all_accounted_for=a, locked_away=b, held_by_the_worker=c)
        for a, b, c in itertools.product([True, False], repeat=3)
    ]
    assert answers == [True] + [False] * 7  # C6


def test_every_wake_source_left_is_named() -> None:
    assert isolation.wake_sources_left(isolation.WAKE_SOURCES) == ()
    assert "phone key and app" in isolation.wake_sources_left(["keys and cards"])  # C5


@pytest.mark.parametrize(("elapsed_s", "left_s"), [(299, 1), (300, 0), (301, 0), (0, 300)])  # I42: 4:59 not yet
def test_the_wait_is_the_makers(elapsed_s: float, left_s: float) -> None:
    assert isolation.wait_left_s(elapsed_s, 300) == left_s


def test_without_the_makers_wait_there_is_no_isolation_job() -> None:
    with pytest.raises(MakerValueMissing):
        isolation.wait_left_s(10_000, None)  # C13
    assert isolation.lesson_wait_s() == 600  # a trade body's 10 min, lessons only


@pytest.mark.parametrize(
    ("reading_v", "current", "maker", "earlier_v", "expected"),
    [
        (8, "DC", 12, None, Reading.DEAD),  # I42: 5:00 and 8 V
        (12, "DC", 12, None, Reading.DEAD),  # at or under
        (12.1, "DC", 12, None, Reading.WAIT),
        (38, "DC", 12, None, Reading.WAIT),  # trade-practice section 5 no. 3: never "under 60, fine"
        (38, "DC", 12, 38, Reading.NOT_FALLING),
        (38, "DC", 12, 45, Reading.WAIT),
        (60, "DC", 12, None, Reading.WAIT),
        (60.1, "DC", 12, 400, Reading.LIVE),
        (-38, "DC", 12, None, Reading.WAIT),  # a reversed lead is no less live
        (-400, "DC", 30, None, Reading.LIVE),
        (4, "DC", 3, None, Reading.WAIT),  # a maker's procedure: under 3 V
        (30, "AC", 5, None, Reading.WAIT),
        (30.1, "AC", 5, None, Reading.LIVE),
        (5, "AC", 5, None, Reading.DEAD),
    ],
)  # C1
def test_a_reading_is_judged_by_the_makers_value(
    reading_v: float, current: meters.Current, maker: float, earlier_v: float | None, expected: Reading
) -> None:
    assert isolation.read_point(reading_v, current, MakerDead(dc_v=maker, ac_v=maker), earlier_v) is expected


@pytest.mark.parametrize("current", ["DC", "AC"])
def test_without_the_makers_value_there_is_no_verdict_even_at_zero_volts(current: meters.Current) -> None:
    other = MakerDead(ac_v=5) if current == "DC" else MakerDead(dc_v=5)
    with pytest.raises(MakerValueMissing) as caught:
        isolation.read_point(0, current, other)
    assert caught.value.code == "maker_value_missing"


def test_a_dead_value_of_class_b_is_a_misreading() -> None:
    with pytest.raises(Contradiction):
        isolation.read_point(0, "DC", MakerDead(dc_v=61))
    with pytest.raises(Contradiction):
        isolation.read_point(0, "AC", MakerDead(dc_v=12, ac_v=31))


def test_proved_dead_needs_every_point_under_the_value_and_the_tester_proved_twice() -> None:
    readings = dict.fromkeys(POINTS, 0.4)
    assert isolation.not_proved_dead(POINTS, readings, MAKER, STEPS) == ()
    for point in POINTS:
        missing = {each: volts for each, volts in readings.items() if each != point}
        assert [why.code for why in isolation.not_proved_dead(POINTS, missing, MAKER, STEPS)] == ["not_measured"]
        live = readings | {point: 25.0}
        (why,) = isolation.not_proved_dead(POINTS, live, MAKER, STEPS)
        assert why.code == "not_dead"
        assert str(point) in why.sentence
    voided = isolation.not_proved_dead(POINTS, readings, MAKER, ["prove", "test"])
    assert [why.code for why in voided] == ["not_live_dead_live"]


def test_no_points_prove_nothing() -> None:
    assert [why.code for why in isolation.not_proved_dead((), {}, MAKER, STEPS)] == ["no_points"]


VOLTS = st.floats(0, 2000)


@given(VOLTS, VOLTS, st.floats(0.1, 60))
def test_a_higher_reading_is_never_safer(one: float, other: float, dead_v: float) -> None:
    low, high = sorted((one, other))
    order = [Reading.DEAD, Reading.WAIT, Reading.LIVE]
    maker = MakerDead(dc_v=dead_v)
    assert order.index(isolation.read_point(low, "DC", maker)) <= order.index(isolation.read_point(high, "DC", maker))


@given(VOLTS, st.floats(0.1, 60), VOLTS)
def test_an_earlier_reading_can_only_make_the_answer_stricter(volts: float, dead_v: float, earlier_v: float) -> None:
    maker = MakerDead(dc_v=dead_v)
    plain, with_earlier = (isolation.read_point(volts, "DC", maker, before) for before in (None, earlier_v))
    assert with_earlier is plain or (plain, with_earlier) == (Reading.WAIT, Reading.NOT_FALLING)


@given(st.lists(st.sampled_from(["prove", "test"]), max_size=6), st.dictionaries(st.sampled_from(POINTS), VOLTS))
def test_nothing_but_a_full_record_proves_dead(
    steps: list[meters.Step], readings: dict[meters.TestPoint, float]
) -> None:
    assume(len(readings) < len(POINTS) or max(readings.values()) > 12)
    assert isolation.not_proved_dead(POINTS, readings, MAKER, steps)


@pytest.mark.parametrize(
    "call",
    [
        lambda: isolation.voltage_class(float("nan"), "DC"),
        lambda: isolation.voltage_class(1, "three-phase"),  # type: ignore[arg-type]
        lambda: isolation.read_point("0", "DC", MAKER),  # type: ignore[arg-type]
        lambda: isolation.read_point(float("inf"), "DC", MAKER),
        lambda: isolation.read_point(0, "DC", MakerDead(dc_v=-3)),
        lambda: isolation.wait_left_s(-1, 300),
        lambda: isolation.wait_left_s(1, 0),
        lambda: isolation.isolates("wish"),
        lambda: isolation.steps_in_order(["hope"]),
        lambda: isolation.rules_needed(["rain"]),
    ],
)
def test_nonsense_is_refused(call) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(BadInput):
        call()
