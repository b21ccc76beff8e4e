"""Somebody new, entered by a manager one at a time; a roster file enters many at once."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from training.core.trade.calendar import local_day
from training.people import checks, facts
from training.people.models import Person, Workshop, WorksTowards
from training.people.refusal import Refusal
from training.people.roster import HIGHEST_TALLY
from training.records.actions import append, hold


@transaction.atomic
def enter_person(
    *,
    workshop: Workshop,
    username: str,
    given_name: str,
    family_name: str,
    tally: int,
    contract: str,
    under_18: bool,
    works_towards: Sequence[str],
    by: Person,
    at: datetime,
) -> Person:
    """Add a person without any role; nobody can sign in as them before a password is set."""
    hold(workshop.group.chain_id)
    checks.manager_of(workshop.group_id, by)
    _refuse_taken(workshop, username, tally)
    person = Person.objects.create_person(
        username=username,
        password=None,
        group=workshop.group,
        workshop=workshop,
        given_name=checks.worded(given_name, "given_name"),
        family_name=checks.worded(family_name, "family_name"),
        tally=tally,
        contract=contract,
    )
    WorksTowards.objects.bulk_create(WorksTowards(person=person, job_type=key) for key in works_towards)
    fact = facts.AgeEntered(under_18=under_18, entered_on=local_day(at, workshop.zone), by=by.key)
    append(fact, chain_id=workshop.group.chain_id, about=person.key, at=at)
    return person


def next_tally(group_id: int) -> int:
    """The next number that nobody of the group has, or ever had."""
    highest = Person.objects.filter(group_id=group_id).aggregate(highest=Max("tally"))["highest"] or 0
    return min(int(highest) + 1, HIGHEST_TALLY)


def _refuse_taken(workshop: Workshop, username: str, tally: int) -> None:
    if Person.objects.filter(username__iexact=username).exists():
        raise Refusal(_("This name to sign in with is taken. Choose another."), "username")
    if Person.objects.filter(group_id=workshop.group_id, tally=tally).exists():
        raise Refusal(_("This tally number is taken. Choose another."), "tally")
