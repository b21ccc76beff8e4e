"""Plain fields and rule books at their edges: the last value that is taken and the first that is not."""

from __future__ import annotations

from typing import Any

import pytest

from tests.core.permission.builders import WORDS, book, certificate_of, holds, job_type, recall_of, sign_off
from tests.core.permission.test_reading import HOUSE, changed, faults
from training.core.permission.fields import Faults, Fields
from training.core.permission.reading import BadRuleBook, as_mapping, rule_book_from
from training.core.permission.requirement_fields import read_requirement, requirement_mapping
from training.core.permission.rule_book import AtStart, SignOffOf, holds_of
from training.core.trade.fitness import House


def read(value: Any, reader: str, **options: Any) -> tuple[Any, list[str]]:
    """What a reader of the field "f" makes of a value (``...``: left out), and the faults that it notes."""
    noted = Faults()
    fields = Fields({} if value is ... else {"f": value}, "here", noted)
    return getattr(fields, reader)("f", **options), noted.found


TAKEN: list[tuple[str, dict[str, Any], Any, Any]] = [
    ("text", {}, "x", "x"),
    ("text", {"empty": True}, "", ""),
    ("text", {"empty": True}, ..., ""),
    ("texts", {}, ["a", "b"], ("a", "b")),
    ("texts", {"empty": True}, [], ()),
    ("one_of", {"words": ("a", "b")}, "b", "b"),
    ("yes_no", {}, True, True),
    ("yes_no", {}, False, False),
    ("whole", {"least": 2}, 2, 2),
    ("whole", {"least": 2}, 3, 3),
    ("whole", {"least": 0, "default": 7}, ..., 7),
    ("whole", {"least": 0, "default": 7}, 0, 0),
    ("whole_or_none", {"least": 2}, None, None),
    ("whole_or_none", {"least": 2}, 2, 2),
    ("share", {}, 0, 0.0),
    ("share", {}, 1, 1.0),
    ("share", {"default": 0.8}, ..., 0.8),
    ("floor", {}, 0.001, 0.001),
    ("floor", {}, 0.999, 0.999),
    ("floor_or_none", {}, None, None),
    ("floor_or_none", {}, 0.5, 0.5),
]


@pytest.mark.parametrize(("reader", "options", "value", "taken"), TAKEN, ids=[f"{r[0]} {r[2]!r}" for r in TAKEN])
def test_what_is_right_is_taken_without_a_fault(reader: str, options: Any, value: Any, taken: Any) -> None:
    found, noted = read(value, reader, **options)
    assert (found, type(found), noted) == (taken, type(taken), [])


NOT_TAKEN: list[tuple[str, dict[str, Any], Any, Any, str]] = [
    ("text", {}, "", "", "f must be text, not ''"),
    ("text", {"empty": True}, 3, "", "f must be text, not 3"),
    ("texts", {}, [], (), "f must be a list that is not empty, not []"),
    ("texts", {"empty": True}, ..., (), "f must be a list, not None"),
    ("texts", {}, ["a", " "], (), "f must be different texts, not ['a', ' ']"),
    ("texts", {}, ["a", 1], (), "f must be different texts, not ['a', 1]"),
    ("texts", {}, ["a", "a", "b"], (), "f must be different texts, not ['a', 'a', 'b']"),
    ("one_of", {"words": ("a", "b")}, "c", "a", "f must be one of 'a', 'b', not 'c'"),
    ("one_of", {"words": ("a", "b")}, ..., "a", "f must be one of 'a', 'b', not None"),
    ("one_of", {"words": (1, 2)}, 2, 1, "f must be one of 1, 2, not 2"),
    ("yes_no", {}, 1, False, "f must be true or false, not 1"),
    ("yes_no", {}, ..., False, "f must be true or false, not None"),
    ("whole", {"least": 2}, 1, 2, "f must be a whole number, at least 2, not 1"),
    ("whole", {"least": 0}, False, 0, "f must be a whole number, at least 0, not False"),
    ("whole", {"least": 1}, 1.0, 1, "f must be a whole number, at least 1, not 1.0"),
    ("whole_or_none", {"least": 2}, 1, 2, "f must be a whole number, at least 2, not 1"),
    ("whole_or_none", {"least": 2}, ..., 2, "f must be a whole number, at least 2, not None"),
    ("share", {}, -0.001, 1.0, "f must be a number from 0 to 1, not -0.001"),
    ("share", {}, 1.001, 1.0, "f must be a number from 0 to 1, not 1.001"),
    ("share", {}, True, 1.0, "f must be a number from 0 to 1, not True"),
    ("share", {}, "1", 1.0, "f must be a number from 0 to 1, not '1'"),
    ("floor", {}, 0.0, 1.0, "f must be a number above 0 and below 1, not 0.0"),
    ("floor", {}, 1, 1.0, "f must be a number above 0 and below 1, not 1"),
    ("floor_or_none", {}, ..., 1.0, "f must be a number above 0 and below 1, not None"),
]


