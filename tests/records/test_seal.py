"""Verifying: the first record that was tampered with is named, whatever was done to it."""

from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection

from tests.factories.records import ChainFactory
from tests.records.noted import note, note_many, tamper
from training.records.actions import verify_chain
from training.records.models import Chain
from training.records.queries import head_of
from training.records.seal import first_bad_record
from training.records.tasks import SealBroken, verify_chains

pytestmark = [pytest.mark.django_db, pytest.mark.db]

RECORD = "UPDATE records_record SET {change} WHERE chain_id = %s AND number = %s"
BODY = (
    "UPDATE records_body SET {change} WHERE record_id IN "
    "(SELECT id FROM records_record WHERE chain_id = %s AND number = %s)"
)
CHANGES = [
    RECORD.format(change="kind = 'test.forged'"),
    RECORD.format(change="about = 'b'"),
    RECORD.format(change="happened_at = '2020-01-01 00:00:00+00:00'"),
    RECORD.format(change="recorded_at = '2020-01-01 00:00:00+00:00'"),
    RECORD.format(change="digest = 'no digest'"),
    RECORD.format(change="previous = 'no hash'"),
    RECORD.format(change="hash = 'no hash'"),
    RECORD.format(change="number = 1000"),
    BODY.format(change="text = '{}'"),
    BODY.format(change="salt = 'no salt'"),
    "DELETE FROM records_body WHERE record_id IN (SELECT id FROM records_record WHERE chain_id = %s AND number = %s)",
]


@pytest.mark.parametrize("bad", [1, 3, 5])
@pytest.mark.parametrize("change", CHANGES)
def test_the_first_bad_record_is_named(change: str, bad: int) -> None:
    chain = ChainFactory()
    note_many(chain.pk, 5)
    tamper(change, [chain.pk, bad])
    assert first_bad_record(chain.pk) == bad


@pytest.mark.parametrize("gone", [1, 3, 5])
def test_a_record_that_is_gone_is_missed(gone: int) -> None:
    chain = ChainFactory()
    note_many(chain.pk, 5)
    tamper(CHANGES[-1], [chain.pk, gone])
    tamper("DELETE FROM records_record WHERE chain_id = %s AND number = %s", [chain.pk, gone])
    assert first_bad_record(chain.pk) == gone


def test_a_record_smuggled_in_behind_the_head_is_found() -> None:
    chain = ChainFactory()
    note_many(chain.pk, 2)
    before = Chain.objects.get(pk=chain.pk)
    note(chain.pk, 3)
    Chain.objects.filter(pk=chain.pk).update(head_number=before.head_number, head_hash=before.head_hash)
    assert first_bad_record(chain.pk) == 3


def test_a_head_that_was_changed_is_found() -> None:
    chain = ChainFactory()
    note_many(chain.pk, 2)
    Chain.objects.filter(pk=chain.pk).update(head_hash="f" * 64)
    assert first_bad_record(chain.pk) == 2


def test_what_cannot_be_read_as_an_instant_stops_at_that_record() -> None:
    chain = ChainFactory()
    note_many(chain.pk, 4)
    for forged in ("soon", "2026-13-45 00:00:00"):
        # PostgreSQL takes no such text; there the earliest instant of all stands in, which has no year that we can read
        value = forged if connection.vendor == "sqlite" else "-infinity"
        tamper("UPDATE records_record SET happened_at = %s WHERE chain_id = %s AND number = 3", [value, chain.pk])
        assert first_bad_record(chain.pk) == 3


def test_a_body_that_is_no_text_stops_at_that_record() -> None:
    chain = ChainFactory()
    note_many(chain.pk, 4)
    forged = "CAST(X'ff' AS TEXT)" if connection.vendor == "sqlite" else "'\u00ff'"
    tamper(BODY.format(change=f"text = {forged}"), [chain.pk, 2])
    assert first_bad_record(chain.pk) == 2


def test_an_empty_chain_verifies() -> None:
    assert first_bad_record(ChainFactory().pk) is None


def test_a_broken_chain_is_kept_as_broken_until_it_verifies_again() -> None:
    chain = ChainFactory()
    note_many(chain.pk, 3)
    tamper(BODY.format(change="text = text || ' '"), [chain.pk, 2])
    assert verify_chain(chain_id=chain.pk) == 2
    assert (head_of(chain.pk).is_sound, Chain.objects.get(pk=chain.pk).first_bad_number) == (False, 2)
    tamper(BODY.format(change="text = trim(text)"), [chain.pk, 2])
    assert verify_chain(chain_id=chain.pk) is None
    assert head_of(chain.pk).is_sound


def test_the_command_names_each_chain_and_ends_with_1_when_one_is_broken() -> None:
    sound, broken = ChainFactory(), ChainFactory()
    note_many(sound.pk, 2)
    note_many(broken.pk, 3)
    tamper(BODY.format(change="text = '{}'"), [broken.pk, 2])
    out = StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("verify_seal", stdout=out)
    assert ended.value.code == 1
    assert f"chain {sound.pk}: all 2 records verify" in out.getvalue()
    assert f"chain {broken.pk}: record 2 is the first that does not verify" in out.getvalue()


def test_the_command_ends_well_when_all_is_sound() -> None:
    chain = ChainFactory()
    note_many(chain.pk, 2)
    out = StringIO()
    call_command("verify_seal", stdout=out)
    assert f"chain {chain.pk}: all 2 records verify" in out.getvalue()


def test_the_task_walks_every_chain_and_fails_loudly() -> None:
    broken, later = ChainFactory(), ChainFactory()
    for chain in (broken, later):
        note_many(chain.pk, 2)
        tamper(BODY.format(change="text = '{}'"), [chain.pk, 2])
    with pytest.raises(SealBroken, match=f"chain {broken.pk} from record 2, chain {later.pk} from record 2"):
        verify_chains()
    assert set(Chain.objects.values_list("first_bad_number", flat=True)) == {2}


def test_the_task_is_quiet_when_all_is_sound() -> None:
    chain = ChainFactory()
    note_many(chain.pk, 2)
    verify_chains()
    assert Chain.objects.get(pk=chain.pk).first_bad_number is None
