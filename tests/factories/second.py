"""The second signature under a mentor's appointment, by a manager who is no longer there to be counted."""

from __future__ import annotations

from datetime import datetime

from tests.factories.people import ManagerFactory
from training.people.mentoring import sign_second
from training.people.models import Person
from training.records.models import Record


def signed_second(person: Person, appointment: Record, *, at: datetime) -> Record:
    """Sign an appointment as mentor second; the signer leaves afterwards."""
    signer = ManagerFactory(workshop=person.workshop)
    signed = sign_second(person=person, record=appointment.number, by=signer, at=at)
    signer.is_active = False
    signer.save(update_fields=["is_active"])
    return signed
