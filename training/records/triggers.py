"""Database triggers that refuse to change or delete a record, by any connection, on SQLite and PostgreSQL.

One body may be deleted once ``records_erased`` names it, and a row goes in there only for a record that the newest
record of its chain says is erased.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

SAYS = "records are append-only"
SAME_ROW = {
    "records_record": "id = NEW.id OR (chain_id = NEW.chain_id AND number = NEW.number)",
    "records_body": "record_id = NEW.record_id",
    "records_erased": "record_id = NEW.record_id",
}
STAYS = {
    "records_record": "1 = 1",
    "records_body": "NOT EXISTS (SELECT 1 FROM records_erased WHERE record_id = OLD.record_id)",
    "records_erased": "1 = 1",
}
SAID_BY_NEWEST = (
    "SELECT 1 FROM records_record said JOIN records_body ON records_body.record_id = said.id "
    "JOIN records_record gone ON gone.id = NEW.record_id AND gone.chain_id = said.chain_id "
    "JOIN records_chain chain ON chain.id = said.chain_id AND chain.head_number = said.number "
    "WHERE said.id = NEW.evidence_id AND said.kind = 'records.bodies_erased' AND {listed}"
)
ON_SQLITE = "gone.number IN (SELECT value FROM json_each(records_body.text, '$.numbers'))"
ON_POSTGRES = "(records_body.text::jsonb -> 'numbers') @> to_jsonb(gone.number)"

# REPLACE deletes the old row without firing the DELETE trigger (recursive_triggers is off unless a connection asks for
# it), so the third trigger looks before the row goes in. RAISE(ABORT) also overrides INSERT OR IGNORE.
SQLITE_CREATE = (
    "CREATE TRIGGER {table}_no_update BEFORE UPDATE ON {table} BEGIN SELECT RAISE(ABORT, '{says}'); END",
    "CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table} WHEN {stays} BEGIN SELECT RAISE(ABORT, '{says}'); END",
    "CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} WHEN EXISTS (SELECT 1 FROM {table} WHERE {same}) "
    "BEGIN SELECT RAISE(ABORT, '{says}'); END",
)
SQLITE_DROP = (
    "DROP TRIGGER IF EXISTS {table}_no_update",
    "DROP TRIGGER IF EXISTS {table}_no_delete",
    "DROP TRIGGER IF EXISTS {table}_no_replace",
)
SQLITE_ERASING = (
    "CREATE TRIGGER records_erased_said BEFORE INSERT ON records_erased "
    f"WHEN NOT EXISTS ({SAID_BY_NEWEST.format(listed=ON_SQLITE)}) BEGIN SELECT RAISE(ABORT, '{SAYS}'); END",
)
POSTGRES_CREATE = (
    "CREATE OR REPLACE FUNCTION records_append_only() RETURNS trigger LANGUAGE plpgsql AS "
    "$$ BEGIN RAISE EXCEPTION '{says}'; END $$",
    "CREATE OR REPLACE FUNCTION {table}_stays() RETURNS trigger LANGUAGE plpgsql AS "
    "$$ BEGIN IF {stays} THEN RAISE EXCEPTION '{says}'; END IF; RETURN OLD; END $$",
    "CREATE TRIGGER {table}_no_change BEFORE UPDATE ON {table} FOR EACH ROW EXECUTE FUNCTION records_append_only()",
    "CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table} FOR EACH ROW EXECUTE FUNCTION {table}_stays()",
    "CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} "
    "FOR EACH STATEMENT EXECUTE FUNCTION records_append_only()",
)
POSTGRES_DROP = (
    "DROP TRIGGER IF EXISTS {table}_no_change ON {table}",
    "DROP TRIGGER IF EXISTS {table}_no_delete ON {table}",
    "DROP TRIGGER IF EXISTS {table}_no_truncate ON {table}",
)
POSTGRES_ERASING = (
    "CREATE OR REPLACE FUNCTION records_erased_said() RETURNS trigger LANGUAGE plpgsql AS "
    f"$$ BEGIN IF NOT EXISTS ({SAID_BY_NEWEST.format(listed=ON_POSTGRES)}) THEN RAISE EXCEPTION '{SAYS}'; END IF; "
    "RETURN NEW; END $$",
    "CREATE TRIGGER records_erased_said BEFORE INSERT ON records_erased "
    "FOR EACH ROW EXECUTE FUNCTION records_erased_said()",
)
ERASING_DROP = {
    "sqlite": "DROP TRIGGER IF EXISTS records_erased_said",
    "postgresql": "DROP TRIGGER IF EXISTS records_erased_said ON records_erased",
}


def create(connection: Any, *, erasing: bool = True) -> None:
    """Put the triggers in place; without ``erasing`` those of records and bodies only, before that table is there."""
    on_sqlite = connection.vendor == "sqlite"
    tables = [table for table in SAME_ROW if erasing or table != "records_erased"]
    _run(connection, SQLITE_CREATE if on_sqlite else POSTGRES_CREATE, tables)
    if erasing:
        with connection.cursor() as cursor:
            for statement in SQLITE_ERASING if on_sqlite else POSTGRES_ERASING:
                cursor.execute(statement)


def drop(connection: Any) -> None:
    """Take them away: for reversing the migration and for emptying a test database, nothing else."""
    _run(connection, SQLITE_DROP if connection.vendor == "sqlite" else POSTGRES_DROP, list(SAME_ROW))
    with connection.cursor() as cursor:
        cursor.execute(ERASING_DROP[connection.vendor])


@contextmanager
def away(connection: Any) -> Iterator[None]:
    """Take the triggers away for a while and put them back: for tests that empty or tamper with the tables."""
    drop(connection)
    try:
        yield
    finally:
        create(connection)


def _run(connection: Any, statements: tuple[str, ...], tables: list[str]) -> None:
    with connection.cursor() as cursor:
        for table in tables:
            for statement in statements:
                cursor.execute(statement.format(table=table, same=SAME_ROW[table], stays=STAYS[table], says=SAYS))
