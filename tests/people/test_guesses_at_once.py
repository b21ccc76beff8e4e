"""Many guesses at the same moment, from several processes: no more of them are looked at than one after the other."""

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
    on_file = environ_for(f"sqlite:///{tmp_path / 'guesses.sqlite3'}")
    manage(on_file, "migrate", "-v0")
    return on_file


def test_of_forty_guesses_at_once_five_are_looked_at(environ: dict[str, str]) -> None:
    command, pipe = [sys.executable, "-m", "tests.people.guessing", "10"], subprocess.PIPE
    guessing = [
        subprocess.Popen(command, env=environ, stdin=pipe, stdout=pipe, stderr=pipe, text=True) for _process in range(4)
    ]
    for one in guessing:
        assert one.stdout
        assert one.stdout.readline() == "ready\n"
    ended = [one.communicate("go\n", timeout=120) for one in guessing]
    assert [(err, one.returncode) for one, (_out, err) in zip(guessing, ended, strict=True)] == [("", 0)] * 4
    assert sum(int(out) for out, _err in ended) == 5
