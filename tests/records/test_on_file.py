"""A database file in somebody's hands: a plain connection is refused, and edits of the file itself are found."""

from __future__ import annotations

import random
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from tests.records.test_append_at_once import append_at_once, environ_for, manage

RECORDS, EDITS = 40, 6
AS_ROW = "chain_id, number, kind, about, happened_at, recorded_at, digest, previous, hash"
CHANGES = (
    "UPDATE records_record SET kind = 'forged' WHERE number = 3",
    "DELETE FROM records_body",
    "DELETE FROM records_record WHERE number = 40",
    f"INSERT OR REPLACE INTO records_record (id, {AS_ROW}) SELECT id, {AS_ROW} FROM records_record WHERE number = 3",
    f"REPLACE INTO records_record (id, {AS_ROW}) SELECT id + 500, {AS_ROW} FROM records_record WHERE number = 3",
    f"INSERT OR IGNORE INTO records_record (id, {AS_ROW}) SELECT id, {AS_ROW} FROM records_record WHERE number = 3",
    "INSERT INTO records_body (record_id, text, salt) SELECT record_id, '{}', salt FROM records_body WHERE true "
    "ON CONFLICT (record_id) DO UPDATE SET text = '{}'",
    "REPLACE INTO records_body (record_id, text, salt) SELECT record_id, '{}', salt FROM records_body",
    "INSERT INTO records_erased (record_id, evidence_id, erased_on) SELECT id, id, '2026-01-01' FROM records_record",
)


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database file of the server's own making, closed."""
    path = tmp_path_factory.mktemp("kept") / "kept.sqlite3"
    environ = environ_for(f"sqlite:///{path}")
    manage(environ, "migrate", "-v0")
    append_at_once(environ, RECORDS, processes=1)
    with closing(sqlite3.connect(path)) as plain:
        plain.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return path


@pytest.mark.parametrize("statement", CHANGES)
def test_a_plain_connection_that_asks_for_nothing_is_refused(kept: Path, statement: str) -> None:
    with closing(sqlite3.connect(kept)) as plain, pytest.raises(sqlite3.DatabaseError, match="append-only"):
        plain.execute(statement)


@pytest.mark.parametrize("seed", range(EDITS))
def test_a_sign_changed_in_the_file_itself_is_found(kept: Path, tmp_path: Path, seed: int) -> None:
    """What no trigger sees: the hash of one record, in every place where the file holds it, with one sign changed."""
    number = random.Random(seed).randint(1, RECORDS)
    with closing(sqlite3.connect(kept)) as plain:
        (digest,) = plain.execute("SELECT digest FROM records_record WHERE number = ?", [number]).fetchone()
    edited = tmp_path / "edited.sqlite3"
    shutil.copy(kept, edited)
    other = ("0" if digest[seed] != "0" else "1").join((digest[:seed], digest[seed + 1 :]))
    edited.write_bytes(edited.read_bytes().replace(digest.encode(), other.encode()))
    ended = verified(edited)
    assert f"record {number} is the first that does not verify" in ended


def verified(path: Path) -> str:
    """What verify_seal says of a file in which something is wrong; it ends with 1."""
    ended = subprocess.run(
        [sys.executable, "manage.py", "verify_seal", "--skip-checks"],
        env=environ_for(f"sqlite:///{path}"),
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.returncode == 1, ended.stderr
    return ended.stdout
