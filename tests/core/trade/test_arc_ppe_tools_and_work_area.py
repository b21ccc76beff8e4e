"""Arc arithmetic, PPE, tools and work area against NFPA 70E, EN 166, IEC 60900, DGUV and OSHA letters."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from training.core.trade import arc, ppe, tools, work_area
from training.core.trade.errors import BadInput, OutOfRange
from training.core.trade.work_area import Approach, SecondPerson

ARC_VECTORS = [  # trade-facts section 4: D. R. Doan 2010, 70E Annex D.5; at 18 in
    (400, 4000, 2.0, False, 2000, 7.6543, 115.470),
    (400, 4000, 0.1, False, 2000, 0.3827, 25.820),
    (400, 4000, 0.1, True, 2000, 1.1482, 44.721),
    (800, 5000, 0.1, False, 2500, 0.9568, 40.825),
    (125, 10_000, 2.0, False, 5000, 5.9800, 102.062),
    (400, 8000, 2.0, False, 4000, 15.3087, 163.299),
]


@pytest.mark.parametrize(("volts", "fault_a", "seconds", "in_box", "arc_a", "energy", "edge_cm"), ARC_VECTORS)
def test_the_arc_vectors_come_out(
    volts: float, fault_a: float, seconds: float, in_box: bool, arc_a: float, energy: float, edge_cm: float
) -> None:
    assert arc.arc_current_a(fault_a) == arc_a
    assert arc.incident_energy_cal_cm2(volts, fault_a, seconds, 45.72, in_box=in_box) == pytest.approx(energy, abs=5e-5)
    assert arc.boundary_cm(volts, fault_a, seconds, in_box=in_box) == pytest.approx(edge_cm, abs=5e-4)


@pytest.mark.parametrize(("pack_v", "ohm", "fault_a"), [(400, 0.100, 4000), (350, 96 * 0.8e-3, 4557)])
def test_the_fault_current_of_a_pack_comes_out(pack_v: float, ohm: float, fault_a: float) -> None:
    assert arc.fault_current_a(pack_v, ohm) == pytest.approx(fault_a, abs=0.5)


@pytest.mark.parametrize(
    ("energy", "category"), [(3.9, "1"), (4, "1"), (7.65, "2"), (15.3, "3"), (26, "4"), (40, "4")]
)  # NFPA 70E Table 130.7(C)(15)(c) (E10)
def test_the_arc_category_is_the_lowest_that_covers(energy: float, category: str) -> None:
    assert arc.category_for(energy) == category


def test_beyond_category_4_nobody_works() -> None:
    with pytest.raises(OutOfRange):
        arc.category_for(41)  # E13


@pytest.mark.parametrize(("energy", "expected"), [(0.38, False), (1.2, True), (12, True)])  # E12, E14
def test_arc_clothing_begins_at_the_onset_of_a_burn(energy: float, expected: bool) -> None:
    assert arc.arc_clothing_by_energy(energy) is expected


@given(st.floats(60, 1000), st.floats(100, 20_000), st.floats(0.01, 5))
def test_at_the_boundary_the_energy_is_the_onset_of_a_burn(volts: float, fault_a: float, seconds: float) -> None:
    edge_cm = arc.boundary_cm(volts, fault_a, seconds)
    assert arc.incident_energy_cal_cm2(volts, fault_a, seconds, edge_cm) == pytest.approx(1.2)


# ---------------------------------------------------------------- PPE
@pytest.mark.parametrize(
    ("leakage_ma", "dry", "whole", "expected"),
    [(1.0, True, True, True), (1.1, True, True, False), (0.5, False, True, False), (0.5, True, False, False)],
)  # ASTM F2413 (E01, E02)
def test_eh_footwear_is_dry_whole_and_within_one_milliamp(
    leakage_ma: float, dry: bool, whole: bool, expected: bool
) -> None:
    assert ppe.eh_footwear_ok(leakage_ma, dry=dry, whole=whole) is expected


@pytest.mark.parametrize(
    ("marking", "speed"), [("S", 5.1), ("F", 45), ("B", 120), ("A T", 190), ("B T", 120), ("8 B T", 120)]
)  # EN 166 (E05)
def test_en_166_strength_letters_are_ball_speeds(marking: str, speed: float) -> None:
    assert ppe.impact_m_s(marking) == speed


@pytest.mark.parametrize("marking", ["", "T", "8", "S B", "Q"])
def test_a_marking_without_one_strength_letter_is_refused(marking: str) -> None:
    with pytest.raises(BadInput):
        ppe.impact_m_s(marking)


def test_only_field_8_covers_an_electric_arc() -> None:
    assert ppe.covers_small_arc("8 B T")  # EN 166 (E06)
    assert not ppe.covers_small_arc("3 9 B")
    assert "arc" in ppe.EN166_FIELDS["8"]


@pytest.mark.parametrize(("helmet", "volts"), [("E", 20_000), ("G", 2200), ("C", 0)])  # ANSI Z89.1 (E20)
def test_helmet_classes(helmet: str, volts: float) -> None:
    assert ppe.helmet_test_v(helmet) == volts


@pytest.mark.parametrize(
    ("fibres", "expected"),
    [(["cotton", "polycotton"], True), (["wool", "cotton"], False), (["fleece"], True), ([], False)],
)  # NFPA 70E 130.7(C)(11)-(12), from memory (E17)
def test_nothing_that_melts_next_to_the_skin(fibres: list[str], expected: bool) -> None:
    assert ppe.melts(fibres) is expected


def test_metal_comes_off() -> None:
    assert ppe.metal_to_take_off(["ring", "watch"]) == ("ring", "watch")  # 29 CFR 1910.333(c)(8) (E19)
    with pytest.raises(BadInput):
        ppe.metal_to_take_off(["hat"])


@pytest.mark.parametrize(
    ("ce_mark", "body", "expected"),
    [(True, "0123", True), (True, "", False), (True, "12", False), (False, "0123", False)],
)  # EU 2016/425 category III (E23)
def test_electrical_ppe_in_the_eu_bears_four_digits(ce_mark: bool, body: str, expected: bool) -> None:
    assert ppe.eu_marking_ok(ce_mark=ce_mark, notified_body=body) is expected


def test_a_class_0_mat_reaches_1000_v_ac() -> None:
    assert ppe.mat_reaches("0", 832, 1000)  # IEC 61111, from memory (E21)
    assert not ppe.mat_reaches("0", 832, 1001)


def test_arc_rating_covers_the_energy() -> None:
    assert ppe.arc_rated_for(8, 7.65)
    assert not ppe.arc_rated_for(8, 8.1)


# ---------------------------------------------------------------- tools
@pytest.mark.parametrize(
    ("dc_v", "ac_v", "expected"), [(832, 0, True), (1500, 1000, True), (1600, 0, False), (0, 1001, False)]
)
def test_insulated_tools_reach_1500_v_dc(dc_v: float, ac_v: float, expected: bool) -> None:
    assert tools.within_scope(dc_v, ac_v) is expected  # IEC 60900:2018 (M24)


@pytest.mark.parametrize("mark", tools.MARKS)
def test_a_tool_without_one_of_its_marks_is_no_insulated_tool(mark: str) -> None:
    assert tools.missing_marks([each for each in tools.MARKS if each != mark]) == (mark,)  # M25
    assert tools.missing_marks(tools.MARKS) == ()


# ---------------------------------------------------------------- work area
@pytest.mark.parametrize(
    ("volts", "expected"),
    [(500, Approach(1.07, 0.30)), (832, Approach(1.07, 0.30)), (301, Approach(1.07, 0.30)), (290, Approach(1.07, None))]
    + [(300, Approach(1.07, None)), (49, None)],
)  # NFPA 70E Table 130.4(E)(b) (I32-I34)
def test_dc_shock_boundaries(volts: float, expected: Approach | None) -> None:
    assert work_area.dc_approach(volts) == expected


def test_beyond_a_kilovolt_this_table_ends() -> None:
    with pytest.raises(OutOfRange):
        work_area.dc_approach(1001)


@pytest.mark.parametrize(
    ("distance_m", "closed", "live_open", "expected"),
    [(1.0, True, False, True), (1.06, True, True, False), (1.07, True, True, True), (2, False, False, False)]
    + [(0.99, True, False, False)],
)  # T4: about 1.0-1.5 m, never under the US limited approach where live parts may be open; no open wall side
def test_the_cordon_is_closed_and_far_enough(distance_m: float, closed: bool, live_open: bool, expected: bool) -> None:
    assert work_area.cordon_ok(distance_m, ring_closed=closed, live_parts_may_be_open=live_open) is expected


ON = date(2026, 3, 2)
STANDBY = SecondPerson(
    cleared_for_rescue=True,
    instructed=True,
    adult=True,
    first_aid_through=ON,
    in_sight=True,
    nothing_else_to_do=True,
    hook_at_hand=True,
    gloves_at_hand=True,
    knows_the_switch_off=True,
)


def test_a_second_person_may_hold_less_than_the_lead() -> None:
    assert work_area.not_second_person(STANDBY, ON) == ()  # C30: no clearance of the lead's job type is asked


@pytest.mark.parametrize("name", [field.name for field in fields(SecondPerson)])
def test_one_thing_not_known_of_the_second_person_is_one_reason(name: str) -> None:
    (why,) = work_area.not_second_person(replace(STANDBY, **{name: None}), ON)
    assert why.sentence
    assert why.source


def test_first_aid_counts_through_its_last_day() -> None:
    (why,) = work_area.not_second_person(STANDBY, date(2026, 3, 3))
    assert why.code == "no_first_aid"


@pytest.mark.parametrize(("minutes", "expected"), [(3, False), (4, False), (5, True)])
def test_help_that_takes_longer_than_four_minutes_is_too_far(minutes: float, expected: bool) -> None:
    assert work_area.first_aider_needed_on_site(minutes) is expected  # OSHA letters 1993-06-02, 1994-02-09 (P26)


@pytest.mark.parametrize(("present", "aiders"), [(1, 0), (2, 1), (8, 1), (20, 1), (21, 3), (34, 4), (70, 7)])
def test_german_first_aiders(present: int, aiders: int) -> None:
    assert work_area.first_aiders_needed_de(present) == aiders  # DGUV Vorschrift 1 s.26 (P27)
