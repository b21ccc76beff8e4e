"""Database triggers that refuse to change or delete a record, by any connection, on SQLite and PostgreSQL."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

SAYS = "records are append-only"
SAME_ROW = {
    "records_record": "id = NEW.id OR (chain_id = NEW.chain_id AND number = NEW.number)",
    "records_body": "record_id = NEW.record_id",
}

# REPLACE deletes the old row without firing the DELETE trigger (recursive_triggers is off unless a connection asks for
# it), so the third trigger looks before the row goes in. RAISE(ABORT) also overrides INSERT OR IGNORE.
SQLITE_CREATE = (
    "CREATE TRIGGER {table}_no_update BEFORE UPDATE ON {table} BEGIN SELECT RAISE(ABORT, '{says}'); END",
    "CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table} BEGIN SELECT RAISE(ABORT, '{says}'); END",
    "CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} WHEN EXISTS (SELECT 1 FROM {table} WHERE {same}) "
    "BEGIN SELECT RAISE(ABORT, '{says}'); END",
)
SQLITE_DROP = (
    "DROP TRIGGER IF EXISTS {table}_no_update",
    "DROP TRIGGER IF EXISTS {table}_no_delete",
    "DROP TRIGGER IF EXISTS {table}_no_replace",
)
POSTGRES_CREATE = (
    "CREATE OR REPLACE FUNCTION records_append_only() RETURNS trigger LANGUAGE plpgsql AS "
    "$$ BEGIN RAISE EXCEPTION '{says}'; END $$",
    "CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} "
    "FOR EACH ROW EXECUTE FUNCTION records_append_only()",
    "CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} "
    "FOR EACH STATEMENT EXECUTE FUNCTION records_append_only()",
)
POSTGRES_DROP = (
    "DROP TRIGGER IF EXISTS {table}_no_change ON {table}",
    "DROP TRIGGER IF EXISTS {table}_no_truncate ON {table}",
)


def create(connection: Any) -> None:
    """Put the triggers in place."""
    _run(connection, SQLITE_CREATE if connection.vendor == "sqlite" else POSTGRES_CREATE)


def drop(connection: Any) -> None:
    """Take them away: for reversing the migration and for emptying a test database, nothing else."""
    _run(connection, SQLITE_DROP if connection.vendor == "sqlite" else POSTGRES_DROP)


@contextmanager
def away(connection: Any) -> Iterator[None]:
    """Take the triggers away for a while and put them back: for tests that empty or tamper with the tables."""
    drop(connection)
    try:
        yield
    finally:
        create(connection)


def _run(connection: Any, statements: tuple[str, ...]) -> None:
    with connection.cursor() as cursor:
        for table, same in SAME_ROW.items():
            for statement in statements:
                cursor.execute(statement.format(table=table, same=same, says=SAYS))
