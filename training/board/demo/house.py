"""The demo's group, workshops and people, with the rule books and the bank that were there from the first days."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, time
from zoneinfo import ZoneInfo

from django.contrib.auth.hashers import make_password

from training.bank.actions import accept, load_bank, put_in_force
from training.bank.models import QuestionVersion
from training.bank.queries import newest_versions, waiting_for_acceptance
from training.bank.rule_books import starting_book
from training.board.demo.reading import Cast, Site, Somebody, Story, folder
from training.board.demo.timeline import Past
from training.people.models import Person, RoleHeld, Workshop, WorkshopGroup, WorksTowards
from training.records.models import Chain

RULES_AT = time(7, 30)
ACCEPTED_AT = time(15, 0)
RULES_BEFORE, ACCEPTED_BEFORE = 5, 2  # days before the doors open


@dataclass(frozen=True, slots=True, kw_only=True)
class House:
    """Everything that exists before anything happens, by slug and username."""

    story: Story
    group: WorkshopGroup
    workshops: Mapping[str, Workshop]
    people: Mapping[str, Person]
    now: datetime

    def past(self, workshop: Workshop) -> Past:
        """The calendar of a workshop."""
        return Past(now=self.now, zone=ZoneInfo(workshop.zone))

    def manager_for(self, person: Person) -> Person:
        """The manager of the person's own workshop, or another where that is the person."""
        managers = [self.people[one.username] for one in self.story.cast.people if "manager" in one.roles]
        fit = [one for one in managers if one.pk != person.pk]
        return next((one for one in fit if one.workshop_id == person.workshop_id), fit[0])

    def mentors_at(self, workshop: Workshop) -> list[Person]:
        """Who is appointed as mentor at a workshop, in the order of the file."""
        return [
            self.people[username]
            for username, papers in self.story.papers.items()
            if any(mentoring.at == workshop.slug for mentoring in papers.mentor)
        ]

    def keys_of_workshops(self) -> tuple[str, ...]:
        """The keys of all workshops, which whoever signs for others names."""
        return tuple(workshop.key for workshop in self.workshops.values())


def build(story: Story, now: datetime) -> House:
    """Make group, workshops and people, load the bank, put rule books in force, accept questions."""
    cast = story.cast
    group = WorkshopGroup.objects.create(name=cast.group.name, slug=cast.group.slug, chain=Chain.objects.create())
    workshops = {site.slug: _workshop(site, group, cast.group.opened, now) for site in cast.workshops}
    people = _people(cast, group, workshops, now)
    house = House(story=story, group=group, workshops=workshops, people=people, now=now)
    _open(house)
    return house


def _workshop(site: Site, group: WorkshopGroup, opened: int, now: datetime) -> Workshop:
    past = Past(now=now, zone=ZoneInfo(site.zone))
    return Workshop.objects.create(
        group=group, slug=site.slug, name=site.name, zone=site.zone, regime=site.regime, opened_on=past.day(opened)
    )


def _people(cast: Cast, group: WorkshopGroup, workshops: Mapping[str, Workshop], now: datetime) -> dict[str, Person]:
    """Everybody, with one hash of the one password: hashing it for each would only cost time."""
    password = make_password(cast.group.password)
    rows = [_person(one, group, workshops[one.workshop], password, now) for one in cast.people]
    people = {person.username: person for person in Person.objects.bulk_create(rows)}
    RoleHeld.objects.bulk_create(
        RoleHeld(person=people[one.username], role=role) for one in cast.people for role in one.roles
    )
    WorksTowards.objects.bulk_create(
        WorksTowards(person=people[one.username], job_type=key) for one in cast.people for key in one.towards
    )
    return people


def _person(one: Somebody, group: WorkshopGroup, workshop: Workshop, password: str, now: datetime) -> Person:
    past = Past(now=now, zone=ZoneInfo(workshop.zone))
    return Person(
        username=one.username,
        password=password,
        group=group,
        workshop=workshop,
        given_name=one.name[0],
        family_name=one.name[1],
        tally=one.tally,
        contract=one.contract,
        cautions_read_at=past.at(one.joined, time(7, 10)) if one.read_cautions else None,
    )


def _open(house: House) -> None:
    """Before the doors open, as the first records: rule books, the bank, and a checker who accepts most of it."""
    opened = house.story.cast.group.opened
    first, last = list(house.workshops.values())[0], list(house.workshops.values())[-1]
    load_bank(group=house.group, path=folder() / "bank", at=house.past(first).at(opened + RULES_BEFORE, RULES_AT))
    for workshop in house.workshops.values():
        manager = next(one for one in _holders(house, "manager") if one.workshop_id == workshop.pk)
        book = starting_book(workshop.regime)
        put_in_force(workshop=workshop, book=book, by=manager, at=house.past(last).at(opened + RULES_BEFORE, RULES_AT))
    checker = _holders(house, "checker")[0]
    newest = newest_versions(house.group.pk)
    most, accepted_at = house.story.cast.group.accepted, house.past(last).at(opened + ACCEPTED_BEFORE, ACCEPTED_AT)
    for workshop in house.workshops.values():
        fit = {row.question.ident for row in waiting_for_acceptance(workshop)}
        versions = _first_of_each_topic([row for ident, row in newest.items() if ident in fit], most)
        accept(workshop=workshop, versions=versions, by=checker, at=accepted_at)


def _first_of_each_topic(rows: Iterable[QuestionVersion], most: int) -> list[QuestionVersion]:
    """The first questions of each topic, worked-out ones before the others; the rest waits for the checker."""
    taken: dict[str, list[QuestionVersion]] = defaultdict(list)
    for row in sorted(rows, key=lambda row: (not row.worked_out, row.pk)):
        if len(taken[row.topic]) < most:
            taken[row.topic].append(row)
    return [row for of_topic in taken.values() for row in of_topic]


def _holders(house: House, role: str) -> list[Person]:
    return [house.people[one.username] for one in house.story.cast.people if role in one.roles]
