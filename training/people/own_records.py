"""Everything that is on record about a person, and what of other things, such as kit, is on record in their name."""

from __future__ import annotations

from training.people.disputes import STANCES, whose
from training.people.models import Person
from training.records.facts import Fact
from training.records.models import Record
from training.records.queries import Written, newest_about, numbered


def newest_of(person: Person, *, most: int, before: int | None = None) -> list[Written[Fact]]:
    """Their newest records, newest first; ``before``: to page back."""
    about = newest_about(person.key, chain_id=person.group.chain_id, most=most, before=before)
    both = [*about, *in_their_name(person, most=most, before=before)]
    return sorted(both, key=lambda paper: -paper.number)[:most]


def in_their_name(person: Person, *, most: int | None = None, before: int | None = None) -> list[Written[Fact]]:
    """The newest records about something else that are theirs all the same, oldest first; ``most`` None: all."""
    kinds = [shape.kind for shape, stance in STANCES.items() if stance.whose]
    rows = Record.objects.filter(chain_id=person.group.chain_id, kind__in=kinds, body__text__contains=person.key)
    if before is not None:
        rows = rows.filter(number__lt=before)
    numbers = rows.exclude(about=person.key).order_by("-number").values_list("number", flat=True)[:most]
    return [paper for paper in numbered(numbers, chain_id=person.group.chain_id) if whose(paper) == person.key]
