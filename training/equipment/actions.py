"""What is entered about kit: added, tested, issued, noted, checked before use, retired. Each is one record.

Kit belongs to the job, not to a person's clearance: no person and no workshop is named in these records.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from training.core.trade import gloves
from training.core.trade.calendar import local_day
from training.equipment import facts
from training.equipment.label_parts import TESTS, read_label
from training.equipment.models import KitItem
from training.equipment.queries import label_text, rows_of
from training.people.models import Person, Workshop
from training.people.queries import is_manager
from training.people.refusal import Refusal
from training.records.actions import append
from training.records.facts import Fact
from training.records.models import Record

LONGEST_WORDS = 500
LONGEST_IDENT = 20
LONGEST_TITLE = 120


@transaction.atomic
def add_item(
    *, workshop: Workshop, kind: str, ident: str, title: str, label: Mapping[str, object], by: Person, at: datetime
) -> KitItem:
    """Put an item on the register. ``BadLabel`` names every part of the label at fault; ``Refusal`` the rest."""
    _by_manager(workshop, by)
    if kind not in TESTS:
        raise Refusal(_("Choose what kind of kit it is."), "kind")
    read = read_label(kind, label)
    item = KitItem(
        workshop=workshop,
        kind=kind,
        ident=_worded(ident, "ident", LONGEST_IDENT),
        title=_worded(title, "title", LONGEST_TITLE),
        label=read,
    )
    _save(item)
    fact = facts.KitAdded(
        workshop=workshop.key, ident=item.ident, kit_kind=kind, title=item.title, label=label_text(read), by=by.key
    )
    _write(item, fact, at)
    return item


@transaction.atomic
def record_test(*, item: KitItem, tested_on: date, passed: bool, by: Person, at: datetime) -> Record:
    """Enter the test of this kind of kit (electrical test, calibration, ...) with its result. Managers only."""
    _by_manager(item.workshop, by)
    _not_retired(item)
    _not_to_come(tested_on, item, at, "tested_on")
    fact = facts.KitTested(tested_on=tested_on, passed=passed, test=TESTS[item.kind], by=by.key)
    return _write(item, fact, at)


@transaction.atomic
def issue(*, item: KitItem, issued_on: date, by: Person, at: datetime) -> Record:
    """Enter the first issue for service, once. Gloves are issued only within a year of a passed test. Managers only."""
    _by_manager(item.workshop, by)
    _not_retired(item)
    _not_to_come(issued_on, item, at, "issued_on")
    history = rows_of([item], chain_id=item.workshop.group.chain_id)[0].history
    if history.issues:
        raise Refusal(_("This item was issued before. A later issue never starts its clock again."), "issued_on")
    if item.kind == "gloves":
        tested_on = history.last_passed_on(TESTS[item.kind])
        if tested_on is None or not gloves.issuable(tested_on, issued_on):
            raise Refusal(_("Gloves are issued only within 12 months of a passed electrical test."), "issued_on")
    return _write(item, facts.KitIssued(issued_on=issued_on, by=by.key), at)


@transaction.atomic
def note_something(*, item: KitItem, what: str, noted_on: date, by: Person, at: datetime) -> Record:
    """Note what makes an item suspect; anyone of the group may. Only a passed test on a later day answers it."""
    _same_group(item.workshop, by)
    _not_retired(item)
    _not_to_come(noted_on, item, at, "noted_on")
    return _write(item, facts.KitNoted(what=_worded(what, "what", LONGEST_WORDS), noted_on=noted_on, by=by.key), at)


@transaction.atomic
def pre_use_check(*, item: KitItem, passed: bool, by: Person, at: datetime) -> Record:
    """Record today's pre-use check by the person who will use the item. A failed one makes it suspect."""
    _same_group(item.workshop, by)
    _not_retired(item)
    fact = facts.KitChecked(checked_on=local_day(at, item.workshop.zone), passed=passed, by=by.key)
    return _write(item, fact, at)


@transaction.atomic
def pre_use_checks(*, items: Iterable[KitItem], by: Person, at: datetime) -> list[Record]:
    """Record today's passed pre-use check of several items by the person who will use them; all or none."""
    return [pre_use_check(item=item, passed=True, by=by, at=at) for item in items]


@transaction.atomic
def retire(*, item: KitItem, why: str, by: Person, at: datetime) -> Record:
    """Take an item out of service for good. Managers only."""
    _by_manager(item.workshop, by)
    _not_retired(item)
    today = local_day(at, item.workshop.zone)
    fact = facts.KitRetired(retired_on=today, why=_worded(why, "why", LONGEST_WORDS), by=by.key)
    item.retired_on = today
    item.save(update_fields=["retired_on"])
    return _write(item, fact, at)


def _write(item: KitItem, fact: Fact, at: datetime) -> Record:
    return append(fact, chain_id=item.workshop.group.chain_id, about=item.key, at=at)


def _save(item: KitItem) -> None:
    try:
        with transaction.atomic():
            item.save()
    except IntegrityError as taken:
        raise Refusal(_("There is kit with this number here already. Give another."), "ident") from taken


def _same_group(workshop: Workshop, by: Person) -> None:
    if not by.is_active or by.group_id != workshop.group_id:
        raise Refusal(_("This belongs to another workshop group."))


def _by_manager(workshop: Workshop, by: Person) -> None:
    _same_group(workshop, by)
    if not is_manager(by):
        raise Refusal(_("A manager enters this."))


def _not_retired(item: KitItem) -> None:
    if item.retired_on is not None:
        raise Refusal(_("This item is out of service for good. Nothing more is entered about it."))


def _not_to_come(day: date, item: KitItem, at: datetime, field: str) -> None:
    if day > local_day(at, item.workshop.zone):
        raise Refusal(_("This day is still to come. Check the date."), field)


def _worded(text: str, field: str, most: int) -> str:
    text = " ".join(text.split())
    if not text:
        raise Refusal(_("Say it in a few words; nothing was entered."), field)
    if len(text) > most:
        raise Refusal(_("Longer than %(most)d characters. Shorten it.") % {"most": most}, field)
    return text
