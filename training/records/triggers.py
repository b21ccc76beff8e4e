"""Database triggers that refuse to change or delete a record, by any connection, on SQLite and PostgreSQL."""

from __future__ import annotations

from typing import Any

TABLES = ("records_record", "records_body")
SAME_ROW = {
    "records_record": "id = NEW.id OR (chain_id = NEW.chain_id AND number = NEW.number)",
    "records_body": "record_id = NEW.record_id",
}

SQLITE_CREATE = """
CREATE TRIGGER {table}_no_update BEFORE UPDATE ON {table} BEGIN SELECT RAISE(ABORT, 'records are append-only'); END;
CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table} BEGIN SELECT RAISE(ABORT, 'records are append-only'); END;
CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} WHEN EXISTS (SELECT 1 FROM {table} WHERE {same})
BEGIN SELECT RAISE(ABORT, 'records are append-only'); END;
"""
SQLITE_DROP = """
DROP TRIGGER IF EXISTS {table}_no_update;
DROP TRIGGER IF EXISTS {table}_no_delete;
DROP TRIGGER IF EXISTS {table}_no_replace;
"""
POSTGRES_CREATE = """
CREATE OR REPLACE FUNCTION records_append_only() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION 'records are append-only'; END $$;
CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW EXECUTE FUNCTION records_append_only();
CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} FOR EACH STATEMENT EXECUTE FUNCTION records_append_only();
"""
POSTGRES_DROP = """
DROP TRIGGER IF EXISTS {table}_no_change ON {table};
DROP TRIGGER IF EXISTS {table}_no_truncate ON {table};
"""


def create(connection: Any) -> None:
    """Put the triggers in place."""
    _run(connection, SQLITE_CREATE if connection.vendor == "sqlite" else POSTGRES_CREATE)


def drop(connection: Any) -> None:
    """Take them away: for reversing the migration and for emptying a test database, nothing else."""
    _run(connection, SQLITE_DROP if connection.vendor == "sqlite" else POSTGRES_DROP)


def _run(connection: Any, template: str) -> None:
    with connection.cursor() as cursor:
        for table in TABLES:
            for statement in _statements(template.format(table=table, same=SAME_ROW[table]), connection.vendor):
                cursor.execute(statement)


def _statements(script: str, vendor: str) -> list[str]:
    """SQLite takes one statement at a time, and a trigger's own body holds a semicolon."""
    if vendor != "sqlite":
        return [script]
    parts = script.replace("\nDROP", "\x00DROP").replace("\nCREATE", "\x00CREATE").split("\x00")
    return [part.strip() for part in parts if part.strip()]
