"""The same question gives the same bytes: in other time zones, under other hash seeds, on either database."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.board.house import NOW, House, make_house
from tests.board.replaying import digest
from training.board.actions import sweep
from training.board.models import StoredClearance
from training.board.queries import board_of
from training.core.permission.mapping import as_mapping
from training.records.canonical import canonical_text

pytestmark = [pytest.mark.django_db, pytest.mark.db]
ROOT = Path(__file__).parents[2]


def elsewhere(zone: str, hash_seed: str) -> str:
    """The digest that a process of its own finds on SQLite, in another zone and under another hash seed."""
    environ = {
        **os.environ,
        "TZ": zone,
        "PYTHONHASHSEED": hash_seed,
        "DJANGO_SETTINGS_MODULE": "training.config.settings_test",
        "HOOKSIDE_TEST_DATABASE_URL": "",
    }
    ended = subprocess.run(
        [sys.executable, "-m", "tests.board.replaying"],
        cwd=ROOT,
        env=environ,
        capture_output=True,
        text=True,
        check=True,
    )
    return ended.stdout.strip()


def test_every_decision_is_the_same_byte_for_byte_wherever_it_is_worked_out() -> None:
    """The first is worked out here: on SQLite, or on PostgreSQL where these tests run on it."""
    assert digest() == elsewhere("UTC", "0") == elsewhere("Asia/Kolkata", "1")


@pytest.fixture
def house() -> House:
    return make_house()


def test_what_is_stored_is_worked_out_again_to_the_byte_as_known_then(house: House) -> None:
    sweep(at=NOW)
    rows = list(StoredClearance.objects.select_related("person", "workshop__group"))
    again = board_of(house.workshop, at=NOW, read_at=NOW, known_at=rows[0].computed_number)
    assert len(rows) == sum(len(by_type) for by_type in again.values())
    for row in rows:
        replayed = as_mapping(again[row.person.key][row.job_type])
        assert canonical_text(replayed) == canonical_text(row.decision)
