"""What two people sign about a workshop with too few mentors: proposed, signed, put into force, withdrawn."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime

from django.db import transaction
from django.utils.translation import gettext as _

from training.core.permission.evidence import SmallShop
from training.core.permission.validity import appointed_through
from training.core.trade.calendar import local_day
from training.people import checks, facts
from training.people.models import Person, Workshop
from training.people.refusal import Refusal
from training.people.second_signers import may_sign_second
from training.people.small_shops import small_shops_of, starts_later
from training.records.actions import append, hold
from training.records.facts import Fact
from training.records.models import Record

AT_MOST_MONTHS = 12


@transaction.atomic
def propose(
    *,
    workshop: Workshop,
    tasks: Iterable[str] | None,
    from_day: date,
    through_day: date,
    reason: str,
    by: Person,
    at: datetime,
) -> Record:
    """A manager proposes the exception, for practical tasks that exist (None: all). It gives nothing until signed."""
    checks.manager_of(workshop.group_id, by)
    hold(workshop.group.chain_id)
    today = local_day(at, workshop.zone)
    checks.appointment_days(from_day, through_day, today=today, at_most_months=AT_MOST_MONTHS)
    fact = facts.SmallShopProposed(
        tasks=None if tasks is None else checks.named(tasks, "tasks"),
        from_day=from_day,
        through_day=through_day,
        entered_on=today,
        reason=checks.worded(reason),
        by=by.key,
    )
    _refuse_overlap(workshop, fact)
    return _write(workshop, fact, at)


@transaction.atomic
def sign(*, workshop: Workshop, record: int, by: Person, at: datetime) -> Record:
    """The second person signs a proposed exception: another manager, or the workshop's named second signer."""
    _signers_only(workshop, by)
    found = _lasting(workshop, record, at)
    if found.by == by.key:
        raise Refusal(_("You proposed it. A second person signs it."))
    if found.second_by:
        raise Refusal(_("It is signed by two people already."))
    return _write(workshop, facts.SmallShopSigned(record=record, signed_on=local_day(at, workshop.zone), by=by.key), at)


@transaction.atomic
def confirm(*, workshop: Workshop, record: int, by: Person, at: datetime) -> Record:
    """A manager puts an exception into force whose first day has come: the day alone gives nothing."""
    checks.manager_of(workshop.group_id, by)
    found, today = _lasting(workshop, record, at), local_day(at, workshop.zone)
    if not found.second_by:
        raise Refusal(_("A second person signs it first."))
    if today < found.from_day:
        raise Refusal(_("Its first day is %(day)s. Confirm it then.") % {"day": found.from_day.isoformat()})
    if found.confirmed_on is not None or not starts_later(found):
        raise Refusal(_("This is in force already."))
    return _write(workshop, facts.SmallShopConfirmed(record=record, confirmed_on=today, by=by.key), at)


def check_withdrawal(*, workshop: Workshop, record: int, from_day: date, reason: str, by: Person, at: datetime) -> None:
    """Refuse a withdrawal that may not be recorded; nothing is written."""
    _signers_only(workshop, by)
    checks.worded(reason)
    found, today = _found(workshop, record), local_day(at, workshop.zone)
    if found.withdrawn_from is not None and found.withdrawn_from <= from_day:
        sentence = _("It is void from %(day)s on already.")
        raise Refusal(sentence % {"day": found.withdrawn_from.isoformat()}, "from_day")
    first = min(found.from_day, today)
    if not first <= from_day <= today:
        sentence = _("Give a day from its first day, %(day)s, to today.")
        raise Refusal(sentence % {"day": first.isoformat()}, "from_day")


@transaction.atomic
def withdraw(*, workshop: Workshop, record: int, from_day: date, reason: str, by: Person, at: datetime) -> Record:
    """Make an exception void from a day on: today, or a day in the past from which it should not have been."""
    hold(workshop.group.chain_id)
    check_withdrawal(workshop=workshop, record=record, from_day=from_day, reason=reason, by=by, at=at)
    fact = facts.SmallShopWithdrawn(record=record, from_day=from_day, reason=checks.worded(reason), by=by.key)
    return _write(workshop, fact, at)


def _signers_only(workshop: Workshop, by: Person) -> None:
    if not may_sign_second(by, workshop):
        raise Refusal(_("Only a manager, or whom the workshop's opening names as second signer, may sign this."))


def _found(workshop: Workshop, record: int) -> SmallShop:
    """The exception of this record number."""
    found = small_shops_of(workshop).numbered(record)
    if found is None:
        raise Refusal(_("There is no such small-shop exception here."))
    return found


def _lasting(workshop: Workshop, record: int, at: datetime) -> SmallShop:
    """One that has neither ended nor been withdrawn."""
    hold(workshop.group.chain_id)
    found = _found(workshop, record)
    if found.withdrawn_from is not None or found.through_day < local_day(at, workshop.zone):
        raise Refusal(_("This small-shop exception is over."))
    return found


def _refuse_overlap(workshop: Workshop, fact: facts.SmallShopProposed) -> None:
    """Which of two exceptions counts for a task on a day must not be left open."""
    for one in small_shops_of(workshop).all:
        alike = one.tasks is None or fact.tasks is None or not one.tasks.isdisjoint(fact.tasks)
        last = appointed_through(one)
        if alike and one.from_day <= fact.through_day and fact.from_day <= last:
            sentence = _(
                "There is one for such a task already, through %(day)s, by record %(number)d. "
                "Begin after that day, or withdraw that one first."
            )
            raise Refusal(sentence % {"day": last.isoformat(), "number": one.record}, "from_day")


def _write(workshop: Workshop, fact: Fact, at: datetime) -> Record:
    """It is about the workshop: every clearance there is worked out anew."""
    return append(fact, chain_id=workshop.group.chain_id, about=workshop.key, at=at)
