"""What two people sign about a mentor: the second signature under an appointment."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from training.core.permission.evidence import MentorAppointment
from training.core.permission.validity import appointed_through
from training.core.trade.calendar import local_day
from training.people import checks, facts
from training.people.models import Person, Workshop
from training.people.queries import papers_of
from training.people.refusal import Refusal
from training.people.second_signers import may_sign_second
from training.people.writing import lock, write
from training.records.models import Record


@transaction.atomic
def sign_second(*, person: Person, record: int, by: Person, at: datetime) -> Record:
    """Sign an appointment as mentor as the second person: neither the mentor nor whoever wrote it.

    Where an outside certificate stands in for the mentor's own sign-off, the appointment counts only with it.
    """
    checks.same_group(person, by)
    lock(person)
    found = appointment_as_mentor(person, record)
    workshop = Workshop.objects.select_related("group").get(key=found.workshop, group_id=person.group_id)
    today = local_day(at, workshop.zone)
    _refuse_signer(found, person, by, workshop)
    if found.second_by:
        raise Refusal(_("This appointment is signed by two people already."))
    if not person.is_active or appointed_through(found) < today:
        raise Refusal(_("This appointment is over. It needs no second signature."))
    fact = facts.SecondSigned(record=record, signed_on=today, by=by.key)
    return write(fact, person, at, signs_for_others=True)


def appointment_as_mentor(person: Person, record: int) -> MentorAppointment:
    """The appointment as mentor that a record number names, with all that was added to it."""
    papers = papers_of([person.key], chain_id=person.group.chain_id)[person.key]
    for found in papers.mentor_appointments:
        if found.record == record:
            return found
    raise Refusal(_("There is no such appointment of %(name)s.") % {"name": person.full_name})


def _refuse_signer(found: MentorAppointment, person: Person, by: Person, workshop: Workshop) -> None:
    if by.pk == person.pk:
        raise Refusal(_("You may not sign your own appointment. Ask another manager."))
    if by.key == found.by:
        raise Refusal(_("You wrote this appointment. A second person signs it."))
    if not may_sign_second(by, workshop):
        raise Refusal(_("Only another manager, or whom the workshop's opening names as second signer, may sign this."))