@pytest.mark.parametrize(
    ("reader", "options", "value", "instead", "fault"), NOT_TAKEN, ids=[f"{r[0]} {r[2]!r}" for r in NOT_TAKEN]
)
def test_what_is_not_right_is_told_and_the_strictest_is_taken_instead(
    reader: str, options: Any, value: Any, instead: Any, fault: str
) -> None:
    assert read(value, reader, **options) == (instead, [f"here: {fault}"])


def test_every_field_that_nobody_asked_for_is_told_and_no_other() -> None:
    noted = Faults()
    fields = Fields({"f": 1, "g": 2, 3: 4}, "here", noted)
    fields.whole("f", least=0)
    fields.nothing_else()
    assert noted.found == ["here: unknown field 'g'", "here: unknown field 3"]
    assert fields.names() == ["f", "g", "3"]
    assert (fields.has("f"), fields.has("x")) == (True, False)


def test_a_place_is_said_by_name_only_where_it_has_one() -> None:
    noted = Faults()
    for plain in ({"key": "A"}, {"key": 7}, {}):
        fields = Fields(plain, "here", noted)
        fields.named("key")
        fields.fault("wrong")
    assert noted.found == ["here (A): wrong", "here: wrong", "here: wrong"]


def test_the_members_of_a_list_are_counted_from_one_and_fields_within_fields_say_both() -> None:
    noted = Faults()
    fields = Fields({"f": [{"g": {}}, 3]}, "here", noted)
    for each in fields.each("f"):
        each.under("g").fault("wrong")
    assert noted.found == [
        "here, f 2: must be fields with names, not 3",
        "here, f 1, g: wrong",
        "here, f 2, g: must be fields with names, not None",
        "here, f 2, g: wrong",
    ]


# ------------------------------------------------------------------------------------------------------ rule books


