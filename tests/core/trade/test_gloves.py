"""Gloves against ASTM D120, 29 CFR 1910.137 and the OSHA letters of 2019 and 2020."""

from __future__ import annotations

from datetime import date
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from training.core.trade import gloves, limits
from training.core.trade.errors import BadInput, NotANumber, NotIssuable, OutOfRange, UnknownWord

DAYS = st.dates(date(2000, 1, 1), date(2060, 1, 1))
CLASSES = st.sampled_from(gloves.CLASSES)


@pytest.mark.parametrize(
    ("glove_class", "ac_v", "dc_v", "proof_v"),
    [
        ("00", 500, 750, 2500),
        ("0", 1000, 1500, 5000),
        ("1", 7500, 11_250, 10_000),
        ("2", 17_000, 25_500, 20_000),
        ("3", 26_500, 39_750, 30_000),
        ("4", 36_000, 54_000, 40_000),
    ],
)  # ASTM D120 / F496 Table 1; 29 CFR 1910.137 Table I-4 (trade-facts G01-G06)
def test_the_class_table_is_the_published_one(glove_class: str, ac_v: float, dc_v: float, proof_v: float) -> None:
    assert limits.GLOVE_AC_V[glove_class].value == ac_v
    assert limits.GLOVE_DC_V[glove_class].value == dc_v
    assert limits.GLOVE_PROOF_AC_V[glove_class].value == proof_v
    assert dc_v / ac_v == 1.5  # G07: in every class
    assert gloves.is_rated(glove_class, dc_v, ac_v)
    assert not gloves.is_rated(glove_class, dc_v + 1, ac_v)
    assert not gloves.is_rated(glove_class, dc_v, ac_v + 1)


@pytest.mark.parametrize(
    ("dc_v", "ac_v", "expected"),
    [(403, 0, "00"), (750, 0, "00"), (751, 0, "0"), (832, 0, "0"), (1500, 0, "0"), (1501, 0, "1")]
    + [(0, 500, "00"), (0, 501, "0"), (0, 1000, "0"), (0, 1001, "1"), (650, 501, "0"), (54_000, 36_000, "4")],
)  # G10: the lowest class whose limit is at or above the system maximum
def test_the_lowest_class_that_reaches_both_voltages_is_chosen(dc_v: float, ac_v: float, expected: str) -> None:
    assert gloves.class_for(dc_v, ac_v) == expected


def test_the_shop_floor_is_class_0_whatever_the_pack() -> None:
    assert gloves.class_needed(350, 0) == "0"  # G11, makers' procedures
    assert gloves.class_needed(1501, 0) == "1"
    assert gloves.class_needed(350, 0, floor="00") == "00"


def test_no_class_reaches_beyond_class_4() -> None:
    with pytest.raises(OutOfRange):
        gloves.class_for(54_001, 0)


DATE_VECTORS = [
    # trade-facts 1B vectors: tested, issued, shelf limit, due by issue + 6, due by the strict rule, origin
    (
        "2016-01-01",
        "2016-10-01",
        "2017-01-01",
        "2017-04-01",
        "2017-01-01",
        "1 OSHA letter 2020, UFC 3-560-01 Table 5-2",
    ),
    ("2021-03-02", "2022-03-01", "2022-03-02", "2022-09-01", "2022-03-02", "3 trainer page"),
    ("2022-06-20", "2023-06-19", "2023-06-20", "2023-12-19", "2023-06-20", "5 laboratory page"),
    ("2016-11-01", "2017-01-01", "2017-11-01", "2017-07-01", "2017-07-01", "6 maker page"),
    ("2025-01-10", "2025-02-01", "2026-01-10", "2025-08-01", "2025-08-01", "7 worked out"),
    ("2023-08-31", "2023-08-31", "2024-08-31", "2024-02-29", "2024-02-29", "8 worked out, month end, leap"),
    ("2024-08-31", "2024-08-31", "2025-08-31", "2025-02-28", "2025-02-28", "9 worked out, month end"),
    ("2024-02-29", "2024-12-01", "2025-02-28", "2025-06-01", "2025-02-28", "10 worked out, leap test date"),
]


@pytest.mark.parametrize(
    ("tested", "issued", "shelf", "due_a", "due_b", "origin"), DATE_VECTORS, ids=[row[5] for row in DATE_VECTORS]
)
def test_both_published_due_readings_come_out_as_published(
    tested: str, issued: str, shelf: str, due_a: str, due_b: str, origin: str
) -> None:
    tested_on, issued_on = date.fromisoformat(tested), date.fromisoformat(issued)
    assert gloves.shelf_limit(tested_on) == date.fromisoformat(shelf)
    assert gloves.issuable(tested_on, issued_on)
    assert gloves.due(tested_on, issued_on, "issue_plus_6") == date.fromisoformat(due_a)
    assert gloves.due(tested_on, issued_on) == date.fromisoformat(due_b)


