"""Random tampering of every sort, all found, and the first bad record named; very many of them in the deep run."""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection, transaction

from tests.factories.records import ChainFactory
from tests.records.noted import note_many
from training.records.models import Body, Chain, Record
from training.records.seal import first_bad_record
from training.records.triggers import away

pytestmark = [pytest.mark.django_db, pytest.mark.db]
TEXT = ("kind", "about", "digest", "previous", "hash")
Tampering = Callable[[random.Random, Chain, int], int]


def _other(text: str, chance: random.Random) -> str:
    """The text with one sign changed."""
    place = chance.randrange(len(text))
    return text[:place] + ("x" if text[place] != "x" else "y") + text[place + 1 :]


def flips_a_sign(chance: random.Random, chain: Chain, number: int) -> int:
    row, column = Record.objects.filter(chain=chain, number=number), chance.choice(TEXT)
    row.update(**{column: _other(row.values_list(column, flat=True).get(), chance)})
    return number


def shifts_an_instant(chance: random.Random, chain: Chain, number: int) -> int:
    row, column = Record.objects.filter(chain=chain, number=number), chance.choice(("happened_at", "recorded_at"))
    row.update(**{column: row.values_list(column, flat=True).get() + timedelta(microseconds=chance.choice((-1, 1)))})
    return number


def changes_what_it_says(chance: random.Random, chain: Chain, number: int) -> int:
    row, column = Body.objects.filter(record__chain=chain, record__number=number), chance.choice(("text", "salt"))
    row.update(**{column: _other(row.values_list(column, flat=True).get(), chance)})
    return number


def takes_a_body_away(_chance: random.Random, chain: Chain, number: int) -> int:
    Body.objects.filter(record__chain=chain, record__number=number)._raw_delete(using="default")
    return number


def takes_a_record_out(_chance: random.Random, chain: Chain, number: int) -> int:
    takes_a_body_away(_chance, chain, number)
    Record.objects.filter(chain=chain, number=number)._raw_delete(using="default")
    return number


def cuts_the_tail_off(_chance: random.Random, chain: Chain, number: int) -> int:
    Body.objects.filter(record__chain=chain, record__number__gte=number)._raw_delete(using="default")
    Record.objects.filter(chain=chain, number__gte=number)._raw_delete(using="default")
    return number


def changes_places(chance: random.Random, chain: Chain, number: int) -> int:
    other = chance.choice([n for n in range(1, chain.head_number + 1) if n != number])
    for old, new in ((number, 0), (other, number), (0, other)):
        Record.objects.filter(chain=chain, number=old).update(number=new)
    return min(number, other)


def smuggles_one_in_behind_the_head(_chance: random.Random, chain: Chain, number: int) -> int:
    forged = Record.objects.get(chain=chain, number=number)
    forged.pk, forged._state.adding, forged.number = None, True, chain.head_number + 1
    Record.objects.bulk_create([forged])
    return chain.head_number + 1


SORTS: tuple[Tampering, ...] = (
    flips_a_sign, flips_a_sign, flips_a_sign, shifts_an_instant, changes_what_it_says, changes_what_it_says,
    takes_a_body_away, takes_a_record_out, cuts_the_tail_off, changes_places, smuggles_one_in_behind_the_head,
)  # fmt: skip


class _Undone(Exception):
    """Takes one tampering back."""


def found_in(chain: Chain, times: int, seed: int) -> int:
    """Tamper so many times, each from the sound chain; how many were found with the right record named."""
    chance, found = random.Random(seed), 0
    for _ in range(times):
        sort, number = chance.choice(SORTS), chance.randint(1, chain.head_number)
        try:
            with transaction.atomic(), away(connection):
                bad = sort(chance, chain, number)
                found += first_bad_record(chain.pk) == bad
                raise _Undone
        except _Undone:
            continue
    return found


def _chain(records: int) -> Chain:
    chain = ChainFactory()
    note_many(chain.pk, records)
    chain.refresh_from_db()
    assert first_bad_record(chain.pk) is None
    return chain


def test_of_300_tamperings_all_are_found_and_the_chain_is_sound_again_after_each() -> None:
    chain = _chain(30)
    assert found_in(chain, 300, seed=4) == 300
    assert first_bad_record(chain.pk) is None


@pytest.mark.deep
def test_of_10000_tamperings_of_a_thousand_records_all_are_found(record_property: Any) -> None:
    assert found_in(_chain(1_000), 10_000, seed=5) == 10_000
    record_property("cases", 10_000)
