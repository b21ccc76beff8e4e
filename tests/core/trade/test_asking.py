"""Asking the trade by name: strict about what comes in, fail closed about what is not known, never a bad number out."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from contextlib import suppress
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.core.trade.asked_well import GOOD
from training.core.trade.asking import CAUTION, KINDS, AskedWrongly, ask, schema
from training.core.trade.asking.fields import Field
from training.core.trade.errors import BadInput, Contradiction, OutOfRange, UnknownWord

NAMED_IN_THE_SPEC = {"gloves", "glove-dates", "meters", "isolation", "discharge", "pads", "table", "quarantine"}
NOT_KNOWN = "not known, and that counts against it"
FIELDS = [(kind.name, field) for kind in KINDS.values() for field in kind.takes]
JSON_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=12) | st.dates().map(str),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)


def example(kind: str) -> dict[str, Any]:
    return dict(schema(kind)["example"])


def verdict(answer: dict[str, Any]) -> bool | None:
    return answer.get("fit", answer.get("ok"))


def codes(answer: dict[str, Any]) -> set[str]:
    return {reason["code"] for reason in answer["reasons"]}


def named(rows: list[tuple[str, Field]]) -> dict[str, Any]:
    return {"argvalues": rows, "ids": [f"{kind}-{field.name}" for kind, field in rows]}


def test_every_kind_that_the_command_promises_is_there() -> None:
    assert set(KINDS) >= NAMED_IN_THE_SPEC
    assert all(name == kind.name for name, kind in KINDS.items())


@pytest.mark.parametrize("kind", KINDS)
def test_the_example_is_answered_with_verdict_sources_and_caution(kind: str) -> None:
    answer = ask(kind, example(kind))
    assert json.loads(json.dumps(answer, allow_nan=False)) == answer
    assert answer["kind"] == kind
    assert answer["verdict"].strip()
    assert answer["sources"]
    assert answer["caution"] == CAUTION
    assert (verdict(answer) is None) == (schema(kind)["verdict"] is None)


@pytest.mark.parametrize("kind", KINDS)
def test_every_figure_that_comes_out_is_in_the_schema_with_its_unit(kind: str) -> None:
    promised = {row["name"]: row["unit"] for row in schema(kind)["gives"]}
    for values in (example(kind), GOOD.get(kind, example(kind))):
        figures = ask(kind, values)["figures"]
        assert figures
        assert {name: figure["unit"] for name, figure in figures.items()}.items() <= promised.items()


@pytest.mark.parametrize("kind", KINDS)
def test_every_number_in_the_schema_has_a_unit_and_every_field_says_what_it_is(kind: str) -> None:
    for row in schema(kind)["takes"]:
        for field in row.get("fields", [row]):
            assert field["says"].strip()
            assert field["unit"] or "number" not in field["type"]
        assert row["required"] or row["left_out"]


@pytest.mark.parametrize("kind", KINDS)
def test_the_values_come_back_complete_and_normalised(kind: str) -> None:
    answer = ask(kind, example(kind))
    assert set(answer["given"]) == {field.name for field in KINDS[kind].takes}
    again = {field.name: answer["given"][field.name] for field in KINDS[kind].takes}
    assert ask(kind, again) == answer


# ---------------------------------------------------------------- strict about what comes in
@pytest.mark.parametrize(("kind", "field"), **named([row for row in FIELDS if row[1].required]))
def test_a_missing_field_is_refused_by_its_name(kind: str, field: Field) -> None:
    values = example(kind)
    del values[field.name]
    with pytest.raises(AskedWrongly) as refused:
        ask(kind, values)
    assert refused.value.faults == (f"{field.name} is missing",)


@pytest.mark.parametrize("kind", KINDS)
def test_an_unknown_field_is_refused_by_its_name(kind: str) -> None:
    with pytest.raises(AskedWrongly, match="colour is unknown"):
        ask(kind, {**example(kind), "colour": "orange"})


@pytest.mark.parametrize(("kind", "field"), **named([row for row in FIELDS if not row[1].may_be_null]))
def test_null_is_refused_where_nobody_may_leave_it_open(kind: str, field: Field) -> None:
    with pytest.raises(AskedWrongly, match=f"{field.name} is null"):
        ask(kind, {**example(kind), field.name: None})


@pytest.mark.parametrize(("kind", "field"), **named(FIELDS))
def test_a_value_of_the_wrong_type_is_refused_by_the_name_of_its_field(kind: str, field: Field) -> None:
    for wrong in wrong_values(field):
        with pytest.raises(AskedWrongly) as refused:
            ask(kind, {**example(kind), field.name: wrong})
        assert len(refused.value.faults) == 1
        assert refused.value.faults[0].startswith(field.name)


def wrong_values(field: Field) -> Iterator[Any]:
    if field.many:
        yield from ("some", 7, {"a": 1}, [[]])
        return
    yield from ([], {}, "")
    if field.type in ("number", "whole number"):
        yield from ("403", True, math.nan, math.inf, 10**400)
    else:
        yield from (7, 1.5)
    if field.bounds != "any":
        yield -1
    if field.bounds == "above 0":
        yield 0
    if field.type in ("date", "instant"):
        yield from ("2026-02-30", "20260201", "2026-W01-1", "tomorrow")
    if field.type == "instant":
        yield "2026-02-01T08:00"


def test_a_fault_inside_a_list_names_its_place() -> None:
    parts = [{"mass_kg": 100, "at_m": 1}, {"mass_kg": -1, "weight": 5}]
    with pytest.raises(AskedWrongly) as refused:
        ask("pads", {**GOOD["pads"], "parts_off": parts})
    assert refused.value.faults == (
        "parts_off[2].weight is unknown",
        "parts_off[2].mass_kg is -1 kg, which is not above 0",
        "parts_off[2].at_m is missing",
    )


def test_all_faults_are_told_at_once() -> None:
    with pytest.raises(AskedWrongly) as refused:
        ask("bonding", {"voltage_v": "a", "wire": 1})
    assert len(refused.value.faults) == 3


@pytest.mark.parametrize("values", [None, [], "{}", 5])
def test_anything_but_named_fields_is_refused(values: object) -> None:
    with pytest.raises(AskedWrongly):
        ask("bonding", values)


def test_an_unknown_kind_is_refused_with_the_list_of_kinds() -> None:
    with pytest.raises(UnknownWord, match="glove-dates"):
        ask("glove", {})


@given(st.sampled_from(FIELDS), JSON_VALUES)
def test_whatever_stands_in_a_field_gives_an_answer_in_full_or_a_named_refusal(
    row: tuple[str, Field], value: Any
) -> None:
    kind, field = row
    with suppress(BadInput):
        answer = ask(kind, {**GOOD.get(kind, example(kind)), field.name: value})
        assert json.dumps(answer, allow_nan=False)


@given(st.data())
@settings(max_examples=200)
def test_extreme_numbers_are_refused_or_give_finite_figures(data: st.DataObject) -> None:
    kind = data.draw(st.sampled_from(sorted(KINDS)))
    values = GOOD.get(kind, example(kind))
    numbers = [field.name for field in KINDS[kind].takes if field.type == "number" and not field.many]
    for name in numbers:
        extreme = st.sampled_from([5e-324, 1e-300, 1e-9, 1e9, 1e154, 1.7e308])
        values = {**values, name: data.draw(extreme)}
    with suppress(BadInput):
        assert json.dumps(ask(kind, values), allow_nan=False)


def test_figures_beyond_computing_are_refused_not_printed() -> None:
    with pytest.raises(OutOfRange, match="too large or too small"):
        ask("discharge", {**GOOD["discharge"], "start_v": 1e200})


# ---------------------------------------------------------------- fail closed about what is not known
@pytest.mark.parametrize("kind", GOOD)
def test_with_everything_known_and_good_nothing_speaks_against_it(kind: str) -> None:
    answer = ask(kind, GOOD[kind])
    assert verdict(answer) is True
    assert answer["reasons"] == []


@pytest.mark.parametrize(
    ("kind", "field"), **named([row for row in FIELDS if row[1].left_out == NOT_KNOWN and row[0] in GOOD])
)
def test_what_is_left_out_counts_against_it(kind: str, field: Field) -> None:
    known = {name: value for name, value in GOOD[kind].items() if name != field.name}
    for values in (known, {**known, field.name: None}):
        answer = ask(kind, values)
        assert not verdict(answer) or answer["figures"]["may_be_released"]["value"] is False
        assert answer["reasons"] or answer["figures"]["missing_for_release"]["value"]


@pytest.mark.parametrize("kind", KINDS)
def test_a_verdict_is_yes_exactly_when_there_is_no_reason_against_it(kind: str) -> None:
    for values in (example(kind), GOOD.get(kind, example(kind))):
        answer = ask(kind, values)
        assert verdict(answer) is None or verdict(answer) == (not answer["reasons"])


@pytest.mark.parametrize("kind", KINDS)
def test_no_answer_calls_a_vehicle_safe(kind: str) -> None:
    for values in (example(kind), GOOD.get(kind, example(kind))):
        answer = ask(kind, values)
        assert "safe" not in json.dumps({**answer, "caution": "", "given": {}})


# ---------------------------------------------------------------- some questions in full
def test_without_the_makers_dead_value_no_point_is_dead() -> None:
    answer = ask("isolation", {**GOOD["isolation"], "maker_dead_dc_v": None})
    assert answer["ok"] is False
    assert codes(answer) == {"maker_value_missing"}
    assert answer["figures"]["readings_say"]["value"] == {}


def test_without_the_makers_wait_there_is_no_isolation() -> None:
    answer = ask("isolation", {**GOOD["isolation"], "maker_wait_s": None})
    assert (answer["ok"], codes(answer)) == (False, {"maker_value_missing"})


def with_reading(**row: Any) -> dict[str, Any]:
    rows = [{"point": "HV+ to HV-, vehicle side", **row}, *GOOD["isolation"]["readings"][1:]]
    return ask("isolation", {**GOOD["isolation"], "readings": rows})


@pytest.mark.parametrize(
    ("row", "says", "code"),
    [  # trade-practice C1: three answers; 38 V after ten minutes is the classic
        ({"reading_v": 38}, "not dead yet: wait, then measure again", "not_dead"),
        ({"reading_v": 38, "earlier_v": 60}, "not dead yet: wait, then measure again", "not_dead"),
        ({"reading_v": 38, "earlier_v": 38}, "not falling: stop and ask", "not_falling"),
        ({"reading_v": 60.1, "earlier_v": 80}, "live: stop, keep away, escalate", "not_dead"),
        ({"reading_v": -395}, "live: stop, keep away, escalate", "not_dead"),
    ],
)
def test_a_reading_above_the_makers_value_has_one_of_three_answers(row: dict[str, Any], says: str, code: str) -> None:
    answer = with_reading(**row)
    assert answer["figures"]["readings_say"]["value"]["HV+ to HV-, vehicle side"] == says
    assert (answer["ok"], codes(answer)) == (False, {code})


def test_a_point_measured_twice_is_a_contradiction() -> None:
    rows = GOOD["isolation"]["readings"]
    with pytest.raises(Contradiction, match="twice"):
        ask("isolation", {**GOOD["isolation"], "readings": [*rows, rows[0]]})


def test_pack_work_asks_for_the_packs_own_outlet() -> None:
    answer = ask("isolation", {**GOOD["isolation"], "pack_work": True})
    assert [reason["sentence"] for reason in answer["reasons"]] == [
        f"{pair}, pack side was not measured." for pair in ("HV+ to HV-", "HV+ to body", "HV- to body")
    ]


@pytest.mark.parametrize("tests", [["test", "prove"], ["prove", "test"], ["prove", "prove"], []])
def test_a_tester_not_proved_before_and_after_voids_everything(tests: list[str]) -> None:
    assert codes(ask("isolation", {**GOOD["isolation"], "tests": tests})) == {"not_live_dead_live"}


@pytest.mark.parametrize("means", ["key out", "interlock loop", "contactor", "12 V off"])
def test_a_control_isolates_nothing(means: str) -> None:
    assert codes(ask("isolation", {**GOOD["isolation"], "means": means})) == {"not_isolated"}


def test_gloves_for_the_battery_label_do_not_do_for_the_bus() -> None:
    answer = ask("gloves", {**GOOD["gloves"], "glove_class": "00"})
    assert (answer["fit"], codes(answer)) == (False, {"class_too_low"})
    assert answer["figures"]["class_asked_for"]["value"] == "0"


def test_a_class_that_cannot_be_read_is_not_fit() -> None:
    assert codes(ask("gloves", {**GOOD["gloves"], "glove_class": None})) == {"glove_class_unknown"}


def test_a_voltage_beyond_every_class_is_not_fit() -> None:
    answer = ask("gloves", {**GOOD["gloves"], "highest_dc_v": 60_000})
    assert answer["fit"] is False
    assert "lowest_rated_class" not in answer["figures"]


def test_time_releases_no_flooded_pack() -> None:
    values = {**GOOD["quarantine"], "pack_out_or_maker_asked": False, "since": "2020-01-01T00:00+00:00"}
    answer = ask("quarantine", values)
    assert answer["ok"] is True
    assert answer["figures"]["may_be_released"]["value"] is False
    assert "earliest_look" not in answer["figures"]


def test_one_sign_of_trouble_means_out() -> None:
    answer = ask("quarantine", {**GOOD["quarantine"], "signs": ["white vapour"]})
    assert answer["verdict"].startswith("out, close doors")
    assert (answer["ok"], answer["figures"]["may_be_released"]["value"]) == (False, False)


@pytest.mark.parametrize("regime", ["UK", "EU"])
def test_where_nobody_has_given_a_distance_it_may_not_stand_there(regime: str) -> None:
    answer = ask("quarantine", {**GOOD["quarantine"], "regime": regime})
    assert (answer["ok"], codes(answer)) == (False, {"rule_missing"})
    told = ask("quarantine", {**GOOD["quarantine"], "regime": regime, "on_the_spot_m": 5})
    assert told["ok"] is True


def test_a_part_has_no_verdict_from_ohm_per_volt() -> None:
    answer = ask("insulation", {**GOOD["insulation"], "maker_limit_ohm": None})
    assert (answer["ok"], answer["verdict"]) == (False, "compare with the maker's figure")
