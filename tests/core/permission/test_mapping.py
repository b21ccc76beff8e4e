"""A decision as JSON values and back, the same bytes for the same decision."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from tests.core.permission.builders import (
    AT,
    age,
    answer,
    appointed,
    asks,
    certificate,
    certificate_of,
    evidence,
    instructed,
    observed,
    person,
    question,
    recall_of,
    sign_off,
    stood_down,
    supervisor,
    unsafe,
)
from training.core.permission.decision import Decision, Mode
from training.core.permission.mapping import as_mapping, from_mapping

EVERYTHING = asks(
    recall_of(), certificate_of(), sign_off("T1", 3, 2, 2, within=90), sign_off("T2"), appointed(), instructed()
)
CERTIFIED = person(certificates=(certificate(),))
DECISIONS: dict[str, Decision] = {
    "nothing proved": answer(evidence(), EVERYTHING),
    "much wrong": answer(
        evidence(
            person(stand_downs=(stood_down(),), ages=(age(True),), unreadable=(5,)),
            gates=(question("q1", ln_hold=None), question("q2")),
            unsafe=(unsafe(),),
            chain_sound=False,
        ),
        EVERYTHING,
    ),
    "alone": answer(evidence(CERTIFIED), asks(certificate_of())),
    "supervised": answer(evidence(CERTIFIED, supervisors=(supervisor(),)), asks(certificate_of(), sign_off())),
    "by recall": answer(evidence(gates=(question(),)), asks(recall_of()), at=AT + timedelta(microseconds=7)),
    "signed": answer(evidence(person(observations=(observed(),))), asks(sign_off())),
}


@pytest.mark.parametrize("decision", DECISIONS.values(), ids=DECISIONS.keys())
def test_a_decision_comes_back_from_json_the_same(decision: Decision) -> None:
    text = json.dumps(as_mapping(decision), sort_keys=True)
    back = from_mapping(json.loads(text))
    assert back == decision
    assert json.dumps(as_mapping(back), sort_keys=True) == text


def test_the_cases_hold_every_mode() -> None:
    assert {decision.mode for decision in DECISIONS.values()} == set(Mode)


def floats_in(value: Any) -> list[float]:
    if isinstance(value, float):
        return [value]
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return [found for each in inner for found in floats_in(each)]


@pytest.mark.parametrize("decision", DECISIONS.values(), ids=DECISIONS.keys())
def test_no_floats_are_in_it(decision: Decision) -> None:
    assert floats_in(as_mapping(decision)) == []


def test_instants_are_written_in_utc() -> None:
    plain = as_mapping(DECISIONS["alone"])
    assert plain["at"] == "2026-03-02T10:15:00Z"
    assert plain["until"] == plain["ends_by"]["at"] == "2027-05-01T22:00:00Z"
    assert plain["ends_by"]["by_day"] == "2027-05-01"


@pytest.mark.parametrize(
    "change",
    [{"mode": "perhaps"}, {"until": "soon"}, {"gaps": [{}]}, {"at": None}],
    ids=["mode", "until", "gaps", "at"],
)
def test_anything_else_is_refused(change: dict[str, Any]) -> None:
    plain = {**as_mapping(DECISIONS["alone"]), **change}
    with pytest.raises((KeyError, TypeError, ValueError)):
        from_mapping(plain)


def test_a_decision_that_differs_is_written_otherwise() -> None:
    decision = DECISIONS["alone"]
    assert as_mapping(decision) != as_mapping(replace(decision, head=decision.head + 1))
