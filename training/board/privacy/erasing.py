"""Erasing what records say of a person who has left, and in the end their name."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence
from datetime import datetime

from django.db import transaction

from training.board.privacy.deciding import confirmed_of
from training.board.privacy.retention import ANSWERS, Kept, counted, kept_of
from training.core.trade.calendar import local_day
from training.drill.facts import Answered
from training.drill.models import PersonBelief, Turn
from training.people.models import Person
from training.records.actions import Refused
from training.records.erasing import erase_bodies
from training.records.models import Record
from training.records.queries import facts_of


@transaction.atomic
def erase_person(*, person: Person, numbers: Collection[int], why: str, by: str, at: datetime) -> Record:
    """Erase these records of a person, and their name once nothing of them is left that says anything.

    Raises ``Refused`` where two managers have not decided it, or where one of them has to stay, with the reason.
    """
    person = Person.objects.select_for_update().select_related("group", "workshop").get(pk=person.pk)
    today = local_day(at, person.workshop.zone)
    kept = kept_of(person, today=today)
    going = [row for row in kept if row.number in set(numbers)]
    for row in going:
        if row.held:
            raise Refused(f"Record {row.number} ({row.kind}) has to stay: {row.held}.")
    if not set(numbers) <= {number for one in confirmed_of(person) for number in one.numbers}:
        raise Refused("Two managers have not confirmed yet that all of these go. Nothing was erased.")
    evidence = erase_bodies(
        chain_id=person.group.chain_id, numbers=numbers, about=person.key, counts=_counts(person, going), why=why,
        on=today, by=by, at=at,
    )  # fmt: skip
    _forget_working_state(person, going)
    if len(going) == len(kept):
        _blank(person)
    return evidence


def _counts(person: Person, going: Sequence[Kept]) -> list[tuple[str, int]]:
    """How many of each kind, of answers by outcome: all that stays of them."""
    numbers = {row.number for row in going}
    answers = facts_of([Answered], chain_id=person.group.chain_id, about=person.key)
    outcomes = Counter(row.fact.outcome for row in answers if row.number in numbers and row.fact)
    return [*counted(going), *sorted((f"{Answered.kind}: {outcome}", count) for outcome, count in outcomes.items())]


def _forget_working_state(person: Person, going: Sequence[Kept]) -> None:
    """Turns of erased answers say what was answered; what was folded from them goes as well and folds anew."""
    answers = [row.number for row in going if row.kind in ANSWERS]
    Turn.objects.filter(drill__person=person, record_number__in=answers).delete()
    person.clearances.all().delete()
    if answers:
        person.recall_states.all().delete()
        PersonBelief.objects.filter(person=person).delete()


def _blank(person: Person) -> None:
    """Key and tally stay, so that the number is not given again; nobody can sign in."""
    Turn.objects.filter(drill__person=person).delete()
    person.drills.all().delete()
    person.roles.all().delete()
    person.works_towards.all().delete()
    person.given_name, person.family_name, person.username = "Erased", "", f"erased-{person.key}"
    person.is_active, person.last_login, person.cautions_read_at = False, None, None
    person.set_unusable_password()
    person.save()
