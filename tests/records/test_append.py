"""Appending: numbers, links, marks, clocks, and the transaction it stands in."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone

import pytest
from django.db import transaction

from tests.factories.records import ChainFactory
from tests.records.noted import ABOUT, START_AT, Noted, note, note_many
from training.records import written
from training.records.actions import Refused, append
from training.records.facts import Fact
from training.records.models import Body, Changed, Mark, Record
from training.records.queries import head_of, marks_of, number_at
from training.records.seal import first_bad_record

pytestmark = [pytest.mark.django_db, pytest.mark.db]


def test_numbers_run_from_one_and_every_link_holds() -> None:
    chain = ChainFactory()
    assert [record.number for record in note_many(chain.pk, 5)] == [1, 2, 3, 4, 5]
    rows = list(Record.objects.filter(chain=chain))
    assert [row.previous for row in rows] == ["0" * 64, *[row.hash for row in rows[:-1]]]
    assert (head_of(chain.pk).number, first_bad_record(chain.pk)) == (5, None)


def test_two_chains_number_apart() -> None:
    one, other = ChainFactory(), ChainFactory()
    note_many(one.pk, 3)
    assert note(other.pk).number == 1


def test_marks_move_for_whom_it_is_about_and_for_all_that_it_names() -> None:
    chain = ChainFactory()
    note(chain.pk, 1, names=["w" * 32])
    note(chain.pk, 2)
    assert marks_of(chain.pk, [ABOUT, "w" * 32, "nobody"]) == {ABOUT: 2, "w" * 32: 1, "nobody": 0}
    assert Mark.objects.filter(chain=chain).count() == 2


def test_what_was_marked_is_noted_for_the_request_once() -> None:
    chain = ChainFactory()
    written.take()
    note(chain.pk, names=["w" * 32])
    assert written.take() == {(chain.pk, ABOUT), (chain.pk, "w" * 32)}
    assert written.take() == frozenset()


@pytest.mark.django_db(transaction=True)
def test_outside_a_transaction_nothing_is_written() -> None:
    chain = ChainFactory()
    with pytest.raises(Refused, match="inside its caller's transaction"):
        append(Noted(n=1), chain_id=chain.pk, about=ABOUT, at=START_AT)
    assert not Record.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_what_the_caller_rolls_back_leaves_no_record_and_no_gap() -> None:
    chain = ChainFactory()
    with transaction.atomic():
        append(Noted(n=1), chain_id=chain.pk, about=ABOUT, at=START_AT)
        transaction.set_rollback(True)
    assert not Body.objects.exists()
    assert note(chain.pk).number == 1
    assert first_bad_record(chain.pk) is None


def test_a_clock_that_went_back_is_refused() -> None:
    chain = ChainFactory()
    note(chain.pk, at=START_AT)
    with pytest.raises(Refused, match="clock"):
        note(chain.pk, at=START_AT - timedelta(seconds=3))
    assert head_of(chain.pk).number == 1


def test_two_seconds_back_are_a_clock_being_set_and_count_as_now() -> None:
    chain = ChainFactory()
    note(chain.pk, at=START_AT)
    assert note(chain.pk, at=START_AT - timedelta(seconds=2)).recorded_at == START_AT


def test_a_fact_from_the_future_is_refused() -> None:
    chain = ChainFactory()
    with pytest.raises(Refused, match="still to come"):
        note(chain.pk, at=START_AT, happened_at=START_AT + timedelta(minutes=2, seconds=1))
    assert note(chain.pk, at=START_AT, happened_at=START_AT + timedelta(minutes=2)).number == 1


def test_a_fact_from_the_past_keeps_both_times() -> None:
    chain = ChainFactory()
    record = note(chain.pk, at=START_AT, happened_at=START_AT - timedelta(hours=19))
    assert (record.recorded_at - record.happened_at) == timedelta(hours=19)


@pytest.mark.parametrize(
    "at",
    [datetime(2026, 3, 2, 9), datetime.max.replace(tzinfo=timezone(timedelta(hours=-12)))],  # noqa: DTZ001
    ids=["without its offset", "past the end of the calendar"],
)
def test_an_instant_that_cannot_be_meant_is_refused(at: datetime) -> None:
    chain = ChainFactory()
    with pytest.raises(Refused):
        note(chain.pk, at=at)


def test_a_fact_without_a_kind_is_refused() -> None:
    class Nameless(Fact, frozen=True):
        pass

    chain = ChainFactory()
    with pytest.raises(Refused, match="no kind"):
        append(Nameless(), chain_id=chain.pk, about=ABOUT, at=START_AT)


def test_the_number_at_an_instant_is_the_last_one_written_by_then() -> None:
    chain = ChainFactory()
    note_many(chain.pk, 3)  # 09:01, 09:02, 09:03
    assert number_at(chain.pk, START_AT) == 0
    assert number_at(chain.pk, START_AT + timedelta(minutes=2)) == 2
    assert number_at(chain.pk, START_AT + timedelta(days=1)) == 3


def test_a_saved_record_cannot_be_saved_or_deleted_again() -> None:
    record = note(ChainFactory().pk)
    for row in (record, record.body):
        with pytest.raises(Changed):
            row.save()
        with pytest.raises(Changed):
            row.delete()
