"""Several processes append to one chain at the same moment: no number is given twice, no record lost."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.db import connection

from tests.services.fixtures import database_address

PROCESSES, EACH = 3, 20

pytestmark = [pytest.mark.db]


def environ_for(address: str) -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith("HOOKSIDE_")}
    ours = {
        "HOOKSIDE_DEMO": "1",
        "HOOKSIDE_DATABASE_URL": address,
        "DJANGO_SETTINGS_MODULE": "training.config.settings",
    }
    return kept | ours | {"HOOKSIDE_SECRET_KEY": "only-for-tests-" + "x" * 40}


def manage(environ: dict[str, str], *words: str) -> str:
    done = subprocess.run(
        [sys.executable, "manage.py", *words, "--skip-checks"], env=environ, capture_output=True, text=True, check=True
    )
    return done.stdout


def append_at_once(environ: dict[str, str], each: int, processes: int = PROCESSES) -> list[int]:
    command = [sys.executable, "-m", "tests.records.appending", str(each)]
    pipe = subprocess.PIPE
    running = [subprocess.Popen(command, env=environ, stdout=pipe, stderr=pipe, text=True) for _ in range(processes)]
    ended = [(process.communicate(timeout=120), process.returncode) for process in running]
    assert [(err, code) for (_, err), code in ended] == [("", 0)] * processes
    return sorted(int(line) for (out, _), _ in ended for line in out.split())


@pytest.fixture
def environ(transactional_db: None, tmp_path: Path) -> dict[str, str]:
    """PostgreSQL: the database of this run. SQLite in memory is one process's own, so there a file of its own."""
    if connection.vendor == "postgresql":
        return environ_for(database_address(connection.settings_dict))
    on_file = environ_for(f"sqlite:///{tmp_path / 'at_once.sqlite3'}")
    manage(on_file, "migrate", "-v0")
    return on_file


def test_processes_that_append_at_once_never_share_a_number(environ: dict[str, str]) -> None:
    append_at_once(environ, 0, processes=1)  # makes the chain
    assert append_at_once(environ, EACH) == list(range(1, PROCESSES * EACH + 1))
    assert manage(environ, "verify_seal") == f"chain 1: all {PROCESSES * EACH} records verify\n"