@pytest.mark.parametrize(
    ("tested", "issued"),
    [("2021-02-27", "2022-03-01"), ("2022-05-15", "2023-06-19")],
    ids=["2 trainer page", "4 laboratory page"],
)
def test_gloves_tested_over_a_year_ago_may_not_be_issued(tested: str, issued: str) -> None:
    tested_on, issued_on = date.fromisoformat(tested), date.fromisoformat(issued)
    assert not gloves.issuable(tested_on, issued_on)
    for rule in ("strict_min", "issue_plus_6"):
        with pytest.raises(NotIssuable):
            gloves.due(tested_on, issued_on, rule)  # type: ignore[arg-type]


def test_after_a_retest_in_service_six_months_run_from_the_retest() -> None:
    # OSHA letter 2019-01-25 (vector 11): no shelf allowance begins anew
    issued_on, retested_on = date(2018, 2, 1), date(2018, 8, 1)
    assert gloves.due(retested_on, issued_on) == date(2019, 2, 1)
    assert gloves.due(retested_on, issued_on, "issue_plus_6") == date(2019, 2, 1)
    assert gloves.in_date(retested_on, issued_on, date(2019, 1, 20))
    assert not gloves.in_date(retested_on, issued_on, date(2019, 2, 15))


@pytest.mark.parametrize(("on", "expected"), [("2016-12-31", True), ("2017-01-01", False), ("2016-09-30", False)])
def test_the_limit_day_itself_is_out_of_date(on: str, expected: bool) -> None:
    # OSHA letter 2020-08-19: "must leave service by 1 January" (G26, G30)
    assert gloves.in_date(date(2016, 1, 1), date(2016, 10, 1), date.fromisoformat(on)) is expected


def test_blankets_and_sleeves_run_twelve_months_exclusive() -> None:
    assert gloves.sleeve_or_blanket_due(date(2025, 1, 10)) == date(2026, 1, 10)  # Table I-5, G23


@given(DAYS, DAYS)
def test_the_strict_rule_never_gives_more_than_the_looser_one(tested_on: date, issued_on: date) -> None:
    if tested_on > issued_on or gloves.issuable(tested_on, issued_on):
        assert gloves.due(tested_on, issued_on) <= gloves.due(tested_on, issued_on, "issue_plus_6")
        assert gloves.due(tested_on, issued_on) <= gloves.shelf_limit(tested_on)


@given(st.floats(0, 54_000), st.floats(0, 36_000), st.floats(0, 54_000))
def test_a_higher_voltage_never_asks_for_a_lower_class(dc_v: float, ac_v: float, other_dc_v: float) -> None:
    low, high = sorted((dc_v, other_dc_v))
    assert gloves.at_least(gloves.class_needed(high, ac_v), gloves.class_needed(low, ac_v))
    assert gloves.is_rated(gloves.class_needed(high, ac_v), high, ac_v)


@pytest.mark.parametrize(
    ("glove_class", "dc_v", "ac_v"),
    [("00", 375, 250), ("0", 750, 500), ("1", 1500, 1000), ("2", 11_250, 7500)],
    ids=["1910.137(c)(2)(vii)(B)", "70E: class 0 bare to 500 V AC", "one class down", "(vii)(C) class 2 for class 1"],
)
def test_without_protectors_the_stricter_of_osha_and_70e_holds(glove_class: str, dc_v: float, ac_v: float) -> None:
    assert gloves.bare_limits_v(glove_class) == (dc_v, ac_v)


@pytest.mark.parametrize(
    ("glove_class", "gap_mm", "house_mm", "expected"),
    [
        ("0", 12, None, False),  # ASTM F496 s.8, from memory (G41)
        ("0", 13, None, True),
        ("00", 13, None, True),
        ("1", 24.9, None, False),
        ("1", 25, None, True),
        ("2", 51, None, True),
        ("3", 75, None, False),
        ("4", 102, None, True),
        ("0", 13, 25, False),  # the older table as a house rule (G42, C18)
        ("2", 30, 25, False),  # a house rule never lowers it
    ],
)
def test_the_cuff_gap_follows_the_class(
    glove_class: str, gap_mm: float, house_mm: float | None, expected: bool
) -> None:
    assert gloves.cuff_gap_ok(glove_class, gap_mm, house_mm) is expected


