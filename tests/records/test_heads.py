"""Heads kept outside the database: what a chain cannot show of itself, and a restored copy that stays locked."""

from __future__ import annotations

import json
import random
import stat
from datetime import timedelta
from io import StringIO
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from django.core.management import call_command
from django.core.management.base import CommandError

from tests.factories.records import ChainFactory
from tests.records.noted import START_AT, note, note_many, tamper
from training.records.actions import Refused, keep_head, reconcile, verify_chain
from training.records.heads import FILE, HeadsUnreadable, kept_heads, make_key, newest_kept
from training.records.models import Chain, Record
from training.records.queries import head_of
from training.records.seal import first_bad_record
from training.records.tasks import SealBroken, sign_heads, verify_chains

pytestmark = [pytest.mark.django_db, pytest.mark.db]
LATER = START_AT + timedelta(hours=5)
CUT = (
    "DELETE FROM records_body WHERE record_id IN (SELECT id FROM records_record WHERE chain_id = %s AND number > %s)",
    "DELETE FROM records_record WHERE chain_id = %s AND number > %s",
)


@pytest.fixture
def folder(tmp_path: Path, settings: object) -> Path:
    heads = tmp_path / "heads"
    heads.mkdir()
    make_key(tmp_path / "key.pem")
    settings.HEADS_DIR, settings.SIGNING_KEY = heads, tmp_path / "key.pem"  # type: ignore[attr-defined]
    return heads


def cut(chain_id: int, number: int) -> None:
    """What a restore of an older copy comes to: the chain as it was at a number, its head with it."""
    for statement in CUT:
        tamper(statement, [chain_id, number])
    head = Record.objects.get(chain_id=chain_id, number=number)
    Chain.objects.filter(pk=chain_id).update(head_number=number, head_hash=head.hash)


def test_a_signed_head_is_one_line_that_verifies_with_the_public_key_beside_it(folder: Path) -> None:
    chain = ChainFactory()
    note_many(chain.pk, 3)
    keep_head(chain_id=chain.pk, at=LATER)
    (line,) = (folder / FILE).read_text().splitlines()
    assert {"chain", "number", "hash", "at", "signature"} <= set(json.loads(line))
    assert [head.number for head in kept_heads(chain.pk)] == [3]
    assert verify_chain(chain_id=chain.pk) is None


def test_ed25519_is_that_of_rfc_8032() -> None:
    """RFC 8032 section 7.1, test 2: the library signs as the standard does."""
    key = Ed25519PrivateKey.from_private_bytes(
        bytes.fromhex("4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb")
    )
    signed = key.sign(bytes.fromhex("72")).hex()
    assert signed == (
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"
    )


def test_a_tail_cut_off_with_its_head_moved_back_is_found_and_locks_at_once(folder: Path) -> None:
    chain = ChainFactory()
    note_many(chain.pk, 6)
    keep_head(chain_id=chain.pk, at=LATER)
    cut(chain.pk, 4)
    assert first_bad_record(chain.pk) is None, "the chain itself shows nothing"
    assert not head_of(chain.pk).is_sound
    assert verify_chain(chain_id=chain.pk) == 5
    with pytest.raises(SealBroken, match="from record 5"):
        verify_chains()


def test_a_chain_written_anew_from_some_record_on_is_found_though_it_is_longer(folder: Path) -> None:
    chain = ChainFactory()
    note_many(chain.pk, 4)
    keep_head(chain_id=chain.pk, at=LATER)
    cut(chain.pk, 2)
    for n in range(3, 9):
        note(chain.pk, n, at=LATER + timedelta(minutes=n))
    assert first_bad_record(chain.pk) is None
    assert not head_of(chain.pk).is_sound
    assert verify_chain(chain_id=chain.pk) == 4


