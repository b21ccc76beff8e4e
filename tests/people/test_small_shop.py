"""The small-shop exception on record: who proposes, who signs, from when it counts, and how it ends."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.db import transaction

from tests.factories.people import ManagerFactory, PersonFactory, WorkshopFactory
from tests.people.cast import AT, TODAY, Cast, later, make_cast
from training.core.permission.evidence import SmallShop
from training.core.trade.calendar import add_months
from training.people import facts, small_shop
from training.people.models import Person
from training.people.opening import Opening, Signer, open_workshop
from training.people.refusal import Refusal
from training.people.small_shops import folded, small_shops_of, starts_later, written_of
from training.records.actions import Refused, append
from training.records.models import Record
from training.records.queries import marks_of

pytestmark = [pytest.mark.django_db, pytest.mark.db]
YEAR = add_months(TODAY, 12)


@pytest.fixture
def cast() -> Cast:
    return make_cast()


def proposed(cast: Cast, **changed: Any) -> Record:
    """A right proposal for two tasks and a year, with some of it changed."""
    right: dict[str, Any] = {
        "workshop": cast.workshop, "tasks": ["T2", "T1"], "from_day": TODAY, "through_day": YEAR,
        "reason": "One mentor only.", "by": cast.manager, "at": AT,
    }  # fmt: skip
    return small_shop.propose(**(right | changed))


def signed(cast: Cast, record: Record, **changed: Any) -> Record:
    right: dict[str, Any] = {"workshop": cast.workshop, "by": cast.other_manager, "at": later(1)}
    return small_shop.sign(record=record.number, **(right | changed))


def found(cast: Cast, known_at: int | None = None) -> SmallShop:
    (one,) = small_shops_of(cast.workshop, known_at=known_at).all
    return one


# ------------------------------------------------------------------------------------------------- proposed and signed


def test_a_manager_proposes_and_a_second_person_signs_and_both_stand_in_the_evidence(cast: Cast) -> None:
    written = proposed(cast)
    assert found(cast).second_by == ""
    signed(cast, written)
    assert found(cast) == SmallShop(
        record=written.number, tasks=frozenset({"T1", "T2"}), workshop=cast.workshop.key, from_day=TODAY,
        through_day=YEAR, entered_on=TODAY, by=cast.manager.key, second_by=cast.other_manager.key,
    )  # fmt: skip
    assert found(cast, known_at=written.number).second_by == ""


def test_it_may_name_all_tasks(cast: Cast) -> None:
    signed(cast, proposed(cast, tasks=None))
    assert found(cast).tasks is None


def test_both_records_move_the_mark_of_their_workshop_and_of_no_other(cast: Cast) -> None:
    second_site = WorkshopFactory(group=cast.workshop.group)
    written = proposed(cast)
    keys, chain_id = [cast.workshop.key, second_site.key], cast.workshop.group.chain_id
    assert list(marks_of(chain_id, keys).values()) == [written.number, 0]
    second = signed(cast, written)
    assert list(marks_of(chain_id, keys).values()) == [second.number, 0]


@pytest.mark.parametrize("who", ["technician", "foreign_manager"])
def test_only_a_manager_of_the_group_proposes(cast: Cast, who: str) -> None:
    with pytest.raises(Refusal, match="Only a manager"):
        proposed(cast, by=getattr(cast, who))
    assert not Record.objects.exists()


@pytest.mark.parametrize(
    ("who", "said"),
    [("manager", "You proposed it"), ("technician", "Only a manager"), ("foreign_manager", "Only a manager")],
)
def test_whoever_may_not_sign_is_told_why_and_nothing_is_written(cast: Cast, who: str, said: str) -> None:
    written = proposed(cast)
    with pytest.raises(Refusal, match=said):
        signed(cast, written, by=getattr(cast, who))
    assert Record.objects.count() == written.number


def test_the_second_signer_whom_the_opening_names_may_sign() -> None:
    opening = Opening(
        group="quay", group_name="Quay", slug="one", name="One", zone="Europe/Berlin", regime="EU", opened_on=TODAY,
        manager=Signer(username="mona", given_name="Mona", family_name="Brand", tally=1),
        second=Signer(username="sven", given_name="Sven", family_name="Holt", tally=2),
    )  # fmt: skip
    workshop = open_workshop(opening, at=AT)
    mona, sven = (Person.objects.get(username=name) for name in ("mona", "sven"))
    said: dict[str, Any] = {"from_day": TODAY, "through_day": YEAR, "reason": "Small.", "tasks": None, "at": later(1)}
    with pytest.raises(Refusal, match="Only a manager"):
        small_shop.propose(workshop=workshop, by=sven, **said)
    written = small_shop.propose(workshop=workshop, by=mona, **said)
    small_shop.sign(workshop=workshop, record=written.number, by=sven, at=later(2))
    (one,) = small_shops_of(workshop).all
    assert (one.by, one.second_by) == (mona.key, sven.key)


def test_it_is_signed_once(cast: Cast) -> None:
    written = proposed(cast)
    signed(cast, written)
    with pytest.raises(Refusal, match="two people already"):
        signed(cast, written, by=ManagerFactory(workshop=cast.workshop), at=later(2))


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"tasks": []}, "tasks"),
        ({"reason": " "}, "reason"),
        ({"through_day": YEAR + timedelta(days=1)}, "through_day"),
        ({"from_day": TODAY + timedelta(days=1), "through_day": TODAY}, "through_day"),
        ({"from_day": date(1, 1, 1), "through_day": date(1, 12, 1)}, "through_day"),
        ({"from_day": date(9999, 1, 1), "through_day": date(9999, 12, 31)}, "from_day"),
    ],
)
def test_what_cannot_be_meant_is_refused_beside_its_field(cast: Cast, changed: dict[str, Any], field: str) -> None:
    with pytest.raises(Refusal) as refused:
        proposed(cast, **changed)
    assert refused.value.field == field
    assert not Record.objects.exists()


@pytest.mark.parametrize("tasks", [None, ["T1"], ["T2", "T3"]])
def test_two_for_a_task_do_not_overlap(cast: Cast, tasks: list[str] | None) -> None:
    first = proposed(cast)
    with pytest.raises(Refusal, match=f"by record {first.number}"):
        proposed(cast, tasks=tasks, at=later(1))
    after = {"from_day": YEAR + timedelta(days=1), "through_day": YEAR + timedelta(days=90)}
    assert proposed(cast, tasks=["T3"], at=later(1)).number == 2
    with pytest.raises(Refusal, match="more than a year ahead"):
        proposed(cast, at=later(2), **after)


def test_two_taps_on_propose_write_one_record(cast: Cast) -> None:
    proposed(cast)
    with pytest.raises(Refusal):
        proposed(cast, at=later(1))
    assert Record.objects.count() == 1


# ----------------------------------------------------------------------------------------- from when it counts


def test_signed_days_after_its_first_day_it_counts_from_the_second_signature_on(cast: Cast) -> None:
    signed(cast, proposed(cast), at=AT + timedelta(days=3))
    assert found(cast).entered_on == TODAY + timedelta(days=3)
    assert not starts_later(found(cast))


def test_one_for_a_later_day_is_put_into_force_on_that_day_and_once(cast: Cast) -> None:
    written = proposed(cast, from_day=TODAY + timedelta(days=7))
    confirm: dict[str, Any] = {"workshop": cast.workshop, "record": written.number, "by": cast.manager}
    with pytest.raises(Refusal, match="second person signs"):
        small_shop.confirm(at=later(1), **confirm)
    signed(cast, written)
    assert starts_later(found(cast))
    with pytest.raises(Refusal, match="first day is"):
        small_shop.confirm(at=AT + timedelta(days=6), **confirm)
    small_shop.confirm(at=AT + timedelta(days=8), **confirm)
    assert found(cast).confirmed_on == TODAY + timedelta(days=8)
    with pytest.raises(Refusal, match="in force already"):
        small_shop.confirm(at=AT + timedelta(days=9), **confirm)


def test_a_technician_puts_nothing_into_force(cast: Cast) -> None:
    written = proposed(cast, from_day=TODAY + timedelta(days=1))
    signed(cast, written)
    with pytest.raises(Refusal, match="Only a manager"):
        small_shop.confirm(workshop=cast.workshop, record=written.number, by=cast.technician, at=AT + timedelta(days=1))


# ------------------------------------------------------------------------------------------------------ how it ends


def withdrawn(cast: Cast, record: Record, from_day: date = TODAY, at: datetime = AT, **changed: Any) -> Record:
    right: dict[str, Any] = {"workshop": cast.workshop, "reason": "A second mentor.", "by": cast.other_manager}
    return small_shop.withdraw(record=record.number, from_day=from_day, at=at, **(right | changed))


def test_it_is_withdrawn_from_a_day_on_and_stays_on_record(cast: Cast) -> None:
    written = proposed(cast)
    signed(cast, written)
    ended = withdrawn(cast, written, TODAY + timedelta(days=2), AT + timedelta(days=2))
    assert found(cast).withdrawn_from == TODAY + timedelta(days=2)
    assert found(cast, known_at=ended.number - 1).withdrawn_from is None
    for act in (signed, lambda cast, one, at: proposed(cast, at=at, through_day=TODAY + timedelta(days=1))):
        with pytest.raises(Refusal):
            act(cast, written, at=AT + timedelta(days=2, minutes=1))


def test_a_later_withdrawal_changes_nothing_and_an_earlier_one_does(cast: Cast) -> None:
    written, at = proposed(cast), AT + timedelta(days=5)
    withdrawn(cast, written, TODAY + timedelta(days=2), at)
    with pytest.raises(Refusal, match="void from"):
        withdrawn(cast, written, TODAY + timedelta(days=3), at)
    withdrawn(cast, written, TODAY + timedelta(days=1), at)
    assert found(cast).withdrawn_from == TODAY + timedelta(days=1)


@pytest.mark.parametrize("days", [-1, 6])
def test_it_is_withdrawn_from_a_day_between_its_first_and_today(cast: Cast, days: int) -> None:
    written = proposed(cast)
    with pytest.raises(Refusal) as refused:
        withdrawn(cast, written, TODAY + timedelta(days=days), AT + timedelta(days=5))
    assert refused.value.field == "from_day"


def test_nobody_else_withdraws_it_and_nobody_what_there_is_not(cast: Cast) -> None:
    written = proposed(cast)
    for by in (cast.technician, cast.foreign_manager):
        with pytest.raises(Refusal, match="Only a manager"):
            withdrawn(cast, written, by=by)
    for act in (withdrawn, signed):
        with pytest.raises(Refusal, match="no such"):
            act(cast, Record(number=99))


def test_an_exception_of_another_group_is_not_found(cast: Cast) -> None:
    written, elsewhere = proposed(cast), cast.foreign_manager
    with pytest.raises(Refusal, match="no such"):
        small_shop.sign(workshop=elsewhere.workshop, record=written.number, by=elsewhere, at=later(1))


# ------------------------------------------------------------------------------------------------------- bad input


def test_signatures_written_past_the_checks_are_none(cast: Cast) -> None:
    written = proposed(cast)
    for by in (cast.manager.key, ""):
        fact = facts.SmallShopSigned(record=written.number, signed_on=TODAY, by=by)
        with transaction.atomic():
            append(fact, chain_id=cast.workshop.group.chain_id, about=cast.workshop.key, at=later(1))
    assert found(cast).second_by == ""


def test_records_that_cannot_be_read_are_named_so_that_they_block(cast: Cast) -> None:
    written = proposed(cast)
    second = signed(cast, written)
    rows = [replace(row, fact=None) if row.number == second.number else row for row in written_of(cast.workshop)]
    shops = folded(cast.workshop.key, rows)
    assert shops.unreadable == (second.number,)
    assert [one.second_by for one in shops.all] == [""]


def test_with_the_clock_set_back_nothing_is_written(cast: Cast) -> None:
    written = proposed(cast)
    with pytest.raises(Refused, match="clock"):
        signed(cast, written, at=AT - timedelta(hours=1))
    assert Record.objects.count() == written.number


def test_whoever_has_left_signs_nothing(cast: Cast) -> None:
    written = proposed(cast)
    leaver = PersonFactory(workshop=cast.workshop, is_active=False)
    with pytest.raises(Refusal, match="Only a manager"):
        signed(cast, written, by=leaver)
