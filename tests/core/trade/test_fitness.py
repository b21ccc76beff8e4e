"""Fitness of kit for a job: every kind, what is missing, what is wrong, and that nothing entered can break it."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from training.core.trade import fitness as trade_fitness
from training.core.trade.fitness import (
    KINDS,
    GlovePair,
    House,
    InsulatedTools,
    InsulationTester,
    Job,
    Kit,
    Leads,
    Lift,
    LiftTable,
    Lock,
    Mat,
    Meter,
    PreUseCheck,
    ProvingUnit,
    RescueHook,
    Visor,
    fitness,
    pre_use_reasons,
)
from training.core.trade.lifting import Load, Pads
from training.core.trade.tools import MARKS

ON = date(2026, 3, 2)
CHECKED = date(2025, 9, 1)

JOB = Job(
    highest_dc_v=454,
    highest_ac_v=300,
    regime="DE",
    point_of_work="vehicle side",
    maker_test_v=500,
    mass_kg=2200,
    rear_axle_kg=1144,
    wheelbase_m=2.9,
    pads=Pads(0.45, 2.30, 1.5),
    parts_off=(Load(480, 1.45),),
    pack_kg=480,
    fixture_kg=20,
    pack_offset_m=0.05,
)
GLOVES = GlovePair(
    name="pair 7",
    in_service=True,
    glove_class="0",
    tested_on=date(2025, 11, 3),
    last_test_passed=True,
    issued_on=date(2025, 12, 1),
    events=(),
    flags=(),
    has_protectors=True,
    cuff_gap_mm=20,
)
FIT: dict[str, Kit] = {
    "gloves": GLOVES,
    "meter": Meter(in_service=True, category="III", rated_v=1000, calibrated_on=CHECKED, damaged=False),
    "leads": Leads(in_service=True, category="III", rated_v=1000, bare_tip_mm=4, damaged=False),
    "proving unit": ProvingUnit(in_service=True, source="proving unit", gives=("DC",), works=True),
    "hook": RescueHook(in_service=True, rated_v=1000, checked_on=CHECKED, clean_and_dry=True, damaged=False),
    "insulated tools": InsulatedTools(in_service=True, marks=MARKS, damaged=False),
    "visor": Visor(in_service=True, marking="8 B T", damaged=False),
    "mat": Mat(in_service=True, mat_class="0", checked_on=CHECKED, damaged=False),
    "lock": Lock(in_service=True, personal=True, only_key=True),
    "lift": Lift(in_service=True, rated_kg=3500, examined_on=CHECKED, arm_locks_hold=True),
    "lift table": LiftTable(in_service=True, rated_kg=800, table_kg=250, half_base_m=0.35, checked_on=CHECKED),
    "insulation tester": InsulationTester(
        in_service=True, category="III", rated_v=1000, test_voltages_v=(250, 500), calibrated_on=CHECKED, damaged=False
    ),
}


def codes(kit: Kit, job: Job = JOB, on: date = ON) -> list[str]:
    return [reason.code for reason in fitness(kit, job, on).reasons]


def changed(kind: str, **entries: object) -> Kit:
    return replace(FIT[kind], **entries)  # type: ignore[arg-type]


def test_there_is_one_fit_example_of_every_kind() -> None:
    assert set(FIT) == set(KINDS)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_kit_in_order_is_fit(kind: str) -> None:
    assert FIT[kind].kind == kind
    assert fitness(FIT[kind], JOB, ON).reasons == ()
    assert fitness(FIT[kind], JOB, ON).fit


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_kit_of_which_nothing_is_known_is_not_fit(kind: str) -> None:
    verdict = fitness(KINDS[kind](), Job(), ON)  # type: ignore[arg-type]
    assert not verdict.fit
    assert all(reason.code and reason.sentence and reason.source for reason in verdict.reasons)


OPTIONAL = {"name", "composite", "arm_kg", "arc_class"}
ASKED = [(kind, field.name) for kind, kit in sorted(FIT.items()) for field in fields(kit) if field.name not in OPTIONAL]


@pytest.mark.parametrize(("kind", "name"), ASKED, ids=[f"{kind}: {name}" for kind, name in ASKED])
def test_one_thing_not_known_makes_it_not_fit(kind: str, name: str) -> None:
    assert not fitness(changed(kind, **{name: None}), JOB, ON).fit


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_kit_out_of_service_is_not_fit(kind: str) -> None:
    assert codes(changed(kind, in_service=False)) == ["out_of_service"]


NEEDS_VOLTS = ["gloves", "meter", "leads", "hook", "insulated tools", "mat", "insulation tester"]


@pytest.mark.parametrize("kind", NEEDS_VOLTS)
@pytest.mark.parametrize("name", ["highest_dc_v", "highest_ac_v"])
def test_a_vehicle_without_its_highest_voltages_leaves_kit_unfit(kind: str, name: str) -> None:
    assert codes(FIT[kind], replace(JOB, **{name: None})) == ["rule_missing"]  # C4: missing -> not fit


WRONG = [
    # kind, entries, code, source
    ("gloves", {"glove_class": "00"}, "class_too_low", "G11 shop floor"),
    ("gloves", {"glove_class": "7"}, "unknown_word", "ASTM D120 has no class 7"),
    ("gloves", {"issued_on": date(2025, 8, 1), "tested_on": date(2025, 7, 1)}, "glove_test_out", "1910.137 Table I-5"),
    ("gloves", {"tested_on": date(2025, 3, 2), "issued_on": date(2025, 10, 1)}, "glove_test_out", "OSHA letter 2020"),
    ("gloves", {"tested_on": date(2024, 9, 1)}, "not_issuable", "Table I-5 footnote 1"),
    ("gloves", {"issued_on": date(2026, 3, 3)}, "glove_dates_in_future", "not yet in service"),
    ("gloves", {"last_test_passed": False}, "glove_test_failed", "1910.137(c)(2)(x)"),
    ("gloves", {"events": (("suspect", date(2026, 1, 5)),)}, "retest_required", "Table I-5"),
    ("gloves", {"events": (("used_without_protector", date(2026, 1, 5)),)}, "retest_required", "(c)(2)(vii)(D)"),
    ("gloves", {"flags": ("oil or solvent",)}, "rejected", "1910.137(c)(2)(iii), G50"),
    ("gloves", {"has_protectors": False}, "no_protectors", "C19"),
    ("gloves", {"cuff_gap_mm": 12}, "cuff_gap", "ASTM F496 s.8"),
    ("meter", {"category": "II"}, "rating_too_low", "M09"),
    ("meter", {"rated_v": 600}, "rating_too_low", "C20 shop floor"),
    ("meter", {"category": "CAT III"}, "unknown_word", "IEC 61010"),
    ("meter", {"calibrated_on": date(2025, 3, 1)}, "check_overdue", "M33"),
    ("meter", {"calibrated_on": date(2026, 3, 3)}, "check_in_future", "a date after the job"),
    ("meter", {"damaged": True}, "damaged", "T2"),
    ("leads", {"category": "II"}, "rating_too_low", "T2: CAT II leads on a CAT III meter"),
    ("leads", {"bare_tip_mm": 5}, "tip_too_long", "HSE GS38"),
    ("proving unit", {"source": "12 V battery"}, "does_not_prove", "C15"),
    ("proving unit", {"source": "self-test"}, "does_not_prove", "M12"),
    ("proving unit", {"gives": ("AC",)}, "gives_no_such_current", "C15"),
    ("proving unit", {"works": False}, "does_not_work", "T2"),
    ("hook", {"rated_v": 400}, "hook_rating", "T8: rated"),
    ("hook", {"clean_and_dry": False}, "hook_not_clean", "T8: clean"),
    ("hook", {"checked_on": date(2025, 3, 1)}, "check_overdue", "yearly, common practice"),
    ("insulated tools", {"marks": MARKS[1:]}, "tool_marks", "IEC 60900, M25"),
    ("visor", {"marking": "9 B"}, "no_field_8", "EN 166, E06"),
    ("mat", {"mat_class": "X"}, "unknown_word", "IEC 61111"),
    ("lock", {"personal": False}, "not_personal", "lockout principles"),
    ("lock", {"only_key": None}, "second_key", "lockout principles"),
    ("lift", {"examined_on": date(2025, 3, 1)}, "check_overdue", "L10"),
    ("lift", {"arm_locks_hold": False}, "arm_locks", "L08"),
    ("lift", {"arm_kg": 600}, "pad_over_arm", "C9: 629 kg on a 600 kg arm"),
    ("lift table", {"rated_kg": 499}, "table_overloaded", "L26 with the fixture"),
    ("lift table", {"checked_on": None}, "no_check", "yearly, common practice"),
    ("lift table", {"half_base_m": 0.09}, "table_tips", "C10"),
    ("insulation tester", {"test_voltages_v": (1000,)}, "no_such_test_voltage", "C3: over-testing"),
]


@pytest.mark.parametrize(
    ("kind", "entries", "code", "source"), WRONG, ids=[f"{row[0]} {row[2]}: {row[3]}" for row in WRONG]
)
def test_one_thing_wrong_is_the_one_reason(kind: str, entries: dict[str, object], code: str, source: str) -> None:
    assert codes(changed(kind, **entries)) == [code]


JOBS = [
    ("gloves", {"highest_dc_v": 1501}, "class_too_low", "G10"),
    ("gloves", {"highest_dc_v": float("nan")}, "not_a_number", "no number"),
    ("meter", {"highest_dc_v": 1001}, "rating_too_low", "M09"),
    ("proving unit", {"ac_points": True}, "gives_no_such_current", "C15"),
    ("hook", {"highest_dc_v": 1001}, "hook_rating", "rated below the vehicle"),
    ("insulated tools", {"highest_dc_v": 1600}, "tool_voltage", "IEC 60900, M24"),
    ("visor", {"point_of_work": "inside the pack"}, "no_arc_class", "E07"),
    ("visor", {"point_of_work": None}, "no_arc_class", "not known counts as the worst"),
    ("mat", {"highest_ac_v": 1001}, "mat_class", "IEC 61111"),
    ("lift", {"regime": None}, "regime_unknown", "D10"),
    ("lift", {"pads": None}, "vehicle_loads_unknown", "C9: no pads, no verdict"),
    ("lift", {"rear_axle_kg": None}, "vehicle_loads_unknown", "C9: no axle loads, no verdict"),
    ("lift table", {"pack_kg": 790}, "table_overloaded", "L26"),
    ("lift table", {"pack_offset_m": 0.11}, "off_centre", "C10"),
    ("lift table", {"inside_table_chart": False}, "outside_chart", "C10"),
    ("insulation tester", {"maker_test_v": None}, "maker_value_missing", "C3"),
    ("insulation tester", {"maker_test_v": 1000}, "no_such_test_voltage", "C3"),
]


@pytest.mark.parametrize(
    ("kind", "entries", "code", "source"), JOBS, ids=[f"{row[0]} {row[2]}: {row[3]}" for row in JOBS]
)
def test_the_same_kit_may_not_do_for_another_job(kind: str, entries: dict[str, object], code: str, source: str) -> None:
    assert codes(FIT[kind], replace(JOB, **entries)) == [code]  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("point", "proved_dead", "ordinary_tools_do"),
    [
        ("vehicle side", True, True),
        ("vehicle side", False, False),
        ("not at HV", False, True),
        ("pack terminals", True, False),  # C7: live for ever, whatever was proved dead
        ("service plug socket", True, False),
        ("junction box", True, False),
        ("inside the pack", True, False),
        (None, True, False),
    ],
)
def test_ordinary_tools_do_only_on_the_parts_proved_dead(point, proved_dead, ordinary_tools_do) -> None:  # type: ignore[no-untyped-def]
    job = replace(JOB, point_of_work=point, proved_dead=proved_dead)
    assert fitness(InsulatedTools(in_service=True, marks=(), damaged=False), job, ON).fit is ordinary_tools_do


def test_gloves_go_out_of_date_on_the_limit_day_and_a_meter_the_day_after() -> None:
    pair = replace(GLOVES, tested_on=date(2016, 1, 1), issued_on=date(2016, 10, 1))
    assert codes(pair, on=date(2016, 12, 31)) == []  # OSHA letter 2020
    assert codes(pair, on=date(2017, 1, 1)) == ["glove_test_out"]
    meter = changed("meter", calibrated_on=date(2025, 3, 2))
    assert codes(meter, on=date(2026, 3, 2)) == []  # Reg. 1182/71
    assert codes(meter, on=date(2026, 3, 3)) == ["check_overdue"]


def test_the_house_may_choose_the_looser_published_reading() -> None:
    pair = replace(GLOVES, tested_on=date(2016, 1, 1), issued_on=date(2016, 10, 1))
    looser = replace(JOB, house=House(glove_due_rule="issue_plus_6"))
    assert codes(pair, looser, date(2017, 3, 31)) == []  # G27
    assert codes(pair, looser, date(2017, 4, 1)) == ["glove_test_out"]


def test_a_composite_glove_needs_no_protectors_where_that_is_the_rule() -> None:
    composite = replace(GLOVES, composite=True, has_protectors=None, cuff_gap_mm=None)
    assert codes(composite) == []
    assert codes(composite, replace(JOB, regime="US")) == ["no_protectors"]
    assert codes(composite, replace(JOB, regime=None)) == ["no_protectors"]


def test_a_british_lift_is_examined_twice_as_often() -> None:
    lift = changed("lift", examined_on=date(2025, 9, 1))
    assert codes(lift, replace(JOB, regime="UK"), date(2026, 3, 1)) == []  # L07: six months in practice
    assert codes(lift, replace(JOB, regime="UK"), date(2026, 3, 2)) == ["check_overdue"]
    assert codes(lift, replace(JOB, house=House(lift_months=3))) == ["check_overdue"]
    assert codes(changed("lift", examined_on=date(2025, 3, 1)), replace(JOB, house=House(lift_months=99))) == [
        "check_overdue"
    ]


def test_a_lift_is_judged_as_the_job_leaves_the_vehicle() -> None:
    tail_heavy = replace(JOB, parts_off=(Load(480, 1.45), Load(900, 0.2)))  # C14: drive taken off after the pack
    assert "tips" in codes(FIT["lift"], tail_heavy)


def test_the_axle_rule_refuses_too() -> None:
    nose_light = replace(JOB, mass_kg=2200, rear_axle_kg=1300, parts_off=(), pads=Pads(0.2, 2.9, 1.5))
    assert "axle_over_arm" in codes(changed("lift", arm_kg=640), nose_light)


def test_a_12_v_battery_proves_only_where_the_procedure_says_so() -> None:
    battery = changed("proving unit", source="12 V battery")
    assert codes(battery, replace(JOB, house=House(twelve_volt_proves=True))) == []


def test_all_reasons_are_given_not_only_the_first() -> None:
    pair = replace(GLOVES, glove_class="00", last_test_passed=False, flags=("hole", "tear"), has_protectors=False)
    assert codes(pair) == ["class_too_low", "glove_test_failed", "rejected", "no_protectors"]
    sentence = fitness(pair, JOB, ON).reasons[2].sentence
    assert "hole, tear" in sentence


def test_something_else_is_no_kit() -> None:
    verdict = fitness("a screwdriver", JOB, ON)  # type: ignore[arg-type]
    assert [reason.code for reason in verdict.reasons] == ["unknown_word"]


@pytest.mark.parametrize(
    ("check", "expected"),
    [
        (PreUseCheck(name="pair 7", wearer="t-4", on=ON, passed=True), []),
        (None, ["not_checked"]),
        (PreUseCheck(name="pair 7", wearer="t-4", on=ON - timedelta(days=1), passed=True), ["not_checked_today"]),
        (PreUseCheck(name="pair 7", wearer="t-5", on=ON, passed=True), ["checked_by_another"]),
        (PreUseCheck(name="pair 7", wearer="t-4", on=ON, passed=False), ["check_failed"]),
    ],
)  # 29 CFR 1910.137(c)(2)(ii): each day's use (G45); trade-practice 4b: by the wearer
def test_the_wearer_checks_today(check: PreUseCheck | None, expected: list[str]) -> None:
    assert [reason.code for reason in pre_use_reasons(check, "t-4", ON)] == expected


ANYTHING = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-5, 5),
    st.floats(),
    st.text(max_size=5),
    st.dates(),
    st.lists(st.one_of(st.text(max_size=3), st.floats(), st.none()), max_size=3).map(tuple),
)


@given(st.data())
def test_whatever_is_entered_for_a_field_the_answer_is_a_verdict_and_only_reasons_unfit(data: st.DataObject) -> None:
    kind, name = data.draw(st.sampled_from(ASKED))
    verdict = fitness(changed(kind, **{name: data.draw(ANYTHING)}), JOB, ON)
    assert verdict.fit is (not verdict.reasons)
    assert all(reason.sentence for reason in verdict.reasons)


@given(st.data())
def test_whatever_is_entered_for_the_job_the_answer_is_a_verdict(data: st.DataObject) -> None:
    kind = data.draw(st.sampled_from(sorted(KINDS)))
    name = data.draw(st.sampled_from([field.name for field in fields(Job)]))
    verdict = fitness(FIT[kind], replace(JOB, **{name: data.draw(ANYTHING)}), ON)
    assert all(reason.sentence and reason.source for reason in verdict.reasons)


@given(st.sampled_from(sorted(KINDS)), st.integers(0, 3000), st.integers(0, 3000))
def test_time_alone_never_makes_kit_in_service_fit_again(kind: str, one: int, other: int) -> None:
    early, late = (ON + timedelta(days=days) for days in sorted((one, other)))
    assert fitness(FIT[kind], JOB, early).fit or not fitness(FIT[kind], JOB, late).fit


@given(st.sampled_from(NEEDS_VOLTS), st.floats(0, 2000), st.floats(0, 2000))
def test_kit_fit_for_a_higher_voltage_is_fit_for_a_lower(kind: str, one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert (
        fitness(FIT[kind], replace(JOB, highest_dc_v=low), ON).fit
        or not fitness(FIT[kind], replace(JOB, highest_dc_v=high), ON).fit
    )


def test_the_package_names_what_it_gives() -> None:
    assert all(hasattr(trade_fitness, name) for name in trade_fitness.__all__)
