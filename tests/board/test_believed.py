"""When a stored clearance is believed, and when its cell says "being worked out"."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from tests.board.house import NOW, House
from tests.factories.board import StoredClearanceFactory
from training.board import actions
from training.board.models import StoredClearance
from training.board.stored import Cell, cells_of
from training.core.permission.decision import Decision, Ground, Mode
from training.core.permission.mapping import as_mapping, from_mapping
from training.people.models import Person
from training.people.queries import people_of
from training.records.models import Chain, Mark

pytestmark = [pytest.mark.django_db, pytest.mark.db]
MINUTE = timedelta(minutes=1)


@pytest.fixture
def swept(house: House) -> House:
    actions.sweep(at=NOW)
    return house


def cell(house: House, person: Person, job_type: str = "A", at: Any = NOW) -> Cell:
    return cells_of(house.workshop, list(people_of(house.workshop)), ["A", "B"], at=at)[person.pk, job_type]


def row_of(person: Person, job_type: str = "A") -> StoredClearance:
    return StoredClearance.objects.get(person=person, job_type=job_type)


def believed(house: House, person: Person, job_type: str = "A", at: Any = NOW) -> Decision:
    decision = cell(house, person, job_type, at).decision
    assert decision is not None
    return decision


def test_what_was_just_worked_out_is_believed(swept: House) -> None:
    assert believed(swept, swept.tina).mode is Mode.ALONE
    assert believed(swept, swept.rob).mode is Mode.SUPERVISED
    assert believed(swept, swept.nina).mode is Mode.NOT_CLEARED


def test_a_clearance_is_believed_up_to_its_end_and_not_at_it(swept: House) -> None:
    until = believed(swept, swept.tina).until
    assert until is not None
    assert believed(swept, swept.tina, at=until - timedelta(microseconds=1)).mode is Mode.ALONE
    assert cell(swept, swept.tina, at=until).decision is None


def test_no_row_is_not_cleared(house: House) -> None:
    assert cell(house, house.tina).decision is None


@pytest.mark.parametrize("whose", ["person", "workshop"])
def test_a_newer_mark_cuts_the_clearance(swept: House, whose: str) -> None:
    key = swept.tina.key if whose == "person" else swept.workshop.key
    newer = Chain.objects.get(pk=swept.chain_id).head_number + 1
    Mark.objects.update_or_create(chain_id=swept.chain_id, key=key, defaults={"number": newer})
    assert cell(swept, swept.tina).decision is None
    assert (cell(swept, swept.nina).decision is None) == (whose == "workshop")


def test_a_mark_of_somebody_else_cuts_nothing(swept: House) -> None:
    before = believed(swept, swept.tina)
    Mark.objects.create(chain_id=swept.chain_id, key="0" * 32, number=10_000)
    assert believed(swept, swept.tina) == before


def test_a_broken_chain_cuts_everything(swept: House) -> None:
    Chain.objects.filter(pk=swept.chain_id).update(first_bad_number=1)
    assert [cell(swept, person).decision for person in people_of(swept.workshop)] == [None] * 6


def test_a_clock_that_is_behind_the_records_or_the_row_cuts_it(swept: House) -> None:
    assert cell(swept, swept.tina, at=NOW - timedelta(days=2)).decision is None
    StoredClearance.objects.update(computed_at=NOW + timedelta(hours=1))
    assert cell(swept, swept.tina).decision is None


SPOILED: dict[str, Callable[[dict[str, Any]], Any]] = {
    "no mapping": lambda _plain: [],
    "empty": lambda _plain: {},
    "a mode that there is not": lambda plain: {**plain, "mode": "maybe"},
    "another mode than the row says": lambda plain: {**plain, "mode": "supervised"},
    "another end than the row says": lambda plain: {**plain, "until": "2030-01-01T00:00:00Z"},
    "another job type than the row says": lambda plain: {**plain, "job_type": "B"},
    "another record than the row says": lambda plain: {**plain, "known_at": plain["known_at"] + 1},
    "no end": lambda plain: {**plain, "until": None, "ends_by": None},
}


@pytest.mark.parametrize("spoiled", SPOILED.values(), ids=SPOILED)
def test_a_row_that_cannot_be_read_or_contradicts_itself_is_not_believed(swept: House, spoiled: Any) -> None:
    row = row_of(swept.tina)
    StoredClearance.objects.filter(pk=row.pk).update(decision=spoiled(row.decision))
    assert cell(swept, swept.tina).decision is None


def test_a_clearance_without_an_end_is_not_believed_even_if_row_and_decision_agree(swept: House) -> None:
    row = row_of(swept.tina)
    plain = {**row.decision, "until": None, "ends_by": None}
    StoredClearance.objects.filter(pk=row.pk).update(decision=plain, until=None)
    assert cell(swept, swept.tina).decision is None


def test_supervised_falls_with_the_last_supervisor(swept: House) -> None:
    newer = Chain.objects.get(pk=swept.chain_id).head_number + 1
    Mark.objects.filter(chain_id=swept.chain_id, key=swept.tina.key).update(number=newer)
    assert cell(swept, swept.tina).decision is None
    assert cell(swept, swept.rob).decision is None


def test_supervised_lasts_no_longer_than_the_supervisors_who_are_still_believed(swept: House) -> None:
    """Rob's row names Tina and Max, and Max until later; once Max is stood down, Rob's end is Tina's."""
    tinas, robs = believed(swept, swept.tina), row_of(swept.rob)
    assert tinas.until is not None
    later = tinas.until + timedelta(days=30)
    longer = from_mapping(robs.decision)
    assert longer.ends_by is not None
    longer = replace(
        longer, until=later, supervisors=tuple(sorted([swept.tina.key, swept.mentor.key])),
        ends_by=replace(longer.ends_by, at=later, subject=swept.mentor.key),
    )  # fmt: skip
    StoredClearance.objects.filter(pk=robs.pk).update(decision=as_mapping(longer), until=later)
    shown = believed(swept, swept.rob)
    assert (shown.until, shown.supervisors) == (tinas.until, (swept.tina.key,))
    assert shown.ends_by is not None
    assert (shown.ends_by.because, shown.ends_by.subject) == (Ground.NO_SUPERVISOR, swept.tina.key)


def test_a_cell_of_a_job_type_that_was_never_worked_out_is_not_cleared(swept: House) -> None:
    StoredClearanceFactory(person=swept.tina, job_type="Z", computed_number=10_000)
    StoredClearance.objects.filter(person=swept.tina, job_type="A").delete()
    assert cell(swept, swept.tina).decision is None