def test_what_a_book_leaves_out_stands_at_the_strict_defaults() -> None:
    plain = changed(["in_use_days"], ...)
    read_book = rule_book_from(plain)
    for found in (read_book, book(job_type())):
        assert (found.in_use_days, found.share_of_others_answered, found.bootstrap_months) == (28, 0.8, 12)
        assert found.house == House()


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (["version"], 1),
        (["in_use_days"], 0),
        (["share_of_others_answered"], 0),
        (["share_of_others_answered"], 1),
        (["bootstrap_months"], 0),
        (["house"], {**HOUSE, "calibration_months": 1, "cuff_gap_mm": 1, "lift_months": 1}),
        (["house"], {**HOUSE, "cuff_gap_mm": None, "lift_months": None}),
        (["job_types", 0, "requirements", 0, "recall", "most_life_questions"], 1),
        (["job_types", 0, "requirements", 0, "recall", "most_life_questions"], None),
        (["job_types", 0, "requirements", 0, "recall", "most_a_topic"], 1),
        (["job_types", 0, "requirements", 0, "recall", "most_a_topic"], None),
        (["job_types", 0, "requirements", 0, "law"], ""),
        (["job_types", 0, "requirements", 0, "law"], "DGUV Vorschrift 1"),
        (["job_types", 0, "requirements", 1, "instructed"], {"months": 1, "months_under_18": 1}),
        (["job_types", 1, "requirements", 1, "sign_off", "observations"], 2),
        (["job_types", 1, "requirements", 1, "sign_off", "mentors"], 1),
        (["job_types", 1, "requirements", 1, "sign_off", "mentors"], 3),
        (["job_types", 1, "requirements", 1, "sign_off", "days"], 1),
        (["job_types", 1, "requirements", 1, "sign_off", "days"], 3),
        (["job_types", 1, "requirements", 1, "sign_off", "valid_months"], 1),
        (["job_types", 1, "requirements", 1, "sign_off", "done_within_days"], 1),
        (["job_types", 1, "requirements", 1, "sign_off", "done_within_days"], None),
        (["job_types", 1, "requirements", 1, "sign_off", "beside_first"], 0),
        (["job_types", 1, "requirements", 1, "sign_off", "beside_first"], 2),
        (["job_types", 1, "requirements", 2, "certificate", "valid_months"], 1),
        (["job_types", 1, "requirements", 2, "certificate", "verify_months"], 1),
        (["job_types", 1, "requirements", 2, "certificate", "verify_months"], None),
        (["job_types", 1, "requirements", 3, "appointed", "valid_months"], 1),
    ],
    ids=lambda each: str(each[-1]) if isinstance(each, list) else repr(each)[:30],
)
def test_the_least_that_may_be_asked_is_read_and_written_back(path: list[Any], value: Any) -> None:
    found = rule_book_from(changed(path, value))
    assert rule_book_from(as_mapping(found)) == found
    kept: Any = as_mapping(found)
    for step in path:
        kept = kept[step]
    assert kept == value


@pytest.mark.parametrize(
    ("path", "value", "fault"),
    [
        (["house"], {**HOUSE, "cuff_gap_mm": 0}, "cuff_gap_mm must be a whole number, at least 1, not 0"),
        (["house"], {**HOUSE, "calibration_months": 0}, "calibration_months must be a whole number, at least 1"),
        (["house"], None, "rule book, house: must be fields with names, not None"),
        (["job_types", 0, "requirements", 0, "recall", "most_a_topic"], 0, "most_a_topic must be a whole number, at"),
        (["job_types", 0, "requirements", 0, "recall", "most"], 1, "unknown field 'most'"),
        (["job_types", 0, "requirements", 0, "law"], 3, "law must be text, not 3"),
        (["job_types", 0, "requirements", 1, "instructed", "months"], 0, "months must be a whole number, at least 1"),
        (["job_types", 0, "requirements", 1, "instructed", "months_under_18"], 0, "months_under_18 must be a whole"),
        (["job_types", 0, "requirements", 1, "instructed", "weeks"], 0, "unknown field 'weeks'"),
        (["job_types", 1, "requirements", 1, "sign_off", "observations"], 0, "observations must be a whole number"),
        (["job_types", 1, "requirements", 1, "sign_off", "mentors"], 0, "mentors must be a whole number, at least 1"),
        (["job_types", 1, "requirements", 1, "sign_off", "days"], 0, "days must be a whole number, at least 1"),
        (["job_types", 1, "requirements", 1, "sign_off", "days"], 4, "asks for more mentors or days than observations"),
        (["job_types", 1, "requirements", 1, "sign_off", "valid_months"], 0, "valid_months must be a whole number"),
        (["job_types", 1, "requirements", 1, "sign_off", "done_within_days"], 0, "done_within_days must be a whole"),
        (["job_types", 1, "requirements", 1, "sign_off", "beside_first"], -1, "beside_first must be a whole number"),
        (["job_types", 1, "requirements", 1, "sign_off", "task"], " ", "task must be text, not ' '"),
        (["job_types", 1, "requirements", 2, "certificate", "valid_months"], 0, "valid_months must be a whole number"),
        (["job_types", 1, "requirements", 2, "certificate", "verify_months"], 0, "verify_months must be a whole"),
        (["job_types", 1, "requirements", 2, "certificate", "body"], "x", "unknown field 'body'"),
        (["job_types", 1, "requirements", 3, "appointed", "valid_months"], 0, "valid_months must be a whole number"),
        (["job_types", 1, "requirements", 3, "appointed", "by"], "boss", "unknown field 'by'"),
        (["job_types", 1, "requirements", 0, "holds"], " ", "holds must be text, not ' '"),
        (["job_types", 1, "requirements", 0, "since"], "x", "must ask for exactly one thing, not ['holds', 'since']"),
        (["job_types", 0, "colour"], "red", "rule book, job_types 1 (A): unknown field 'colour'"),
        (["job_types", 0, "at_start"], {}, "second_person must be one of"),
        (["job_types", 0, "at_start", "mirror"], True, "unknown field 'mirror'"),
    ],
    ids=lambda each: str(each[-1]) if isinstance(each, list) else repr(each)[:30],
)
def test_the_first_that_may_not_be_asked_is_refused(path: list[Any], value: Any, fault: str) -> None:
    assert fault in faults(changed(path, value))[0]


