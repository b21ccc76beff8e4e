"""Nearly every small fault in the permission core and the calendar is noticed, and none that is not lets anyone in."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.mutants.listing import modules
from tests.mutants.run import CASES, ENOUGH, look


@pytest.mark.deep
def test_nearly_every_mutant_is_killed_and_no_survivor_clears_what_the_code_refuses(
    request: pytest.FixtureRequest, record_property: Callable[[str, object], None], tmp_path: Path
) -> None:
    number = int(os.environ.get("HOOKSIDE_MUTANT_CASES", CASES))
    folder = Path(os.environ.get("HOOKSIDE_MUTANTS", tmp_path))
    outcome = look(modules(), int(request.config.getoption("randomly_seed")), number, folder)
    record_property("cases", outcome.cases)
    for line in outcome.told():
        record_property("told", line)
    assert outcome.failing == ()
    assert outcome.clearing_more == []
    assert outcome.share_killed >= ENOUGH
