"""Two requests answer one question at the same moment, from two processes: one record, one outcome for both."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from django.db import connection

from tests.records.test_append_at_once import environ_for, manage
from tests.services.fixtures import database_address

pytestmark = [pytest.mark.db]


@pytest.fixture
def environ(transactional_db: None, tmp_path: Path) -> dict[str, str]:
    """PostgreSQL: the database of this run. SQLite in memory is one process's own, so there a file of its own."""
    if connection.vendor == "postgresql":
        return environ_for(database_address(connection.settings_dict))
    on_file = environ_for(f"sqlite:///{tmp_path / 'two_taps.sqlite3'}")
    manage(on_file, "migrate", "-v0")
    return on_file


def started(environ: dict[str, str], *words: str) -> subprocess.Popen[str]:
    command, pipe = [sys.executable, "-m", "tests.drill.answering", *words], subprocess.PIPE
    return subprocess.Popen(command, env=environ, stdin=pipe, stdout=pipe, stderr=pipe, text=True)


def ended(process: subprocess.Popen[str]) -> str:
    out, err = process.communicate(timeout=120)
    assert (err, process.returncode) == ("", 0)
    return out


def tap_together(taps: list[subprocess.Popen[str]]) -> None:
    """Let all of them go once each is ready."""
    for tap in taps:
        assert tap.stdout
        assert tap.stdout.readline() == "ready\n"
    for tap in taps:
        assert tap.stdin
        tap.stdin.write("go\n")
        tap.stdin.flush()


def test_two_taps_at_once_record_one_answer(environ: dict[str, str]) -> None:
    turn = ended(started(environ, "prepare")).strip()
    taps = [started(environ, turn, key) for key in ("b", "c")]
    tap_together(taps)
    outcomes = {ended(tap) for tap in taps}
    assert outcomes in ({"sound 1\n"}, {"unsafe 1\n"})
    assert manage(environ, "verify_seal").endswith(": all 1 records verify\n")
