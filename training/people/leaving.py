"""The last day of a person with the firm: a record; from the day after it they cannot sign in and take no job."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from training.core.trade.calendar import add_months, local_day
from training.people import checks, facts
from training.people.models import Person, RoleHeld
from training.people.queries import was_ever_mentor, workshop_keys
from training.people.refusal import Refusal
from training.people.writing import lock
from training.records.actions import append
from training.records.models import Erased, Record

AHEAD_MONTHS, BACK_MONTHS = 12, 24  # further away it is a slip of the pen


@transaction.atomic
def enter_leaving_day(*, person: Person, last_day: date | None, by: Person, at: datetime) -> Record:
    """A manager enters the last day of somebody, or corrects it; None: they stay.

    It ends what they are appointed for, and what others learned from their signature after that day does not count.
    """
    lock(person)
    person = Person.objects.select_for_update().select_related("group", "workshop").get(pk=person.pk)
    checks.entered_by_manager(person, by, may_have_left=True)
    today = local_day(at, person.workshop.zone)
    _refuse_day(person, last_day, today)
    if last_day is not None:
        _refuse_last_manager(person, last_day)
    person.last_day, person.is_active = last_day, last_day is None or last_day >= today
    person.save(update_fields=["last_day", "is_active"])
    fact = facts.LeavingDay(last_day=last_day, entered_on=today, by=by.key)
    names = workshop_keys(person.group_id) if was_ever_mentor(person) else []
    return append(fact, chain_id=person.group.chain_id, about=person.key, at=at, names=names)


def close_left(*, at: datetime) -> int:
    """Let nobody sign in whose last day is over where they work; returns how many that were."""
    over = [person for person in _perhaps_over(at) if is_over(person, at)]
    if over:
        Person.objects.filter(pk__in=[person.pk for person in over]).update(is_active=False)
    return len(over)


def is_over(person: Person, at: datetime) -> bool:
    """Whether the last day of a person is over where they work."""
    return person.last_day is not None and person.last_day < local_day(at, person.workshop.zone)


def _perhaps_over(at: datetime) -> list[Person]:
    """Those whose last day is over somewhere on earth."""
    latest = (at + timedelta(hours=14)).date()
    return list(Person.objects.filter(is_active=True, last_day__lt=latest).select_related("workshop"))


def _refuse_day(person: Person, last_day: date | None, today: date) -> None:
    if last_day == person.last_day:
        raise Refusal(_("This is on record already."), "last_day")
    if Erased.objects.filter(record__chain_id=person.group.chain_id, record__about=person.key).exists():
        raise Refusal(_("Records of this person are erased already. Enter somebody who comes back as a new person."))
    if last_day is None and not person.is_active and person.last_day is None:
        raise Refusal(_("This person left before leaving days were entered. Enter the day."), "last_day")
    if last_day is not None and not add_months(today, -BACK_MONTHS) <= last_day <= add_months(today, AHEAD_MONTHS):
        sentence = _("Give a day from %(back)d months ago to %(ahead)d months ahead.")
        raise Refusal(sentence % {"back": BACK_MONTHS, "ahead": AHEAD_MONTHS}, "last_day")


def _refuse_last_manager(person: Person, last_day: date) -> None:
    """After that day somebody has to be there who may enter things."""
    held = RoleHeld.objects.filter(role=RoleHeld.Role.MANAGER, person__group_id=person.group_id)
    if not held.filter(person=person).exists():
        return
    others = [one.person for one in held.exclude(person=person).filter(person__is_active=True).select_related("person")]
    if not any(other.last_day is None or other.last_day > last_day for other in others):
        raise Refusal(_("After that day there would be no manager. Make somebody else manager first."))
