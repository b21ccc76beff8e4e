"""Erasing what records say: only with a record that says so, and the chain verifies before and after."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction

from tests.factories.records import ChainFactory
from tests.records.noted import ABOUT, START_AT, Noted, note, note_many, tamper
from training.records.actions import Refused
from training.records.erasing import erase_bodies
from training.records.facts import BodiesErased
from training.records.models import Body, Chain, Erased, Record
from training.records.queries import erased_days, facts_of, marks_of
from training.records.seal import first_bad_record

pytestmark = [pytest.mark.django_db, pytest.mark.db]
LATER, DAY = START_AT + timedelta(days=900), date(2028, 8, 18)
TAKE = (
    "DELETE FROM records_body WHERE record_id = (SELECT id FROM records_record WHERE chain_id = %s AND number = %s)",
    "INSERT INTO records_erased (record_id, evidence_id, erased_on) SELECT gone.id, said.id, '2028-08-18' "
    "FROM records_record gone, records_record said WHERE gone.chain_id = %s AND said.chain_id = gone.chain_id "
    "AND gone.number = %s AND said.number = %s",
)


def erase(chain_id: int, *numbers: int, **changed: Any) -> Record:
    said: dict[str, Any] = {"about": ABOUT, "counts": [("test.noted", len(numbers))], "why": "Asked for.", "on": DAY}
    return erase_bodies(chain_id=chain_id, numbers=numbers, by="m" * 32, at=LATER, **(said | changed))


def test_what_is_erased_is_gone_with_its_salt_and_the_chain_verifies() -> None:
    chain = ChainFactory()
    records = note_many(chain.pk, 5)
    evidence = erase(chain.pk, 2, 4)
    assert sorted(Body.objects.values_list("record__number", flat=True)) == [1, 3, 5, 6]
    assert first_bad_record(chain.pk) is None
    assert [row.hash for row in Record.objects.filter(number__lte=5)] == [row.hash for row in records]
    assert (evidence.number, evidence.about, marks_of(chain.pk, [ABOUT])[ABOUT]) == (6, ABOUT, 6)
    (said,) = facts_of([BodiesErased], chain_id=chain.pk)
    assert said.fact is not None
    assert (said.fact.numbers, said.fact.why, said.fact.erased_on) == ([2, 4], "Asked for.", DAY)


def test_who_reads_it_back_finds_nothing_but_the_day_it_went() -> None:
    chain = ChainFactory()
    note_many(chain.pk, 3)
    erase(chain.pk, 2)
    for known_at in (None, 2):
        second = facts_of([Noted], chain_id=chain.pk, known_at=known_at)[1]
        assert (second.fact, second.erased_on) == (None, DAY)
    assert [row.erased_on for row in facts_of([Noted], chain_id=chain.pk)] == [None, DAY, None]
    assert erased_days(chain.pk) == {2: DAY}


@pytest.mark.parametrize(
    ("numbers", "changed", "says"),
    [
        ((), {}, "not there"),
        ((9,), {}, "not there"),
        ((1,), {"about": "b" * 32}, "about somebody else"),
        ((1,), {"why": "  "}, "who erases and why"),
    ],
    ids=["none", "no such record", "of another person", "no reason"],
)
def test_what_is_not_clear_is_refused_and_nothing_goes(numbers: Any, changed: dict[str, Any], says: str) -> None:
    chain = ChainFactory()
    note_many(chain.pk, 2)
    with pytest.raises(Refused, match=says):
        erase(chain.pk, *numbers, **changed)
    assert (Body.objects.count(), Record.objects.count(), Erased.objects.count()) == (2, 2, 0)


def test_nothing_is_erased_twice_and_what_says_so_never() -> None:
    chain = ChainFactory()
    note_many(chain.pk, 3)
    evidence = erase(chain.pk, 2)
    with pytest.raises(Refused, match="erased already"):
        erase(chain.pk, 1, 2)
    with pytest.raises(Refused, match="never erased"):
        erase(chain.pk, evidence.number)
    assert Body.objects.count() == 3


def test_from_a_broken_chain_nothing_is_erased() -> None:
    chain = ChainFactory()
    note_many(chain.pk, 3)
    tamper("UPDATE records_record SET about = 'b' WHERE chain_id = %s AND number = %s", [chain.pk, 3])
    with pytest.raises(Refused, match="does not verify from record 3"):
        erase(chain.pk, 1)
    assert Body.objects.count() == 3


def test_raw_sql_takes_no_body_that_no_record_names() -> None:
    chain = ChainFactory()
    note_many(chain.pk, 3)
    erase(chain.pk, 2)
    note(chain.pk, 9, at=LATER)
    for statement, values in (
        (TAKE[0], [chain.pk, 1]),  # no record names it
        (TAKE[1], [chain.pk, 1, 4]),  # the record that erased another
        (TAKE[1], [chain.pk, 1, 5]),  # a record that erases nothing
        ("UPDATE records_erased SET erased_on = %s", ["2020-01-01"]),
        ("DELETE FROM records_erased WHERE record_id > %s", [0]),
    ):
        with pytest.raises(DatabaseError, match="append-only"), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(statement, values)
    assert (Body.objects.count(), erased_days(chain.pk)) == (4, {2: DAY})


def test_a_body_taken_by_force_is_found_though_the_table_says_it_was_erased() -> None:
    chain = ChainFactory()
    note_many(chain.pk, 4)
    erase(chain.pk, 4)
    tamper(TAKE[1], [chain.pk, 2, 5])
    tamper(TAKE[0], [chain.pk, 2])
    assert erased_days(chain.pk)[2] == DAY
    assert first_bad_record(chain.pk) == 2


def test_a_record_of_erasing_excuses_only_what_came_before_it_and_only_while_it_verifies() -> None:
    chain = ChainFactory()
    note_many(chain.pk, 3)
    erase(chain.pk, 2)
    tamper(
        "UPDATE records_body SET text = replace(text, '[2]', '[1,2]') WHERE text LIKE %s AND record_id > %s",
        ["%[2]%", 0],
    )
    tamper(TAKE[0], [chain.pk, 1])
    assert first_bad_record(chain.pk) == 4
    assert Chain.objects.get(pk=chain.pk).head_number == 4


def as_role(statement: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement)


def test_a_role_without_the_right_removes_nothing_and_the_erasing_role_does() -> None:
    """The grants of docs/operations.md. SQLite has no roles: there a body goes by the door or not at all."""
    chain = ChainFactory()
    note_many(chain.pk, 3)
    roles = connection.vendor == "postgresql"
    if roles:
        for statement in (
            "CREATE ROLE t_hookside",
            "CREATE ROLE t_eraser IN ROLE t_hookside",
            "GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA public TO t_hookside",
            "GRANT USAGE ON ALL SEQUENCES IN SCHEMA public TO t_hookside",
            "REVOKE DELETE, UPDATE, TRUNCATE ON records_record, records_body, records_erased FROM t_hookside",
            "GRANT DELETE ON records_body TO t_eraser",
            "SET ROLE t_hookside",
        ):
            as_role(statement)
        note(chain.pk, 4)
        with pytest.raises(DatabaseError, match="permission denied"), transaction.atomic():
            erase(chain.pk, 2)
        as_role("SET ROLE t_eraser")
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(TAKE[0], [chain.pk, 1])
    erase(chain.pk, 2)
    if roles:
        as_role("RESET ROLE")
    assert erased_days(chain.pk) == {2: DAY}
    assert first_bad_record(chain.pk) is None