@pytest.mark.parametrize(
    ("rubber_type", "ratio", "expected"), [("I", 1.6, True), ("I", 1.5, False), ("II", 1.3, True), ("II", 1.25, False)]
)  # ASTM F496 s.7, from memory (G47)
def test_an_air_test_can_stretch_a_glove_too_far(rubber_type: str, ratio: float, expected: bool) -> None:
    assert gloves.over_inflated(rubber_type, ratio) is expected


@pytest.mark.parametrize("trigger", gloves.RETEST_TRIGGERS)
def test_each_trigger_asks_for_a_new_test_and_a_later_test_settles_it(trigger: gloves.RetestTrigger) -> None:
    happened_on = date(2025, 5, 1)  # 29 CFR 1910.137 Table I-5; (c)(2)(vii)(D)
    assert gloves.needs_retest([(trigger, happened_on)], date(2025, 4, 30))
    assert gloves.needs_retest([(trigger, happened_on)], happened_on)  # same day: order unknown, fail closed
    assert not gloves.needs_retest([(trigger, happened_on)], date(2025, 5, 2))


@pytest.mark.parametrize("flag", sorted(gloves.REJECT_FLAGS))
def test_any_single_flag_takes_a_pair_out_of_service(flag: str) -> None:
    assert gloves.must_leave_service([flag])  # 29 CFR 1910.137(c)(2)(iii)-(iv)


def test_a_clean_look_takes_nothing_out_of_service() -> None:
    assert not gloves.must_leave_service([])


def test_category_letters_say_what_a_glove_resists() -> None:
    assert gloves.category_resists("RC") == {"acid", "oil", "ozone", "cold"}  # IEC 60903 (G19)
    assert gloves.category_resists("M") == {"mechanical"}  # legacy, EN 60903:2003 (G20)
    assert gloves.category_resists("") == set()


@pytest.mark.parametrize(
    "call",
    [
        lambda: gloves.is_rated("5", 1, 1),
        lambda: gloves.is_rated("0", float("nan"), 0),
        lambda: gloves.is_rated("0", -1, 0),
        lambda: gloves.class_for(True, 0),
        lambda: gloves.cuff_gap_ok("0", float("inf")),
        lambda: gloves.over_inflated("III", 1),
        lambda: gloves.must_leave_service(["fine"]),
        lambda: gloves.category_resists("Q"),
        lambda: gloves.due(date(2025, 1, 1), date(2025, 1, 1), "longest"),  # type: ignore[arg-type]
        lambda: gloves.needs_retest([("dropped", date(2025, 1, 1))], date(2025, 1, 1)),  # type: ignore[list-item]
    ],
)
def test_what_the_standard_does_not_know_is_refused(call) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(BadInput):
        call()


@given(st.text().filter(lambda text: text not in gloves.CLASSES))
def test_an_unreadable_class_is_never_taken_for_one(text: str) -> None:
    with pytest.raises(UnknownWord):
        gloves.is_rated(text, 1, 1)


# EN 60903 annex: 10 to 21 degC; ASTM F496: not above 35 degC (both from memory, confirm in the standard).
# 28 degC is outside the one and inside the other.
@pytest.mark.parametrize(
    ("temperature_c", "standard", "faults"),
    [
        (28, "EN", ("the place is too warm",)),
        (28, "ASTM", ()),
        (35, "ASTM", ()),
        (35.1, "ASTM", ("the place is too warm",)),
        (21, "EN", ()),
        (10, "EN", ()),
        (9.9, "EN", ("the place is too cold",)),
        (9.9, "ASTM", ()),
    ],
)
def test_a_storage_place_is_judged_by_its_standard(
    temperature_c: float, standard: Literal["ASTM", "EN"], faults: tuple[str, ...]
) -> None:
    assert gloves.not_stored_well(temperature_c=temperature_c, standard=standard, found=()) == faults


def test_how_gloves_lie_is_told_fault_by_fault() -> None:
    # 29 CFR 1910.137(c)(2)(vi); ASTM F496 section 8
    found = gloves.not_stored_well(temperature_c=18, standard="EN", found=["folded", "with tools"])
    assert found == ("they are folded", "tools lie in the same box")
    with pytest.raises(UnknownWord, match="what was found"):
        gloves.not_stored_well(temperature_c=18, standard="EN", found=["crumpled"])
    with pytest.raises(NotANumber):
        gloves.not_stored_well(temperature_c=float("nan"), standard="EN", found=[])
