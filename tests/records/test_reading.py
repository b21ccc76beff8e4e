"""Reading facts back: typed, as known at a number, and never guessed."""

from __future__ import annotations

from typing import ClassVar

import pytest
from django.db import transaction

from tests.factories.records import ChainFactory
from tests.records.noted import ABOUT, START_AT, Noted, note, note_many, tamper
from training.records.actions import append
from training.records.facts import Fact
from training.records.models import Chain, Record
from training.records.queries import facts_of, unknown_about

pytestmark = [pytest.mark.django_db, pytest.mark.db]


def test_facts_come_back_as_they_were_written_and_in_order() -> None:
    chain = ChainFactory()
    note_many(chain.pk, 3)
    found = facts_of([Noted], chain_id=chain.pk)
    assert [written.fact for written in found] == [Noted(n=1), Noted(n=2), Noted(n=3)]
    assert [written.number for written in found] == [1, 2, 3]


def test_what_was_known_at_a_number_never_changes() -> None:
    chain = ChainFactory()
    note_many(chain.pk, 2)
    before = facts_of([Noted], chain_id=chain.pk, known_at=2)
    note(chain.pk, 3)
    assert facts_of([Noted], chain_id=chain.pk, known_at=2) == before
    assert facts_of([Noted], chain_id=chain.pk, known_at=0) == []


def test_facts_are_picked_by_whom_they_are_about() -> None:
    chain = ChainFactory()
    for n, about in enumerate(["x", "y", "z"], 1):
        note(chain.pk, n, about=about)
    assert [written.about for written in facts_of([Noted], chain_id=chain.pk, about="y")] == ["y"]
    assert [written.about for written in facts_of([Noted], chain_id=chain.pk, about=["x", "z"])] == ["x", "z"]
    assert facts_of([Noted], chain_id=chain.pk, about=[]) == []


def test_another_groups_chain_is_not_read() -> None:
    note(ChainFactory().pk)
    assert facts_of([Noted], chain_id=ChainFactory().pk) == []


@pytest.mark.parametrize("text", ["", "{", '{"n":"one"}', '{"m":1}', '{"n":1,"says":"","more":1}', "[]"])
def test_a_body_that_cannot_be_read_gives_no_fact(text: str) -> None:
    chain = ChainFactory()
    note_many(chain.pk, 2)
    tamper("UPDATE records_body SET text = %s WHERE text LIKE %s", [text, '%"n":1%'])
    assert [written.fact for written in facts_of([Noted], chain_id=chain.pk)] == [None, Noted(n=2)]


def test_a_body_that_is_gone_gives_no_fact() -> None:
    chain = ChainFactory()
    note(chain.pk)
    tamper("DELETE FROM records_body WHERE record_id > %s", [0])
    assert [(written.number, written.fact) for written in facts_of([Noted], chain_id=chain.pk)] == [(1, None)]


def test_a_kind_that_nobody_knows_is_named_per_key() -> None:
    chain = ChainFactory()
    note(chain.pk, 1)
    row = Record.objects.get()
    sealed = Chain.objects.get(pk=chain.pk)
    Record.objects.create(
        chain=sealed, number=2, kind="later.withdrawn", about=ABOUT, happened_at=row.happened_at,
        recorded_at=row.recorded_at, digest="", previous="", hash="",
    )  # fmt: skip
    assert unknown_about([ABOUT, "other"], chain_id=chain.pk) == {ABOUT: (2,)}
    assert unknown_about([ABOUT], chain_id=chain.pk, known_at=1) == {}


def test_a_fact_with_a_float_is_not_written() -> None:
    class Weighed(Fact, frozen=True):
        kind: ClassVar[str] = "test.weighed"
        mass_kg: float

    chain = ChainFactory()
    with pytest.raises(TypeError, match="no floats"), transaction.atomic():
        append(Weighed(mass_kg=1.5), chain_id=chain.pk, about=ABOUT, at=START_AT)
    assert not Record.objects.exists()
