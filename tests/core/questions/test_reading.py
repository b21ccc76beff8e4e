"""A question file is read strictly, and refused with all its faults at once."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from training.core.questions.kinds import Kind, Question, Regime, Topic
from training.core.questions.marking import mark
from training.core.questions.reading import Fault, Refused, question_from, topic_from, worked_out_from


def plain(**changes: Any) -> dict[str, Any]:
    """A sound pick-one question as YAML gives it, with changes; a change to None takes the field out."""
    fields: dict[str, Any] = {
        "id": "glove-oil-on-cuff",
        "kind": "pick one",
        "consequence": "life",
        "regime": "all",
        "situation": "There is oil on the cuff of your glove.",
        "stem": "What do you do with the pair?",
        "options": [
            {"text": "Wipe it off", "reason": "Oil swells rubber from within."},
            {"text": "Take it out for a test", "right": True, "reason": "A suspect pair is tested first."},
            {"text": "Wear it under leather", "reason": "Leather insulates nothing."},
        ],
        "source": ["IEC 60903"],
        "review_by": date(2027, 11, 30),
    }
    fields.update(changes)
    return {name: value for name, value in fields.items() if value is not None}


def faults_of(mapping: Any) -> set[tuple[str, str]]:
    with pytest.raises(Refused) as refused:
        question_from(mapping, Topic.GLOVE_CARE)
    assert all(fault.sentence.endswith(".") for fault in refused.value.faults)
    return {(fault.field, fault.rule) for fault in refused.value.faults}


def test_a_sound_question_is_read_with_keys_in_file_order() -> None:
    question = question_from(plain(), Topic.GLOVE_CARE)
    assert [option.key for option in question.options] == ["a", "b", "c"]
    assert mark(question, ("b",))
    assert question.author == "Hookside"
    assert question.checker == ""
    assert question.review_by == date(2027, 11, 30)


def test_steps_get_their_places_from_the_file() -> None:
    steps = [{"text": text, "reason": "Because of the step before."} for text in ("Prove", "Test", "Prove again")]
    question = question_from(plain(kind="put in order", options=steps), Topic.METERS)
    assert [option.place for option in question.options] == [1, 2, 3]
    assert mark(question, ("a", "b", "c"))


def test_a_number_is_read_with_unit_and_tolerance() -> None:
    answer = {"value": 12, "unit": "V", "tolerance": 0.2, "reason": "By the formula."}
    question = question_from(plain(kind="work out", options=None, answer=answer, regime="EU"), Topic.ISOLATION)
    assert question.kind is Kind.WORK_OUT
    assert question.regime is Regime.EU
    assert mark(question, 12.1)


@pytest.mark.parametrize(
    ("changes", "field", "rule"),
    [
        ({"difficulty": 3}, "difficulty", "S1"),
        ({"stem": None}, "stem", "S2"),
        ({"options": None}, "options", "S2"),
        ({"answer": {"value": 1}}, "answer", "S1"),
        ({"stem": "  "}, "stem", "S3"),
        ({"stem": 12}, "stem", "S3"),
        ({"situation": "x" * 2001}, "situation", "S3"),
        ({"source": []}, "source", "S3"),
        ({"source": "IEC 60903"}, "source", "S3"),
        ({"source": ["IEC 60903", 7]}, "source", "S3"),
        ({"options": {}}, "options", "S3"),
        ({"options": ["a", "b"]}, "options", "S3"),
        ({"kind": "choose"}, "kind", "S4"),
        ({"kind": ["pick one"]}, "kind", "S4"),
        ({"consequence": "Life"}, "consequence", "S4"),
        ({"regime": "DE"}, "regime", "S4"),
        ({"id": "Glove Oil"}, "id", "S5"),
        ({"id": "glove_oil"}, "id", "S5"),
        ({"review_by": "next year"}, "review_by", "S7"),
        ({"review_by": 2027}, "review_by", "S7"),
        ({"options": [{"text": "Only one", "right": True, "reason": "Why."}]}, "options", "S6"),
        ({"options": [{"text": str(n), "reason": "Why."} for n in range(9)]}, "options", "S6"),
    ],
)
def test_a_fault_is_named_by_field_and_rule(changes: dict[str, Any], field: str, rule: str) -> None:
    assert (field, rule) in faults_of(plain(**changes))


@pytest.mark.parametrize("rights", [(False, False, False), (True, True, False)])
def test_pick_one_needs_exactly_one_right_option(rights: tuple[bool, ...]) -> None:
    options = [{"text": f"Act {n}", "right": right, "reason": "Why."} for n, right in enumerate(rights)]
    assert faults_of(plain(options=options)) == {("options", "L1")}


def test_faults_within_options_carry_their_place() -> None:
    options = [
        {"text": "Wipe it off", "right": "yes", "reason": "Oil swells rubber."},
        {"text": "Test it", "right": True},
        {"text": "Wear it", "reason": "No.", "colour": "red"},
    ]
    assert faults_of(plain(options=options)) == {
        ("options[1].right", "S3"),
        ("options[2].reason", "S2"),
        ("options[3].colour", "S1"),
    }


def test_a_step_in_order_carries_no_right() -> None:
    steps = [{"text": text, "right": True, "reason": "Why."} for text in ("Prove", "Test")]
    assert faults_of(plain(kind="put in order", options=steps)) == {
        ("options[1].right", "S1"),
        ("options[2].right", "S1"),
    }


@pytest.mark.parametrize(
    ("changes", "field", "rule"),
    [
        ({"tolerance": 0}, "answer.tolerance", "S6"),
        ({"tolerance": -1}, "answer.tolerance", "S6"),
        ({"value": "12,5"}, "answer.value", "S3"),
        ({"value": True}, "answer.value", "S3"),
        ({"value": float("nan")}, "answer.value", "S3"),
        ({"unit": ""}, "answer.unit", "S3"),
    ],
)
def test_a_number_answer_is_read_as_strictly(changes: dict[str, Any], field: str, rule: str) -> None:
    answer = {"value": 12.5, "unit": "V", "tolerance": 0.2, "reason": "By the formula."} | changes
    assert faults_of(plain(kind="work out", options=None, answer=answer)) == {(field, rule)}


def test_all_faults_come_at_once() -> None:
    assert len(faults_of(plain(id="Bad Id", kind="choose", stem=None, extra=1, source=[]))) == 5


def test_an_empty_mapping_names_every_missing_field() -> None:
    missing = {field for field, rule in faults_of({}) if rule == "S2"}
    assert missing == {"id", "kind", "consequence", "regime", "situation", "stem", "source", "review_by"}


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
        lambda inner: (
            st.lists(inner, max_size=3)
            | st.dictionaries(st.sampled_from(sorted(plain())) | st.text(max_size=4), inner, max_size=6)
        ),
        max_leaves=12,
    )
)
def test_anything_at_all_is_read_or_refused_never_worse(anything: Any) -> None:
    read: object = None
    try:
        read = question_from(anything, Topic.PPE)
    except Refused as refused:
        read = refused.faults[0]
    assert isinstance(read, (Question, Fault))


def test_a_worked_out_entry_names_its_generator() -> None:
    entry = worked_out_from({"id": "glove-due-date", "generator": "glove_due_date", "review_by": "2027-11-30"})
    assert (entry.id, entry.generator, entry.review_by) == ("glove-due-date", "glove_due_date", date(2027, 11, 30))
    with pytest.raises(Refused, match="S2 generator"):
        worked_out_from({"id": "glove-due-date", "review_by": "2027-11-30", "seed": 4})


def test_a_topic_is_one_of_the_nine() -> None:
    assert topic_from("glove care") is Topic.GLOVE_CARE
    with pytest.raises(Refused, match="meters and proving"):
        topic_from("gloves")
