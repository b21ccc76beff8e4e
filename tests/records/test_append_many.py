"""Appending many facts at once: the same numbers, links and marks as one by one, all or none."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import transaction

from tests.factories.records import ChainFactory
from tests.records.noted import ABOUT, START_AT, Noted, note
from training.records import written
from training.records.actions import Entry, Refused, append_many
from training.records.models import Body, Record
from training.records.queries import head_of, marks_of
from training.records.seal import first_bad_record

pytestmark = [pytest.mark.django_db, pytest.mark.db]


def entries(*minutes: int) -> list[Entry]:
    return [
        Entry(fact=Noted(n=n), about=f"{n % 2}" * 32, at=START_AT + timedelta(minutes=minute), names=[ABOUT])
        for n, minute in enumerate(minutes)
    ]


def test_many_go_on_where_the_chain_stands_and_the_chain_verifies() -> None:
    chain = ChainFactory()
    note(chain.pk)
    with transaction.atomic():
        records = append_many(entries(5, 6, 6, 9), chain_id=chain.pk)
    note(chain.pk, 10)
    assert [record.number for record in records] == [2, 3, 4, 5]
    assert [record.recorded_at - START_AT for record in records] == [timedelta(minutes=m) for m in (5, 6, 6, 9)]
    assert (head_of(chain.pk).number, first_bad_record(chain.pk)) == (6, None)


def test_each_mark_stands_at_the_last_record_that_names_its_key() -> None:
    chain = ChainFactory()
    written.take()
    with transaction.atomic():
        append_many(entries(1, 2, 3), chain_id=chain.pk)
    assert marks_of(chain.pk, ["0" * 32, "1" * 32, ABOUT]) == {"0" * 32: 3, "1" * 32: 2, ABOUT: 3}
    assert written.take() == {(chain.pk, key) for key in ("0" * 32, "1" * 32, ABOUT)}


def test_when_one_is_refused_none_is_written() -> None:
    chain = ChainFactory()
    with pytest.raises(Refused, match="earlier than the newest record"), transaction.atomic():
        append_many(entries(5, 6, 1), chain_id=chain.pk)
    assert not Record.objects.exists()
    assert not Body.objects.exists()
    assert head_of(chain.pk).number == 0


def test_nothing_to_append_changes_nothing() -> None:
    chain = ChainFactory()
    with transaction.atomic():
        assert append_many([], chain_id=chain.pk) == []
    assert head_of(chain.pk).number == 0
