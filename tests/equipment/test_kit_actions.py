"""Entering kit: each entry is one record about the item, and what nobody entered stays unknown."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from tests.factories.equipment import LABELS, KitItemFactory, added, in_service
from tests.factories.people import ManagerFactory, PersonFactory, WorkshopFactory
from training.bank.actions import put_in_force
from training.bank.rule_books import house_of, starting_book
from training.core.trade.fitness import KINDS, Job, fitness
from training.equipment import actions
from training.equipment.label_parts import PARTS, TESTS, BadLabel, read_label
from training.equipment.models import KitItem
from training.equipment.queries import KitRow, kit_checked_today, kit_of, rows_of
from training.equipment.words import good_through
from training.people.models import Person
from training.people.refusal import Refusal
from training.records.models import Mark, Record

pytestmark = [pytest.mark.django_db, pytest.mark.db]

AT = datetime(2026, 3, 2, 9, tzinfo=UTC)
TODAY = date(2026, 3, 2)
LATER = AT + timedelta(days=3)
JOB = Job(highest_dc_v=450.0, highest_ac_v=300.0, regime="EU", point_of_work="vehicle side", maker_test_v=500.0)
NO_LOADS = {"vehicle_loads_unknown", "table_load_unknown", "table_steadiness_unknown"}


@pytest.fixture
def boss() -> Person:
    return ManagerFactory()


def row_of(item: KitItem, known_at: int | None = None) -> KitRow:
    return rows_of([item], chain_id=item.workshop.group.chain_id, known_at=known_at)[0]


def against(item: KitItem, on: date = TODAY) -> set[str]:
    return {reason.code for reason in fitness(row_of(item).kit, JOB, on).reasons} - NO_LOADS


def test_the_register_knows_every_kind_that_fitness_knows() -> None:
    assert set(PARTS) == set(TESTS) == set(KINDS) == set(LABELS)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_an_item_of_any_kind_with_a_good_label_and_a_passed_test_is_fit(boss: Person, kind: str) -> None:
    assert against(in_service(boss.workshop, kind, by=boss, at=AT)) == set()


@pytest.mark.parametrize("kind", sorted(set(KINDS) - {"lock"}))
def test_an_item_that_nobody_has_tested_is_not_fit(boss: Person, kind: str) -> None:
    assert against(added(boss.workshop, kind, by=boss, at=AT))


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_a_note_takes_any_item_out_until_a_test_on_a_later_day(boss: Person, kind: str) -> None:
    item = in_service(boss.workshop, kind, by=boss, at=AT)
    actions.note_something(item=item, what="dropped", noted_on=TODAY, by=boss, at=AT)
    assert against(item)
    actions.record_test(item=item, tested_on=TODAY, passed=True, by=boss, at=AT)
    assert against(item), "the day of the test itself still counts"
    actions.record_test(item=item, tested_on=TODAY + timedelta(days=1), passed=True, by=boss, at=LATER)
    assert against(item, TODAY + timedelta(days=3)) == set()


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_a_failed_test_or_check_takes_any_item_out(boss: Person, kind: str) -> None:
    failed_test, failed_check = (in_service(boss.workshop, kind, by=boss, at=AT) for _ in range(2))
    actions.record_test(item=failed_test, tested_on=TODAY, passed=False, by=boss, at=AT)
    actions.pre_use_check(item=failed_check, passed=False, by=boss, at=AT)
    assert against(failed_test)
    assert against(failed_check)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_each_entry_is_one_record_about_the_item_and_names_nobody(boss: Person, kind: str) -> None:
    item = in_service(boss.workshop, kind, by=boss, at=AT)
    actions.pre_use_check(item=item, passed=True, by=boss, at=AT)
    actions.note_something(item=item, what="  a   snag ", noted_on=TODAY, by=boss, at=AT)
    actions.retire(item=item, why="cut", by=boss, at=AT)
    kinds = list(Record.objects.filter(about=item.key).order_by("number").values_list("kind", flat=True))
    said = ["added", "tested", "issued", "checked", "noted", "retired"]
    assert kinds == [f"equipment.{word}" for word in said]
    assert set(Mark.objects.values_list("key", flat=True)) == {item.key}
    assert row_of(item).history.notes[0].fact.what == "a snag"  # type: ignore[union-attr]


def test_gloves_run_out_on_the_limit_day_from_test_and_from_issue(boss: Person) -> None:
    # 29 CFR 1910.137 Table I-5 with the strict reading: issue + 6 months, test + 12 months, exclusive
    gloves = added(boss.workshop, "gloves", by=boss, at=AT)
    actions.record_test(item=gloves, tested_on=date(2025, 4, 1), passed=True, by=boss, at=AT)
    actions.issue(item=gloves, issued_on=date(2025, 12, 1), by=boss, at=AT)
    assert against(gloves, date(2026, 3, 31)) == set()
    assert against(gloves, date(2026, 4, 1)) == {"glove_test_out"}


def test_the_rule_book_settles_which_reading_of_the_glove_dates_holds(boss: Person) -> None:
    """The looser reading counts from issue alone (ASTM F496 before its 2024 edition, as the trade read it)."""
    gloves = added(boss.workshop, "gloves", by=boss, at=AT)
    actions.record_test(item=gloves, tested_on=date(2025, 4, 1), passed=True, by=boss, at=AT)
    actions.issue(item=gloves, issued_on=date(2025, 12, 1), by=boss, at=AT)
    assert good_through(row_of(gloves), boss.workshop, house_of(boss.workshop)) == date(2026, 3, 31)
    book = {**starting_book(), "version": 2}
    book["house"] = {**book["house"], "glove_due_rule": "issue_plus_6"}
    put_in_force(workshop=boss.workshop, book=book, by=boss, at=AT + timedelta(hours=1))
    assert good_through(row_of(gloves), boss.workshop, house_of(boss.workshop)) == date(2026, 5, 31)


def test_a_row_that_no_record_stands_behind_is_not_in_service() -> None:
    item = KitItemFactory(kind="meter")
    assert "in_service_unknown" in against(item)


def test_a_label_changed_past_the_records_is_not_believed(boss: Person) -> None:
    item = in_service(boss.workshop, "hook", by=boss, at=AT)
    KitItem.objects.filter(pk=item.pk).update(label={"rated_v": 1500.0})
    item.refresh_from_db()
    assert against(item) == {"in_service_unknown"}


def test_what_is_retired_is_out_of_service_and_takes_no_more_entries(boss: Person) -> None:
    item = in_service(boss.workshop, "lock", by=boss, at=AT)
    actions.retire(item=item, why="lost its key", by=boss, at=AT)
    assert against(item) == {"out_of_service"}
    with pytest.raises(Refusal, match="out of service"):
        actions.pre_use_check(item=item, passed=True, by=boss, at=AT)


def test_as_known_at_an_earlier_record_later_entries_do_not_count(boss: Person) -> None:
    item = in_service(boss.workshop, "mat", by=boss, at=AT)
    number = Record.objects.count()
    actions.note_something(item=item, what="cut", noted_on=TODAY, by=boss, at=AT)
    later = added(boss.workshop, "mat", by=boss, at=AT)
    assert [row.item for row in kit_of(boss.workshop, known_at=number)] == [item]
    assert fitness(kit_of(boss.workshop, known_at=number)[0].kit, JOB, TODAY).fit
    assert {row.item for row in kit_of(boss.workshop)} == {item, later}


def test_the_check_of_the_day_is_the_wearers_own(boss: Person) -> None:
    other = PersonFactory(workshop=boss.workshop)
    item = in_service(boss.workshop, "gloves", by=boss, at=AT)
    actions.pre_use_check(item=item, passed=True, by=other, at=AT)
    assert kit_checked_today(item, other, TODAY)
    assert not kit_checked_today(item, boss, TODAY)
    assert not kit_checked_today(item, other, TODAY + timedelta(days=1))
    check = row_of(item).check_for(boss.key, TODAY)
    assert check is not None
    assert (check.wearer, check.on) == (other.key, TODAY)


def test_a_check_just_after_midnight_belongs_to_the_workshops_own_day(boss: Person) -> None:
    item = in_service(boss.workshop, "gloves", by=boss, at=AT)
    late = datetime(2026, 3, 2, 23, 30, tzinfo=UTC)  # 00:30 of the 3rd in Berlin
    actions.pre_use_check(item=item, passed=True, by=boss, at=late)
    assert kit_checked_today(item, boss, date(2026, 3, 3))


def test_a_failed_check_after_a_good_one_counts(boss: Person) -> None:
    item = in_service(boss.workshop, "gloves", by=boss, at=AT)
    actions.pre_use_check(item=item, passed=True, by=boss, at=AT)
    actions.pre_use_check(item=item, passed=False, by=boss, at=AT)
    assert not kit_checked_today(item, boss, TODAY)


def test_gloves_are_issued_once_and_only_with_a_fresh_test(boss: Person) -> None:
    item = added(boss.workshop, "gloves", by=boss, at=AT)
    with pytest.raises(Refusal, match="12 months"):
        actions.issue(item=item, issued_on=TODAY, by=boss, at=AT)
    actions.record_test(item=item, tested_on=date(2025, 3, 2), passed=True, by=boss, at=AT)
    with pytest.raises(Refusal, match="12 months"):
        actions.issue(item=item, issued_on=TODAY, by=boss, at=AT)
    actions.record_test(item=item, tested_on=TODAY, passed=True, by=boss, at=AT)
    actions.issue(item=item, issued_on=TODAY, by=boss, at=AT)
    with pytest.raises(Refusal, match="issued before"):
        actions.issue(item=item, issued_on=TODAY, by=boss, at=AT)


@pytest.mark.parametrize(
    ("kind", "changed", "fault"),
    [
        ("gloves", {"class": "5"}, "one of 00, 0, 1"),
        ("gloves", {"class": None}, "Glove class is missing"),
        ("gloves", {"protectors": "yes"}, "say yes or no"),
        ("meter", {"category": "V"}, "one of O, II, III, IV"),
        ("meter", {"rated_v": -1.0}, "above 0, in V"),
        ("meter", {"rated_v": float("nan")}, "above 0, in V"),
        ("meter", {"rated_v": True}, "above 0, in V"),
        ("meter", {"colour": "red"}, "no colour on its label"),
        ("proving unit", {"gives": ["DC", "DC"]}, "each once"),
        ("proving unit", {"gives": []}, "Gives is missing"),
        ("insulated tools", {"marks": ["stamp"]}, "some of double triangle"),
        ("insulation tester", {"test_voltages_v": [250.0, 0.0]}, "numbers above 0"),
        ("visor", {"marking": "x" * 61}, "up to 60"),
        ("lift table", {"half_base_m": "wide"}, "above 0, in m"),
    ],
)
def test_a_label_that_cannot_be_read_is_refused_with_a_sentence(
    boss: Person, kind: str, changed: dict[str, Any], fault: str
) -> None:
    with pytest.raises(BadLabel, match=fault):
        added(boss.workshop, kind, by=boss, at=AT, **changed)
    assert not KitItem.objects.exists()
    assert not Record.objects.exists()


def test_every_fault_of_a_label_is_named_at_once() -> None:
    with pytest.raises(BadLabel) as caught:
        read_label("leads", {"category": "V", "bare_tip_mm": 2.0})
    assert set(caught.value.faults) == {"category", "rated_v"}


def test_a_number_on_the_register_is_given_once_in_a_workshop(boss: Person) -> None:
    item = added(boss.workshop, "lock", by=boss, at=AT)
    again = {"workshop": boss.workshop, "kind": "lock", "ident": item.ident, "title": "x", "label": LABELS["lock"]}
    with pytest.raises(Refusal, match="already"):
        actions.add_item(**again, by=boss, at=AT)
    assert Record.objects.count() == 1


def test_only_managers_add_test_issue_and_retire_and_only_in_their_group(boss: Person) -> None:
    item = in_service(boss.workshop, "hook", by=boss, at=AT)
    for who in (PersonFactory(workshop=boss.workshop), ManagerFactory()):
        for act in (
            lambda who=who: added(boss.workshop, "hook", by=who, at=AT),
            lambda who=who: actions.record_test(item=item, tested_on=TODAY, passed=True, by=who, at=AT),
            lambda who=who: actions.issue(item=item, issued_on=TODAY, by=who, at=AT),
            lambda who=who: actions.retire(item=item, why="old", by=who, at=AT),
        ):
            with pytest.raises(Refusal):
                act()
    stranger = PersonFactory(workshop=WorkshopFactory())
    with pytest.raises(Refusal, match="another workshop group"):
        actions.pre_use_check(item=item, passed=True, by=stranger, at=AT)
    with pytest.raises(Refusal, match="another workshop group"):
        actions.note_something(item=item, what="x", noted_on=TODAY, by=stranger, at=AT)


def test_a_day_that_is_still_to_come_is_refused(boss: Person) -> None:
    item = added(boss.workshop, "hook", by=boss, at=AT)
    tomorrow = TODAY + timedelta(days=1)
    for act in (
        lambda: actions.record_test(item=item, tested_on=tomorrow, passed=True, by=boss, at=AT),
        lambda: actions.issue(item=item, issued_on=tomorrow, by=boss, at=AT),
        lambda: actions.note_something(item=item, what="x", noted_on=tomorrow, by=boss, at=AT),
    ):
        with pytest.raises(Refusal, match="still to come"):
            act()
