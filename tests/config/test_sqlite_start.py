"""Each SQLite connection starts as settings ask: what was said to be kept survives a power cut."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.db import connection
from django.db.backends.sqlite3.base import DatabaseWrapper

from training.config.environment import read_database


def _pragmas(tmp_path: Path) -> dict[str, object]:
    chosen = {**connection.settings_dict, **read_database("", tmp_path)}
    own = DatabaseWrapper(chosen, alias="own")
    try:
        with own.cursor() as cursor:
            return {
                name: cursor.execute(f"PRAGMA {name}").fetchone()[0]
                for name in ("journal_mode", "synchronous", "recursive_triggers", "foreign_keys", "busy_timeout")
            }
    finally:
        own.close()


@pytest.mark.django_db
def test_a_file_is_opened_with_wal_full_sync_and_triggers_that_see_replace(tmp_path: Path) -> None:
    # synchronous 2 is FULL (sqlite.org/pragma.html)
    assert _pragmas(tmp_path) == {
        "journal_mode": "wal",
        "synchronous": 2,
        "recursive_triggers": 1,
        "foreign_keys": 1,
        "busy_timeout": 20000,
    }
