"""What has not the shape that it says it has is named."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, datetime
from typing import Any

import pytest

from tests.core.permission.builders import AT, appointment, evidence, observed, person, question, stood_down, supervisor
from training.core.permission.evidence import Evidence
from training.core.permission.shape import misfits

FULL = evidence(
    person(observations=(observed(),), appointments=(appointment(),), stand_downs=(stood_down(None, "J"),)),
    gates=(question("q1"), question("q2", ln_hold=None)),
    supervisors=(supervisor(),),
    read_at=AT,
)
NAIVE = datetime(2026, 1, 1)  # noqa: DTZ001


def test_sound_evidence_has_no_misfits() -> None:
    assert misfits(FULL, Evidence) == ()
    assert misfits(evidence(gates=[question()]), Evidence) == ()  # a list will do for a tuple


@pytest.mark.parametrize("nothing", [None, 3, person()])
def test_something_else_is_a_misfit_by_name(nothing: Any) -> None:
    assert misfits(nothing, Evidence) == ("Evidence",)


@pytest.mark.parametrize(
    "change",
    [
        {"gates": None},
        {"gates": "q1"},
        {"gates": (None,)},
        {"gates": (replace(question(), seconds=math.nan),)},
        {"gates": (replace(question(), seconds=True),)},
        {"gates": (replace(question(), accepted_on=AT),)},  # type: ignore[arg-type]
        {"gates": (replace(question(), gate="open"),)},  # type: ignore[arg-type]
        {"head": True},
        {"head": 1.0},
        {"read_at": NAIVE},
        {"read_at": date(2026, 1, 1)},
        {"colleagues": [("mia", None)]},
        {"of": replace(person(), observations=(replace(observed(), passed=1),))},  # type: ignore[arg-type]
        {"of": replace(person(), observations=(replace(observed(), happened_at=NAIVE),))},
        {"of": replace(person(), stand_downs=(replace(stood_down(), job_types="J"),))},  # type: ignore[arg-type]
        {"of": replace(person(), stand_downs=(replace(stood_down(), job_types=frozenset([7])),))},  # type: ignore[list-item]
        {"of": replace(person(), stand_downs={})},  # type: ignore[arg-type]
    ],
)
def test_a_misfit_anywhere_inside_is_named_by_its_field(change: dict[str, Any]) -> None:
    assert misfits(replace(FULL, **change), Evidence) == tuple(change)
