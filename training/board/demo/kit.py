"""The demo's kit: rows of the register, and what happened to each item."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import time

from training.board.demo.house import House
from training.board.demo.reading import Happening, Kit
from training.board.demo.timeline import Event
from training.equipment import facts
from training.equipment.label_parts import TESTS, read_label
from training.equipment.models import KitItem
from training.equipment.queries import label_text
from training.people.models import Person, Workshop
from training.records.facts import Fact

TESTED_AT = time(10, 30)
ADDED_AT = time(10, 40)
ISSUED_AT = time(11, 0)
CHECKED_AT = time(8, 50)
NOTED_AT = time(14, 10)
RETIRED_AT = time(16, 0)


def events(house: House) -> Iterator[Event]:
    """Put all items on the register; yields what happened to them. Raises ``BadLabel`` for a label that is wrong."""
    for slug, items in house.story.kit.items():
        workshop = house.workshops[slug]
        manager = next(one for one in house.people.values() if one.workshop == workshop and _manages(house, one))
        for told in items:
            yield from _Item(house, workshop, manager, told).events()


def _manages(house: House, person: Person) -> bool:
    return any(one.username == person.username and "manager" in one.roles for one in house.story.cast.people)


class _Item:
    """One item of kit with its story."""

    def __init__(self, house: House, workshop: Workshop, manager: Person, told: Kit) -> None:
        self.house, self.manager, self.told, self.past = house, manager, told, house.past(workshop)
        self.row = KitItem.objects.create(
            workshop=workshop,
            kind=told.kind,
            ident=told.ident,
            title=told.title,
            label=read_label(told.kind, told.label),
            retired_on=None if told.retired is None else self.past.day(told.retired),
        )

    def events(self) -> Iterator[Event]:
        first = max(one.days_ago for one in self.told.tested)
        yield self._event(first, ADDED_AT, self._added())
        for test in self.told.tested:
            yield self._event(test.days_ago, TESTED_AT if test.days_ago != first else ISSUED_AT, self._tested(test))
        if self.told.issued is not None:
            issued = facts.KitIssued(issued_on=self.past.day(self.told.issued), by=self.manager.key)
            yield self._event(self.told.issued, ISSUED_AT, issued)
        for check in self.told.checked:
            yield self._event(check.days_ago, CHECKED_AT, self._checked(check))
        for noted in self.told.noted:
            yield self._event(noted.days_ago, NOTED_AT, self._noted(noted))
        if self.told.retired is not None:
            yield self._event(self.told.retired, RETIRED_AT, self._retired(self.told.retired))

    def _event(self, days_ago: int, clock: time, fact: Fact) -> Event:
        return Event(at=self.past.at(days_ago, clock), about=self.row.key, fact=fact)

    def _added(self) -> Fact:
        row = self.row
        return facts.KitAdded(
            workshop=row.workshop.key,
            ident=row.ident,
            kit_kind=row.kind,
            title=row.title,
            label=label_text(row.label),
            by=self.manager.key,
        )

    def _tested(self, told: Happening) -> Fact:
        return facts.KitTested(
            tested_on=self.past.day(told.days_ago),
            passed=told.passed,
            test=TESTS[self.told.kind],
            by=self.manager.key,
        )

    def _checked(self, told: Happening) -> Fact:
        return facts.KitChecked(checked_on=self.past.day(told.days_ago), passed=told.passed, by=self._who(told))

    def _noted(self, told: Happening) -> Fact:
        return facts.KitNoted(what=told.what, noted_on=self.past.day(told.days_ago), by=self._who(told))

    def _retired(self, days_ago: int) -> Fact:
        return facts.KitRetired(retired_on=self.past.day(days_ago), why="Replaced by rated hooks.", by=self.manager.key)

    def _who(self, told: Happening) -> str:
        return self.house.people[told.by].key
