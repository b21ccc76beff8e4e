"""Disputes of jobs and of kit, which kinds of records may be disputed at all, and one's own records as a list."""

from __future__ import annotations

import io
import zipfile
from datetime import date, timedelta
from html import unescape

import pytest
from django.urls import reverse

from tests.board.house import NOW, House, make_house, signed_in, write
from tests.factories.equipment import in_service
from tests.factories.people import ManagerFactory, PersonFactory
from training.board.facts import TaskDone
from training.board.privacy.copying import copy_of
from training.board.queries import read_workshop
from training.core.permission.evidence import Observation
from training.equipment.actions import pre_use_check
from training.equipment.models import KitItem
from training.equipment.queries import kit_checked_today, rows_of
from training.people import disputing, facts
from training.people.disputes import STANCES
from training.people.models import Person
from training.people.own_records import newest_of
from training.people.refusal import Refusal
from training.records.models import Record
from training.records.queries import head_of, known_kinds

pytestmark = [pytest.mark.django_db, pytest.mark.db]
MINUTE = timedelta(minutes=1)
TODAY = date(2026, 3, 2)


@pytest.fixture
def house() -> House:
    return make_house()


@pytest.fixture
def other(house: House) -> Person:
    return ManagerFactory(workshop=house.workshop)


@pytest.fixture
def meter(house: House) -> KitItem:
    return in_service(house.workshop, "meter", by=house.manager, at=NOW)


def dispute(house: House, record: int, minutes: int = 2) -> Record:
    return disputing.dispute(person=house.tina, record=record, what="Not me.", at=NOW + minutes * MINUTE)


def settle(house: House, disputed: Record, by: Person, *, stands: bool, minutes: int = 3) -> Record:
    return disputing.settle(
        person=house.tina, record=disputed.number, stands=stands, reason="Asked.", by=by, at=NOW + minutes * MINUTE
    )


# ---------------------------------------------------------------- tasks done on jobs
def done(house: House) -> Record:
    fact = TaskDone(workshop=house.workshop.key, job="a job", task="T1", version=1, by=house.rob.key)
    return write(house, fact, about=house.tina, at=NOW + MINUTE)


def done_counted(house: House, known_at: int | None = None) -> list[int]:
    reading = read_workshop(house.workshop, read_at=NOW + 9 * MINUTE, known_at=known_at)
    observations: tuple[Observation, ...] = reading.everybody[house.tina.key].observations
    return [one.record for one in observations if one.done_only]


@pytest.mark.parametrize("stands", [True, False])
def test_a_disputed_task_done_counts_for_nothing_until_it_stands(house: House, other: Person, stands: bool) -> None:
    record = done(house)
    assert done_counted(house) == [record.number]
    disputed = dispute(house, record.number)
    assert done_counted(house) == []
    assert done_counted(house, known_at=record.number) == [record.number]
    settle(house, disputed, other, stands=stands)
    assert done_counted(house) == ([record.number] if stands else [])


# ---------------------------------------------------------------- pre-use checks
def counted_checks(item: KitItem, known_at: int | None = None) -> int:
    return len(rows_of([item], chain_id=item.workshop.group.chain_id, known_at=known_at)[0].history.checks)


def test_a_pre_use_check_is_disputed_by_whom_it_names_and_counts_for_nothing(
    house: House, other: Person, meter: KitItem
) -> None:
    record = pre_use_check(item=meter, passed=True, by=house.tina, at=NOW + MINUTE)
    before = head_of(house.chain_id).number
    assert kit_checked_today(meter, house.tina, TODAY)
    with pytest.raises(Refusal, match="no such record about you"):
        disputing.dispute(person=house.rob, record=record.number, what="Mine.", at=NOW + MINUTE)
    disputed = dispute(house, record.number)
    assert not kit_checked_today(meter, house.tina, TODAY)
    assert (counted_checks(meter), counted_checks(meter, before)) == (0, 1)
    with pytest.raises(Refusal):
        settle(house, disputed, house.tina, stands=True)
    settle(house, disputed, other, stands=True)
    assert kit_checked_today(meter, house.tina, TODAY)