def test_a_book_that_is_refused_says_all_its_faults_in_one_sentence() -> None:
    fault = BadRuleBook(("one", "two"))
    assert (str(fault), fault.faults) == ("one; two", ("one", "two"))


def test_a_key_used_three_times_is_told_once() -> None:
    plain = changed(["version"], 3)
    plain["job_types"] += [{**plain["job_types"][0]} for _ in range(2)]
    assert faults(plain) == ("job type A: the key is used twice",)


def test_a_requirement_that_is_none_is_left_out_and_told() -> None:
    noted = Faults()
    assert read_requirement(Fields({"prayed": 1, **WORDS}, "here", noted)) is None
    assert read_requirement(Fields({"holds": "A", "appointed": {}, **WORDS}, "here", noted)) is None
    assert len(noted.found) == 2


@pytest.mark.parametrize(
    "requirement", [recall_of(), sign_off("T1", 3, 2, 2, within=90, beside=1), certificate_of("m", 24, 6), holds("A")]
)
def test_a_requirement_is_written_with_its_words(requirement: Any) -> None:
    noted = Faults()
    assert read_requirement(Fields(requirement_mapping(requirement), "here", noted)) == requirement
    assert noted.found == []


# ------------------------------------------------------------------------------------------------------- job types


def test_what_has_to_be_held_is_found_through_any_number_of_steps_and_once() -> None:
    rules = book(
        job_type(key="A"),
        job_type(holds("A"), key="B"),
        job_type(holds("B"), holds("A"), holds("nowhere"), key="C"),
        job_type(holds("C"), holds("D"), key="D"),
    )
    assert {held.key for held in holds_of(rules, rules.job_type("C"))} == {"A", "B"}
    assert {held.key for held in holds_of(rules, rules.job_type("D"))} == {"A", "B", "C", "D"}
    assert len(holds_of(rules, rules.job_type("D"))) == 4
    assert holds_of(rules, rules.job_type("A")) == ()


def test_a_job_type_is_found_by_its_key_and_a_missing_one_is_told_with_those_there_are() -> None:
    rules = book(job_type(key="A"), job_type(key="B"))
    assert rules.job_type("B") is rules.job_types[1]
    with pytest.raises(KeyError, match="no job type 'C'; this rule book has A, B"):
        rules.job_type("C")


def test_a_start_asks_nothing_that_nobody_wrote_down() -> None:
    start = AtStart()
    assert (start.second_person, start.maker_procedure, start.live_work_order, start.cordon) == (
        "",
        False,
        False,
        False,
    )
    asked = SignOffOf(
        task="T1", observations=1, mentors=1, days=1, valid_months=12, done_within_days=None, sentence="", source=""
    )
    assert (asked.beside_first, asked.law) == (0, "")
