"""The page of a small-shop exception: what it says, who proposes, signs, puts into force and withdraws."""

from __future__ import annotations

from datetime import date, timedelta
from html import unescape
from typing import Any

import pytest
from django.urls import reverse

from tests.board.house import NOW, House, signed_in
from tests.factories.people import PASSWORD, ManagerFactory
from training.core.permission.evidence import SmallShop
from training.core.trade.calendar import add_months
from training.people import small_shop
from training.people.models import Person
from training.people.small_shops import small_shops_of
from training.records.models import Record

pytestmark = [pytest.mark.django_db, pytest.mark.db, pytest.mark.usefixtures("set_clock")]
TODAY = date(2026, 3, 2)
YEAR = add_months(TODAY, 12)
SIGNING = {"password": PASSWORD}


@pytest.fixture
def second(house: House) -> Person:
    return ManagerFactory(workshop=house.workshop, given_name="Sven", family_name="Holt")


def url(house: House, name: str = "small_shop", *more: Any) -> str:
    return reverse(f"board:{name}", args=[house.workshop.slug, *more])


def form(**changed: Any) -> dict[str, Any]:
    right: dict[str, Any] = {
        "which": "some", "tasks": ["T1"], "from_day": TODAY.isoformat(), "through_day": YEAR.isoformat(),
        "reason": "Max is alone; Olga comes from the institute.",
    }  # fmt: skip
    return right | changed


def proposed(house: House, **changed: Any) -> int:
    said: dict[str, Any] = {
        "workshop": house.workshop, "tasks": ["T1"], "from_day": TODAY, "through_day": YEAR, "reason": "Max is alone.",
        "by": house.manager, "at": NOW,
    }  # fmt: skip
    return small_shop.propose(**(said | changed)).number


def page(viewer: Person, address: str) -> str:
    return unescape(signed_in(viewer).get(address).content.decode()).replace("\xa0", " ")


def found(house: House) -> SmallShop:
    (one,) = small_shops_of(house.workshop).all
    return one


def test_everybody_of_the_group_reads_what_it_means_in_three_sentences_and_nobody_else(house: House) -> None:
    shown = page(house.nina, url(house))
    for sentence in (
        "one mentor will do, with one observation more than it asks for.",
        "by a mentor from outside, within the last 12 months.",
        "the card says that it rests on this exception.",
    ):
        assert sentence in shown
    assert "There is none here" in shown
    assert "Propose" not in shown
    assert url(house) in page(house.nina, reverse("board:rules", args=[house.workshop.slug]))
    assert signed_in(house.foreign_manager).get(url(house)).status_code == 404


def test_a_manager_proposes_for_some_tasks_or_for_all(house: House) -> None:
    assert signed_in(house.manager).post(url(house), form()).status_code == 302
    assert (found(house).tasks, found(house).second_by) == (frozenset({"T1"}), "")
    shown = page(house.nina, url(house))
    assert "Task 1" in shown
    assert "Proposed, waits for a second person" in shown
    small_shop.withdraw(
        workshop=house.workshop, record=found(house).record, from_day=TODAY, reason="x", by=house.manager,
        at=NOW + timedelta(minutes=1),
    )  # fmt: skip
    assert signed_in(house.manager).post(url(house), form(which="all", tasks=[])).status_code == 302
    assert small_shops_of(house.workshop).all[-1].tasks is None


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"which": "all"}, "You ticked single tasks as well"),
        ({"tasks": []}, "Choose at least one."),
        ({"which": ""}, "This field is required."),
        ({"tasks": ["T9"]}, "T9 is not one of the available choices"),
        ({"through_day": (YEAR + timedelta(days=1)).isoformat()}, "It holds at most 12 months"),
        ({"from_day": "9999-12-31", "through_day": "9999-12-31"}, "more than a year ahead"),
        ({"from_day": "0001-01-01", "through_day": "0001-02-01"}, "past already"),
        ({"reason": " "}, "This field is required."),
        ({"from_day": "soon"}, "Enter a valid date."),
    ],
)
def test_what_cannot_be_meant_is_said_beside_its_field_and_nothing_is_written(
    house: House, changed: dict[str, Any], said: str
) -> None:
    before = Record.objects.count()
    answer = signed_in(house.manager).post(url(house), form(**changed))
    assert answer.status_code == 400
    assert said in answer.content.decode()
    assert Record.objects.count() == before


