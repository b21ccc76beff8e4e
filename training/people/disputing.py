"""What a person says to a record about them, and how a manager settles it; each action writes one record."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from training.people import checks, facts
from training.people.disputes import Dispute, Stance, is_incident, stance_of, whose
from training.people.models import Person
from training.people.queries import countersigned_by, disputes_about, was_ever_mentor, workshop_keys
from training.people.refusal import Refusal
from training.people.writing import lock
from training.records.actions import append
from training.records.facts import Fact
from training.records.models import Record
from training.records.queries import Written, numbered


@transaction.atomic
def countersign(*, person: Person, record: int, at: datetime) -> Record:
    """The person agrees with a signed observation about them; a second tap is refused and writes nothing."""
    lock(person)
    _paper, stance = _own(person, record)
    if not stance.countersigned:
        raise Refusal(_("This record needs no countersignature."))
    if record in countersigned_by(person):
        raise Refusal(_("You countersigned this record already."))
    if any(one.of_record == record and one.stands is None for one in disputes_about(person)):
        raise Refusal(_("You disputed this record. A manager settles that first."))
    return _write(facts.Countersigned(record=record, by=person.key), person, at)


@transaction.atomic
def dispute(*, person: Person, record: int, what: str, at: datetime) -> Record:
    """The person says in a short sentence what is wrong with a record about them; once each record.

    What speaks for them counts no more from now on, until it is settled; what speaks against them still does.
    """
    lock(person)
    (paper, _stance), what = _own(person, record), checks.worded(what, "what")
    if any(one.of_record == record for one in disputes_about(person)):
        raise Refusal(_("You disputed this record already. The answer to that is among your records."))
    written_by = getattr(paper.fact, "by", "")
    return _write(facts.Disputed(record=record, what=what, written_by=written_by, by=person.key), person, at)


@transaction.atomic
def settle(*, person: Person, record: int, stands: bool, reason: str, by: Person, at: datetime) -> Record:
    """A manager who did not write the disputed record says why it stands or is withdrawn. ``record``: the dispute."""
    checks.entered_by_manager(person, by)
    lock(person)
    found = _open_dispute(person, record)
    if by.key == found.written_by:
        raise Refusal(_("You wrote the disputed record. Another manager has to settle this."))
    if not stands and is_incident(numbered([found.of_record], chain_id=person.group.chain_id)[0].fact):
        raise Refusal(_("A stand-down after an incident ends only by the releases of two people."), "stands")
    fact = facts.DisputeSettled(record=record, stands=stands, reason=checks.worded(reason), by=by.key)
    return _write(fact, person, at)


def _own(person: Person, record: int) -> tuple[Written[Fact], Stance]:
    """The record, which is about this person and of a kind that may be disputed."""
    for paper in numbered([record], chain_id=person.group.chain_id):
        stance = stance_of(paper.fact)
        if stance is not None and whose(paper) == person.key:
            return paper, stance
    raise Refusal(_("There is no such record about you that can be disputed or countersigned."))


def _open_dispute(person: Person, record: int) -> Dispute:
    for one in disputes_about(person):
        if one.number == record and one.stands is None:
            return one
    raise Refusal(_("There is no such open dispute of %(name)s.") % {"name": person.full_name})


def _write(fact: Fact, person: Person, at: datetime) -> Record:
    """Whoever's clearance may stand on this person's signature is named too."""
    names = workshop_keys(person.group_id) if was_ever_mentor(person) else []
    return append(fact, chain_id=person.group.chain_id, about=person.key, at=at, names=names)