def test_a_restored_copy_answers_again_only_once_somebody_answers_for_it(folder: Path) -> None:
    chain = ChainFactory()
    note_many(chain.pk, 6)
    keep_head(chain_id=chain.pk, at=LATER)
    cut(chain.pk, 3)
    note(chain.pk, 9, at=LATER + timedelta(minutes=1))  # entered again from paper, while locked
    with pytest.raises(Refused, match="Say who"):
        reconcile(chain_id=chain.pk, why=" ", by="Mona", at=LATER + timedelta(minutes=2))
    assert not head_of(chain.pk).is_sound
    record = reconcile(chain_id=chain.pk, why="Stand-downs entered again.", by="Mona", at=LATER + timedelta(minutes=2))
    assert (record.kind, record.number) == ("records.reconciled", 5)
    assert head_of(chain.pk).is_sound
    assert verify_chain(chain_id=chain.pk) is None
    with pytest.raises(Refused, match="nothing to reconcile"):
        reconcile(chain_id=chain.pk, why="Again.", by="Mona", at=LATER + timedelta(minutes=3))


@pytest.mark.parametrize("seed", range(20))
def test_every_restore_to_an_older_state_starts_locked(folder: Path, seed: int) -> None:
    chance = random.Random(seed)
    chain = ChainFactory()
    note_many(chain.pk, chance.randint(2, 12))
    newest = head_of(chain.pk).number
    keep_head(chain_id=chain.pk, at=LATER)
    cut(chain.pk, chance.randint(1, newest - 1))
    assert not head_of(chain.pk).is_sound


@pytest.mark.parametrize("place", range(0, 200, 23))
def test_a_changed_line_is_found_and_nobody_is_cleared(folder: Path, place: int) -> None:
    chain = ChainFactory()
    note_many(chain.pk, 2)
    keep_head(chain_id=chain.pk, at=LATER)
    written = bytearray((folder / FILE).read_bytes())
    written[place % (len(written) - 1)] ^= 1
    (folder / FILE).write_bytes(bytes(written))
    with pytest.raises(HeadsUnreadable):
        kept_heads(chain.pk)
    assert not head_of(chain.pk).is_sound
    assert verify_chain(chain_id=chain.pk) == 1


def test_another_key_is_refused_and_a_broken_chain_is_not_signed(folder: Path, settings: object) -> None:
    chain = ChainFactory()
    note_many(chain.pk, 2)
    keep_head(chain_id=chain.pk, at=LATER)
    make_key(folder / "other.pem")
    settings.SIGNING_KEY = folder / "other.pem"  # type: ignore[attr-defined]
    with pytest.raises(HeadsUnreadable, match="not the one"):
        keep_head(chain_id=chain.pk, at=LATER)
    tamper("UPDATE records_record SET about = 'b' WHERE chain_id = %s AND number = %s", [chain.pk, 2])
    with pytest.raises(Refused, match="does not verify"):
        keep_head(chain_id=chain.pk, at=LATER)


def test_the_commands_make_a_key_sign_and_reconcile(folder: Path, tmp_path: Path) -> None:
    out, chain = StringIO(), ChainFactory()
    call_command("make_signing_key", str(tmp_path / "new.pem"), stdout=out)
    assert stat.S_IMODE((tmp_path / "new.pem").stat().st_mode) == 0o600
    with pytest.raises(CommandError, match="cannot be made"):
        call_command("make_signing_key", str(tmp_path / "new.pem"))
    note_many(chain.pk, 5)
    call_command("sign_head", stdout=out)
    cut(chain.pk, 2)
    call_command("reconcile", chain=chain.pk, stdout=out)
    call_command("reconcile", chain=chain.pk, why="Entered again.", by="Mona", stdout=out)
    assert f"chain {chain.pk} ends at record 2; newest head kept outside: 5" in out.getvalue()
    assert "reconciled by record 3" in out.getvalue()
    with pytest.raises(CommandError, match="no chain 0"):
        call_command("reconcile", chain=0)


def test_where_no_heads_are_kept_nothing_is_signed_and_nothing_is_locked() -> None:
    chain = ChainFactory()
    note_many(chain.pk, 2)
    sign_heads()
    assert newest_kept(chain.pk) is None
    assert head_of(chain.pk).is_sound
    with pytest.raises(CommandError, match="HOOKSIDE_"):
        call_command("sign_head")