def test_the_second_person_finds_it_reads_what_changes_and_signs(house: House, second: Person) -> None:
    record = proposed(house)
    assert url(house) in page(second, reverse("people:everyone"))
    assert url(house) not in page(house.manager, reverse("people:everyone"))
    shown = page(second, url(house))
    assert "What changes once you have signed" in shown
    assert "Nobody's clearance changes now." in shown
    assert "What changes once you have signed" not in page(house.manager, url(house))
    assert signed_in(second).post(url(house, "sign_small_shop", record), SIGNING).status_code == 302
    assert found(house).second_by == second.key
    shown = page(house.nina, url(house))
    assert "In force" in shown
    assert f"signed by {house.manager.short_name} and {second.short_name}" in shown
    assert url(house) not in page(second, reverse("people:everyone"))


def test_one_for_a_later_day_waits_for_the_day_and_then_for_a_manager(
    house: House, second: Person, set_clock: Any
) -> None:
    record = proposed(house, from_day=TODAY + timedelta(days=2))
    small_shop.sign(workshop=house.workshop, record=record, by=second, at=NOW)
    shown = page(house.manager, url(house))
    assert "to be put into force on its day" in shown
    assert url(house, "confirm_small_shop", record) not in shown
    set_clock(NOW + timedelta(days=2))
    shown = page(house.manager, url(house))
    assert "Waits to be put into force" in shown
    assert url(house, "confirm_small_shop", record) in shown
    assert url(house, "confirm_small_shop", record) not in page(house.nina, url(house))
    assert signed_in(house.manager).post(url(house, "confirm_small_shop", record)).status_code == 302
    assert found(house).confirmed_on == TODAY + timedelta(days=2)


def test_withdrawing_shows_who_is_affected_first_and_is_recorded_only_then(house: House, second: Person) -> None:
    record = proposed(house)
    address, asked = url(house, "withdraw_small_shop", record), {"from_day": TODAY.isoformat(), "reason": "Two now."}
    assert address in page(second, url(house))
    shown = signed_in(second).post(address, asked).content.decode()
    assert "Who is affected" in shown
    assert found(house).withdrawn_from is None
    assert signed_in(second).post(address, {**asked, "confirm": "1"}).status_code == 302
    assert found(house).withdrawn_from == TODAY
    shown = page(house.nina, url(house))
    assert "Withdrawn: void from 2 Mar" in shown
    assert "Two now." in shown
    again = signed_in(second).post(address, asked)
    assert again.status_code == 400
    assert "It is void from 2026-03-02 on already." in again.content.decode()


def test_nobody_else_acts_on_it_and_another_group_finds_nothing(house: House, second: Person) -> None:
    record, before = proposed(house), Record.objects.count()
    small_shop.sign(workshop=house.workshop, record=record, by=second, at=NOW)
    names = ("sign_small_shop", "confirm_small_shop", "withdraw_small_shop")
    said = {"from_day": TODAY.isoformat(), "reason": "x", "confirm": "1", **SIGNING}
    statuses = {
        who: [signed_in(getattr(house, who)).post(url(house, name, record), said).status_code for name in names]
        for who in ("nina", "mentor", "foreign_manager")
    }
    assert statuses == {"nina": [400, 400, 403], "mentor": [400, 400, 403], "foreign_manager": [404, 404, 404]}
    assert signed_in(house.nina).post(url(house), form()).status_code == 403
    assert [signed_in(house.manager).post(url(house, name, 9999), said).status_code for name in names] == [404] * 3
    assert Record.objects.count() == before + 1


def test_without_the_right_password_nothing_is_signed(house: House, second: Person) -> None:
    record = proposed(house)
    answer = signed_in(second).post(url(house, "sign_small_shop", record), {"password": "not it"})
    assert answer.status_code == 400
    assert "That is not your password. Nothing was signed." in answer.content.decode()
    assert found(house).second_by == ""


def test_a_second_tap_on_sign_is_refused_in_words(house: House, second: Person) -> None:
    record = proposed(house)
    signed_in(second).post(url(house, "sign_small_shop", record), SIGNING)
    again = signed_in(second).post(url(house, "sign_small_shop", record), SIGNING)
    assert again.status_code == 400
    assert "It is signed by two people already." in again.content.decode()


def test_all_that_was_written_stays_on_the_page(house: House, second: Person) -> None:
    record = proposed(house)
    small_shop.sign(workshop=house.workshop, record=record, by=second, at=NOW)
    small_shop.withdraw(workshop=house.workshop, record=record, from_day=TODAY, reason="Two now.", by=second, at=NOW)
    shown = page(house.nina, url(house))
    for sentence in (
        "Small-shop exception proposed for T1, from 2 Mar",
        f"The small-shop exception of record {record} was signed by a second person.",
        f"The small-shop exception of record {record} is void from 2 Mar",
    ):
        assert sentence in shown
