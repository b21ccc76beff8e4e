"""Writing a record about a person: one at a time, and nothing twice."""

from __future__ import annotations

from datetime import datetime

from django.utils.translation import gettext as _

from training.people import facts
from training.people.models import Person
from training.people.queries import papers_written, stand_downs_now, workshop_keys
from training.people.refusal import Refusal
from training.records.actions import append, hold
from training.records.facts import Fact
from training.records.models import Record


def lock(person: Person) -> None:
    """Hold the head row, so that two who answer the same record at once come one after the other."""
    hold(person.group.chain_id)


def write(
    fact: Fact, person: Person, at: datetime, *, happened_at: datetime | None = None, signs_for_others: bool = False
) -> Record:
    """Write a fact about a person, and name all workshops where others may stand on that person's signature."""
    lock(person)
    refuse_repeat(fact, person, at)
    names = workshop_keys(person.group_id) if signs_for_others else []
    return append(fact, chain_id=person.group.chain_id, about=person.key, at=at, happened_at=happened_at, names=names)


def refuse_repeat(fact: Fact, person: Person, at: datetime) -> None:
    """A second tap writes nothing: the newest paper of this kind says the same, and stands."""
    alike = [paper for paper in papers_written(person) if isinstance(paper.fact, type(fact))]
    if not alike or alike[-1].fact != fact:
        return
    if isinstance(fact, facts.StoodDown) and alike[-1].number not in {
        one.number for one in stand_downs_now(person, at)
    }:
        return
    raise Refusal(_("This is on record already, as record %(number)d.") % {"number": alike[-1].number})
