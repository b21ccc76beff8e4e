"""Erasing what records say: the only way in which a body and its salt ever go, with a record that says so."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime

from django.db import connection, transaction

from training.records.actions import Refused, append, hold
from training.records.facts import BodiesErased, Reconciled
from training.records.models import Body, Erased, Record
from training.records.seal import first_bad_record

NEVER = (BodiesErased.kind, Reconciled.kind)  # they say why others are missing


@transaction.atomic
def erase_bodies(
    *,
    chain_id: int,
    numbers: Iterable[int],
    about: str,
    counts: Sequence[tuple[str, int]],
    why: str,
    on: date,
    by: str,
    at: datetime,
) -> Record:
    """Append what goes and why, then delete these bodies; the chain verifies before and after, or nothing happens.

    Raises ``Refused`` for records that there are not, that are not about ``about`` or that must stay, and without a
    reason. What is kept of them is their envelopes, which say nothing but a kind and two instants of a random key.
    """
    hold(chain_id)
    wanted = sorted(set(numbers))
    rows = list(Record.objects.filter(chain_id=chain_id, number__in=wanted, body__isnull=False, about=about))
    _refuse_wrong(rows, wanted, why, by)
    _refuse_unsound(chain_id)
    fact = BodiesErased(numbers=wanted, counts=list(counts), why=why.strip(), erased_on=on, by=by)
    evidence = append(fact, chain_id=chain_id, about=about, at=at)
    _delete(rows, evidence, on)
    _refuse_unsound(chain_id)
    return evidence


def _refuse_wrong(rows: Sequence[Record], wanted: Sequence[int], why: str, by: str) -> None:
    if not wanted or len(rows) != len(wanted):
        raise Refused("Some of these records are not there, are erased already or are about somebody else.")
    if any(row.kind in NEVER for row in rows):
        raise Refused("What says that records were erased or restored is never erased.")
    if not why.strip() or not by.strip():
        raise Refused("Say who erases and why.")


def _refuse_unsound(chain_id: int) -> None:
    bad = first_bad_record(chain_id)
    if bad is not None:
        raise Refused(f"The chain does not verify from record {bad} on. Nothing was erased; look into it first.")


def _delete(rows: Sequence[Record], evidence: Record, on: date) -> None:
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA secure_delete=ON")  # else the words would stay in the file's free pages
    Erased.objects.bulk_create(Erased(record=row, evidence=evidence, erased_on=on) for row in rows)
    gone = Body.objects.filter(record__in=[row.pk for row in rows])._raw_delete(using=connection.alias)
    if gone != len(rows):
        raise Refused("The database let not all of them go. Nothing was erased.")
