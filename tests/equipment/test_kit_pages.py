"""The pages of the kit register: who may open and enter what, what they say, and what a wrong post gets."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from tests.factories.equipment import in_service
from tests.factories.people import ManagerFactory, PersonFactory, WorkshopFactory
from training.core.trade.calendar import local_day
from training.equipment.models import KitItem
from training.equipment.queries import kit_checked_today
from training.people.models import Person
from training.records.models import Record

pytestmark = [pytest.mark.django_db, pytest.mark.db]


@pytest.fixture
def boss() -> Person:
    return ManagerFactory()


@pytest.fixture
def technician(boss: Person) -> Person:
    return PersonFactory(workshop=boss.workshop)


@pytest.fixture
def gloves(boss: Person) -> KitItem:
    return in_service(boss.workshop, "gloves", by=boss, at=timezone.now())


def signed_in(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def url(name: str, item: KitItem) -> str:
    return reverse(f"equipment:{name}", args=[item.workshop.slug, item.pk])


def today(item: KitItem) -> str:
    return local_day(timezone.now(), item.workshop.zone).isoformat()


def test_the_register_lists_each_item_with_its_label_and_how_it_stands(technician: Person, gloves: KitItem) -> None:
    page = signed_in(technician).get(reverse("equipment:register", args=[gloves.workshop.slug]))
    assert page.status_code == 200
    said = page.content.decode()
    assert gloves.ident in said
    assert "Glove class 0" in said
    assert "in date through" in said
    assert "Put kit on the register" not in said


def test_an_item_with_a_note_stands_as_not_fit_with_the_reason(technician: Person, gloves: KitItem) -> None:
    client = signed_in(technician)
    posted = client.post(url("note", gloves), {"what": "oil on the cuff", "noted_on": today(gloves)}, follow=True)
    said = posted.content.decode()
    assert "not fit" in said
    assert "retest before use" in said
    assert "oil on the cuff" in said


def test_anyone_of_the_group_checks_before_use(technician: Person, gloves: KitItem) -> None:
    posted = signed_in(technician).post(url("check", gloves), {"passed": "yes"}, follow=True)
    assert "Checked by you today" in posted.content.decode()
    assert kit_checked_today(gloves, technician, local_day(timezone.now(), gloves.workshop.zone))


def test_several_items_are_checked_in_one_go_all_or_none(technician: Person, boss: Person, gloves: KitItem) -> None:
    hook = in_service(boss.workshop, "hook", by=boss, at=timezone.now())
    client, there = signed_in(technician), reverse("equipment:check_several", args=[gloves.workshop.slug])
    before = Record.objects.count()
    assert client.post(there, {"kit": [gloves.pk, 999_999]}).status_code == 400
    assert Record.objects.count() == before
    assert client.post(there, {"kit": [gloves.pk, hook.pk]}).status_code == 302
    assert Record.objects.count() == before + 2


def test_a_manager_adds_an_item_then_enters_its_test_and_issue(boss: Person) -> None:
    client, there = signed_in(boss), reverse("equipment:add", args=[boss.workshop.slug])
    assert "What kind of kit" in client.get(there).content.decode()
    assert "Glove class" in client.get(there, {"kind": "gloves"}).content.decode()
    posted = client.post(
        there,
        {
            "kind": "gloves",
            "ident": "G-7",
            "title": "Gloves size 10",
            "label_class": "0",
            "label_protectors": "on",
            "label_cuff_gap_mm": "18.5",
        },
    )
    item = KitItem.objects.get()
    assert posted.status_code == 302
    assert item.label == {"class": "0", "composite": False, "protectors": True, "cuff_gap_mm": 18.5}
    assert client.post(url("test", item), {"tested_on": today(item), "passed": "yes"}).status_code == 302
    assert client.post(url("issue", item), {"issued_on": today(item)}).status_code == 302
    assert "in date through" in client.get(url("entry", item)).content.decode()


@pytest.mark.parametrize(
    ("kind", "label"),
    [
        ("proving unit", {"label_source": "proving unit", "label_gives": ["DC", "AC"]}),
        ("insulation tester", {"label_category": "III", "label_rated_v": "1000", "label_test_voltages_v": "250, 500"}),
        ("visor", {"label_marking": "8 B T"}),
    ],
)
def test_labels_of_other_sorts_are_read_from_the_form(boss: Person, kind: str, label: dict[str, Any]) -> None:
    there = reverse("equipment:add", args=[boss.workshop.slug])
    assert signed_in(boss).post(there, {"kind": kind, "ident": "X-1", "title": "x", **label}).status_code == 302
    assert KitItem.objects.get().kind == kind


@pytest.mark.parametrize(
    "posted",
    [
        {},
        {"kind": "spanner"},
        {"kind": "gloves"},
        {"kind": "gloves", "ident": "G", "title": "x", "label_class": "9"},
        {"kind": "meter", "ident": "M", "title": "x", "label_category": "III", "label_rated_v": "-5"},
        {"kind": "meter", "ident": "M", "title": "x", "label_category": "III", "label_rated_v": "nan"},
        {"kind": "hook", "ident": "  ", "title": "x", "label_rated_v": "1000"},
        {"kind": "insulation tester", "ident": "I", "title": "x", "label_test_voltages_v": "two"},
    ],
)
def test_a_new_item_that_cannot_be_read_is_a_400_and_nothing_is_written(boss: Person, posted: dict[str, str]) -> None:
    answer = signed_in(boss).post(reverse("equipment:add", args=[boss.workshop.slug]), posted)
    assert answer.status_code == 400
    assert not KitItem.objects.exists()


def test_a_number_that_is_taken_is_said_beside_its_field(boss: Person, gloves: KitItem) -> None:
    posted = {"kind": "hook", "ident": gloves.ident, "title": "x", "label_rated_v": "1000"}
    answer = signed_in(boss).post(reverse("equipment:add", args=[boss.workshop.slug]), posted)
    assert answer.status_code == 400
    assert "this number here already" in answer.content.decode()


@pytest.mark.parametrize(
    ("name", "posted"),
    [
        ("check", {}),
        ("check", {"passed": "maybe"}),
        ("note", {"noted_on": "2026-01-01"}),
        ("note", {"what": "oil", "noted_on": "yesterday"}),
        ("note", {"what": "x" * 501, "noted_on": "2026-01-01"}),
        ("test", {"tested_on": "2026-02-30", "passed": "yes"}),
        ("test", {"tested_on": "2999-01-01", "passed": "yes"}),
        ("issue", {"issued_on": ""}),
        ("retire", {"why": " "}),
    ],
)
def test_a_malformed_post_is_a_400_and_records_nothing(
    boss: Person, gloves: KitItem, name: str, posted: dict[str, str]
) -> None:
    before = Record.objects.count()
    assert signed_in(boss).post(url(name, gloves), posted).status_code == 400
    assert Record.objects.count() == before


def test_kit_of_another_group_is_404_on_every_page(gloves: KitItem) -> None:
    client = signed_in(ManagerFactory())
    for name in ("entry", "check", "note", "test", "issue", "retire"):
        ask = client.get if name == "entry" else client.post
        assert ask(url(name, gloves)).status_code == 404
    for name in ("register", "add"):
        assert client.get(reverse(f"equipment:{name}", args=[gloves.workshop.slug])).status_code == 404
    assert client.post(reverse("equipment:check_several", args=[gloves.workshop.slug])).status_code == 404


def test_an_item_is_found_only_under_its_own_workshop(technician: Person, gloves: KitItem) -> None:
    other = WorkshopFactory(group=gloves.workshop.group)
    there = reverse("equipment:entry", args=[other.slug, gloves.pk])
    assert signed_in(technician).get(there).status_code == 404
    assert signed_in(technician).get(reverse("equipment:register", args=[other.slug])).status_code == 200


def test_who_is_no_manager_cannot_add_test_issue_or_retire(technician: Person, gloves: KitItem) -> None:
    client = signed_in(technician)
    assert client.get(reverse("equipment:add", args=[gloves.workshop.slug])).status_code == 403
    assert "Enter a test" not in client.get(url("entry", gloves)).content.decode()
    before = Record.objects.count()
    assert client.post(url("test", gloves), {"tested_on": today(gloves), "passed": "yes"}).status_code == 400
    assert client.post(url("issue", gloves), {"issued_on": today(gloves)}).status_code == 400
    assert client.post(url("retire", gloves), {"why": "old"}).status_code == 400
    assert Record.objects.count() == before


def test_what_is_entered_is_only_taken_by_post(boss: Person, gloves: KitItem) -> None:
    for name in ("check", "note", "test", "issue", "retire"):
        assert signed_in(boss).get(url(name, gloves)).status_code == 405


def test_a_retired_item_is_listed_apart(boss: Person, gloves: KitItem) -> None:
    client = signed_in(boss)
    assert client.post(url("retire", gloves), {"why": "cut"}).status_code == 302
    said = client.get(reverse("equipment:register", args=[gloves.workshop.slug])).content.decode()
    assert "1 item out of service for good" in said
    assert "Out of service: cut" in client.get(url("entry", gloves)).content.decode()
