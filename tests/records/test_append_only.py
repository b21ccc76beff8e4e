"""The database itself refuses every way of changing or deleting a record, by any connection."""

from __future__ import annotations

import pytest
from django.db import DatabaseError, connection, transaction

from tests.factories.records import ChainFactory
from tests.records.noted import note
from training.records.models import Body, Record
from training.records.seal import first_bad_record

pytestmark = [pytest.mark.django_db, pytest.mark.db]

ROW = "id, chain_id, number, kind, about, happened_at, recorded_at, digest, previous, hash"
COPY = f"SELECT {ROW.replace('kind', chr(39) + 'forged' + chr(39))} FROM records_record"
UPDATE_AND_DELETE = [
    "UPDATE records_record SET kind = 'forged'",
    "UPDATE records_record SET number = number + 1",
    "DELETE FROM records_record",
    "UPDATE records_body SET text = 'forged'",
    "DELETE FROM records_body",
    f"INSERT INTO records_record ({ROW}) {COPY} WHERE true ON CONFLICT (id) DO UPDATE SET kind = 'forged'",
    "INSERT INTO records_body (record_id, text, salt) SELECT record_id, 'forged', salt FROM records_body WHERE true "
    "ON CONFLICT (record_id) DO UPDATE SET text = 'forged'",
]
SQLITE_ONLY = [
    f"INSERT OR REPLACE INTO records_record ({ROW}) {COPY}",
    f"REPLACE INTO records_record ({ROW}) {COPY.replace('SELECT id', 'SELECT id + 1000')}",
    f"INSERT OR IGNORE INTO records_record ({ROW}) {COPY}",
    "INSERT OR REPLACE INTO records_body (record_id, text, salt) SELECT record_id, 'forged', salt FROM records_body",
    "UPDATE OR REPLACE records_record SET kind = 'forged'",
]
POSTGRES_ONLY = ["TRUNCATE records_body", "TRUNCATE records_record CASCADE"]


def refused(statement: str) -> None:
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)


@pytest.mark.parametrize("statement", UPDATE_AND_DELETE)
def test_raw_sql_changes_nothing(statement: str) -> None:
    before = note(ChainFactory().pk)
    refused(statement)
    assert Record.objects.get().kind == before.kind
    assert first_bad_record(before.chain_id) is None


@pytest.mark.parametrize("recursive", ["ON", "OFF"])
@pytest.mark.parametrize("statement", SQLITE_ONLY)
@pytest.mark.django_db(transaction=True)
def test_replace_changes_nothing_whatever_the_connection_asked_for(statement: str, recursive: str) -> None:
    if connection.vendor != "sqlite":
        statement = UPDATE_AND_DELETE[0]  # REPLACE is SQLite's own; ask the same of what this database has
    else:
        connection.cursor().execute(f"PRAGMA recursive_triggers={recursive}")
    chain = ChainFactory()
    note(chain.pk)
    refused(statement)
    assert (Record.objects.count(), first_bad_record(chain.pk)) == (1, None)
    connection.close()


@pytest.mark.parametrize("statement", POSTGRES_ONLY)
@pytest.mark.django_db(transaction=True)
def test_emptying_a_table_is_refused(statement: str) -> None:
    chain = ChainFactory()
    note(chain.pk)
    refused(statement if connection.vendor == "postgresql" else "DELETE FROM records_body")
    assert Body.objects.count() == 1


def test_the_orm_cannot_write_over_a_record() -> None:
    record = note(ChainFactory().pk)
    forged = Record.objects.get()
    forged.kind = "forged"
    with pytest.raises(DatabaseError), transaction.atomic():
        Record.objects.bulk_create([forged], update_conflicts=True, update_fields=["kind"], unique_fields=["id"])
    with pytest.raises(DatabaseError), transaction.atomic():
        Record.objects.bulk_update([forged], ["kind"])
    with pytest.raises(DatabaseError), transaction.atomic():
        Record.objects.update(kind="forged")
    with pytest.raises(DatabaseError), transaction.atomic():
        Body.objects.all().delete()
    assert Record.objects.get().kind == record.kind
