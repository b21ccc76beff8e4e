"""A rule book is read strictly, with all its faults at once, and written back the same."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest

from training.core.permission.reading import BadRuleBook, as_mapping, rule_book_from
from training.core.permission.rule_book import (
    AppointedFor,
    AtStart,
    CertificateOf,
    HoldsJobType,
    InstructedWithin,
    RecallOf,
    SignOffOf,
    YoungPerson,
)
from training.core.questions.kinds import Topic
from training.core.trade.fitness import House

START: dict[str, Any] = {
    "second_person": "",
    "maker_procedure": True,
    "live_work_order": False,
    "cordon": True,
    "kit": ["gloves", "meter"],
}
WORDS = {"sentence": "Knows it.", "source": "common practice, no source"}
RECALL = {"topics": ["rescue", "PPE"], "life_floor": 0.6, "topic_mean_floor": None, "most_life_questions": 24}
SIGN_OFF = {"task": "T3", "observations": 3, "mentors": 2, "days": 2, "valid_months": 12, "done_within_days": 180}
PLAIN: dict[str, Any] = {
    "version": 3,
    "regime": "EU",
    "title": "Book",
    "note": "",
    "in_use_days": 14,
    "job_types": [
        {
            "key": "A",
            "title": "Aware",
            "says": "Moves it.",
            "young_person": "alone",
            "supervised": True,
            "at_start": START,
            "requirements": [
                {"recall": RECALL, **WORDS},
                {"instructed": {"months": 12, "months_under_18": 6}, **WORDS},
            ],
        },
        {
            "key": "C",
            "title": "Isolate",
            "says": "Proves dead.",
            "young_person": "no",
            "supervised": False,
            "at_start": START,
            "requirements": [
                {"holds": "A", **WORDS},
                {"sign_off": SIGN_OFF, **WORDS},
                {"certificate": {"kind": "medical", "valid_months": 36}, **WORDS},
                {"appointed": {"valid_months": 12}, **WORDS},
            ],
        },
    ],
}


def changed(path: list[Any], value: Any) -> dict[str, Any]:
    """The plain book with one place set (or taken out, for ``...``)."""
    plain = deepcopy(PLAIN)
    place: Any = plain
    for step in path[:-1]:
        place = place[step]
    if value is ...:
        del place[path[-1]]
    else:
        place[path[-1]] = value
    return plain


def faults(plain: Any) -> tuple[str, ...]:
    with pytest.raises(BadRuleBook) as caught:
        rule_book_from(plain)
    return caught.value.faults


HOUSE = {
    "glove_due_rule": "issue_plus_6",
    "glove_floor": "1",
    "cuff_gap_mm": 25,
    "calibration_months": 6,
    "lift_months": 6,
}


def test_a_book_without_a_house_has_the_strict_defaults() -> None:
    assert rule_book_from(PLAIN).house == House(glove_due_rule="strict_min", glove_floor="0", calibration_months=12)


def test_what_a_house_settles_about_kit_is_read_and_written_back() -> None:
    book = rule_book_from({**PLAIN, "house": HOUSE})
    settled = House(glove_due_rule="issue_plus_6", glove_floor="1", cuff_gap_mm=25, calibration_months=6, lift_months=6)
    assert book.house == settled
    assert as_mapping(book)["house"] == HOUSE
    assert rule_book_from(as_mapping(book)) == book


@pytest.mark.parametrize(
    ("field", "value", "fault"),
    [
        ("glove_due_rule", "when worn", "glove_due_rule must be one of 'strict_min', 'issue_plus_6', not 'when worn'"),
        ("glove_floor", 0, "glove_floor must be one of '00', '0', '1', '2', '3', '4', not 0"),
        ("calibration_months", None, "calibration_months must be a whole number, at least 1, not None"),
        ("lift_months", 0, "lift_months must be a whole number, at least 1, not 0"),
        ("glove_rule", "x", "unknown field 'glove_rule'"),
    ],
)
def test_a_house_that_settles_nonsense_is_refused_by_field(field: str, value: object, fault: str) -> None:
    assert faults({**PLAIN, "house": {**HOUSE, field: value}}) == (f"rule book, house: {fault}",)


def test_a_sound_book_is_read_whole() -> None:
    book = rule_book_from(PLAIN)
    assert (book.version, book.regime, book.title, book.note, book.in_use_days) == (3, "EU", "Book", "", 14)
    assert (book.share_of_others_answered, book.bootstrap_months) == (0.8, 12)
    aware, isolate = book.job_types
    assert (aware.young_person, aware.supervised_allowed) == (YoungPerson.ALONE, True)
    assert isolate.at_start == AtStart(maker_procedure=True, cordon=True, kit_kinds=("gloves", "meter"))
    said = {"sentence": "Knows it.", "source": "common practice, no source"}
    assert aware.requirements == (
        RecallOf(
            topics=(Topic.RESCUE, Topic.PPE), life_floor=0.6, topic_mean_floor=None, most_life_questions=24, **said
        ),
        InstructedWithin(months=12, months_under_18=6, **said),
    )
    assert isolate.requirements == (
        HoldsJobType(job_type="A", **said),
        SignOffOf(task="T3", observations=3, mentors=2, days=2, valid_months=12, done_within_days=180, **said),
        CertificateOf(kind="medical", valid_months=36, **said),
        AppointedFor(valid_months=12, **said),
    )


def test_a_book_is_written_back_the_same() -> None:
    book = rule_book_from(PLAIN)
    assert rule_book_from(as_mapping(book)) == book


A, C = ["job_types", 0], ["job_types", 1]
ONE_FAULT: list[tuple[list[Any], Any, str]] = [
    (["version"], 0, "rule book: version must be a whole number, at least 1, not 0"),
    (["version"], True, "rule book: version must be a whole number, at least 1, not True"),
    (["version"], ..., "rule book: version must be a whole number, at least 1, not None"),
    (["regime"], "all", "rule book: regime must be one of 'US', 'EU', 'UK', not 'all'"),
    (["title"], " ", "rule book: title must be text, not ' '"),
    (["note"], 7, "rule book: note must be text, not 7"),
    (["in_use_days"], -1, "rule book: in_use_days must be a whole number, at least 0, not -1"),
    (["share_of_others_answered"], 1.5, "rule book: share_of_others_answered must be a number from 0 to 1, not 1.5"),
    (["bootstrap_months"], "12", "rule book: bootstrap_months must be a whole number, at least 0, not '12'"),
    (["owner"], "x", "rule book: unknown field 'owner'"),
    (["job_types"], [], "rule book: job_types must be a list that is not empty, not []"),
    (["job_types"], ["A"], "rule book, job_types 1: must be fields with names, not 'A'"),
    ([*A, "young_person"], "maybe", "young_person must be one of 'alone', 'supervised', 'no', not 'maybe'"),
    ([*A, "supervised"], "no", "supervised must be true or false, not 'no'"),
    ([*A, "at_start"], ..., "at_start: must be fields with names, not None"),
    ([*A, "at_start"], {**START, "kit": "gloves"}, "kit must be a list, not 'gloves'"),
    ([*A, "at_start"], {**START, "kit": ["mat", "mat"]}, "kit must be different texts, not ['mat', 'mat']"),
    ([*A, "at_start"], {**START, "second_person": "often"}, "second_person must be one of"),
    ([*A, "at_start"], {**START, "cordon": 1}, "cordon must be true or false, not 1"),
    ([*A, "requirements"], [], "requirements must be a list that is not empty, not []"),
    ([*C, "key"], "A", "job type A: the key is used twice"),
    ([*C, "requirements", 0, "holds"], "Z", "job type C: holds 'Z', which is no job type here"),
    ([*C, "requirements", 0, "holds"], "C", "job type C: has to be held for itself"),
    ([*A, "requirements", 1], {"holds": "C", **WORDS}, "job type A: has to be held for itself"),
    ([*A, "requirements", 1], {"blessed": {}, **WORDS}, "unknown requirement 'blessed'; known are recall, sign_off"),
    ([*A, "requirements", 1], {"holds": "A", "recall": {}, **WORDS}, "must ask for exactly one thing"),
    ([*A, "requirements", 1], dict(WORDS), "must ask for exactly one thing, not []"),
    ([*A, "requirements", 0, "source"], ..., "requirements 1: source must be text, not ''"),
    ([*A, "requirements", 0, "recall"], {**RECALL, "topics": ["driving"]}, "unknown topic 'driving'"),
    ([*A, "requirements", 0, "recall"], {**RECALL, "topics": ["PPE", "PPE"]}, "topics must be different texts"),
    ([*A, "requirements", 0, "recall", "life_floor"], 0, "life_floor must be a number above 0 and below 1, not 0"),
    ([*A, "requirements", 0, "recall", "life_floor"], 1.0, "life_floor must be a number above 0 and below 1, not 1.0"),
    (
        [*A, "requirements", 0, "recall", "life_floor"],
        True,
        "life_floor must be a number above 0 and below 1, not True",
    ),
    ([*A, "requirements", 0, "recall", "life_floor"], float("nan"), "life_floor must be a number above 0"),
    ([*A, "requirements", 0, "recall", "topic_mean_floor"], ..., "topic_mean_floor must be a number above 0"),
    ([*A, "requirements", 0, "recall", "most_life_questions"], 0, "most_life_questions must be a whole number"),
    (
        [*C, "requirements", 1, "sign_off"],
        {**SIGN_OFF, "mentors": 4},
        "asks for more mentors or days than observations",
    ),
    ([*C, "requirements", 1, "sign_off"], {**SIGN_OFF, "n": 4}, "unknown field 'n'"),
    ([*C, "requirements", 1, "sign_off", "done_within_days"], ..., "done_within_days must be a whole number"),
    ([*C, "requirements", 2, "certificate", "valid_months"], 1.5, "valid_months must be a whole number"),
    ([*C, "requirements", 3, "appointed"], 12, "appointed: must be fields with names, not 12"),
]


@pytest.mark.parametrize(
    ("path", "value", "fault"), ONE_FAULT, ids=[f"{p[-1]}-{n}" for n, (p, _, _) in enumerate(ONE_FAULT)]
)
def test_each_fault_is_told_with_its_place(path: list[Any], value: Any, fault: str) -> None:
    assert any(fault in told for told in faults(changed(path, value)))


def test_all_faults_are_told_at_once() -> None:
    plain = changed(["version"], "one")
    plain["job_types"][0]["young_person"] = "never"
    plain["job_types"][1]["requirements"].append({"prayed": True, **WORDS})
    told = faults(plain)
    assert len(told) == 3
    assert told[2].startswith("rule book, job_types 2 (C), requirements 5: unknown requirement 'prayed'")


@pytest.mark.parametrize("nothing", [None, [], "book", 3])
def test_what_is_no_mapping_is_refused(nothing: Any) -> None:
    assert faults(nothing)[0].startswith("rule book: must be fields with names")