def test_a_failed_pre_use_check_counts_until_it_was_decided_that_it_is_withdrawn(
    house: House, other: Person, meter: KitItem
) -> None:
    record = pre_use_check(item=meter, passed=False, by=house.tina, at=NOW + MINUTE)
    disputed = dispute(house, record.number)
    assert counted_checks(meter) == 1
    settle(house, disputed, other, stands=False)
    assert counted_checks(meter) == 0


def test_the_check_of_somebody_else_stays_when_one_is_disputed(house: House, meter: KitItem) -> None:
    record = pre_use_check(item=meter, passed=True, by=house.tina, at=NOW + MINUTE)
    pre_use_check(item=meter, passed=True, by=house.rob, at=NOW + MINUTE)
    dispute(house, record.number)
    assert (counted_checks(meter), kit_checked_today(meter, house.rob, TODAY)) == (1, True)


# ---------------------------------------------------------------- which and where
# the person's own word, and what answers it
NOT_DISPUTED = {facts.Countersigned, facts.Disputed, facts.DisputeSettled}
# about a workshop, a job, kit or the records themselves, not about a person
ABOUT_NOBODY = (
    "bank.", "records.", "people.small_shop", "people.workshop_opened", "drill.parameters", "equipment.", "board.",
    "test.",
)  # fmt: skip


def test_every_kind_of_record_about_a_person_may_be_disputed() -> None:
    """A new fact about a person has to be given its stance; whatever is about something else stands in the list."""
    kinds = {shape.kind for shape in STANCES} | {shape.kind for shape in NOT_DISPUTED}
    assert {kind for kind in known_kinds() - kinds if not kind.startswith(ABOUT_NOBODY)} == set()
    assert {
        "board.task_done",
        "board.copy_given",
        "equipment.checked",
        "drill.answered",
        "drill.talked_through",
    } <= kinds


def test_ones_own_records_hold_the_checks_in_ones_name_in_order_and_a_page_at_a_time(
    house: House, meter: KitItem
) -> None:
    first = pre_use_check(item=meter, passed=True, by=house.tina, at=NOW + MINUTE)
    pre_use_check(item=meter, passed=True, by=house.rob, at=NOW + MINUTE)
    last = done(house)
    assert [one.number for one in newest_of(house.tina, most=2)] == [last.number, first.number]
    assert newest_of(house.tina, most=1, before=last.number)[0].number == first.number
    page = unescape(signed_in(house.tina).get(reverse("people:mine")).content.decode())
    assert reverse("people:dispute", args=[first.number]) in page
    assert b"equipment.checked" in _unpacked(copy_of(house.tina, at=NOW + 2 * MINUTE))


def test_every_kind_of_ones_own_records_opens_to_be_disputed_and_settled(
    house: House, other: Person, meter: KitItem
) -> None:
    pre_use_check(item=meter, passed=True, by=house.tina, at=NOW + MINUTE)
    done(house)
    client = signed_in(house.tina)
    by_kind = {paper.kind: paper.number for paper in newest_of(house.tina, most=500)}
    for number in by_kind.values():
        page = reverse("people:dispute", args=[number])
        assert client.get(page).status_code == 200
        assert client.post(page, {"what": "Wrong."}).status_code == 302
    waiting = signed_in(other).get(reverse("people:everyone")).content.decode()
    assert waiting.count("Wrong.") == len(by_kind)


def test_somebody_elses_records_do_not_open(house: House, meter: KitItem) -> None:
    record = pre_use_check(item=meter, passed=True, by=house.rob, at=NOW + MINUTE)
    stranger = PersonFactory(workshop=house.workshop)
    for who in (house.tina, stranger, house.foreign_manager):
        assert signed_in(who).get(reverse("people:dispute", args=[record.number])).status_code == 404


def _unpacked(copied: bytes) -> bytes:
    with zipfile.ZipFile(io.BytesIO(copied)) as file:
        return file.read("records.json")
