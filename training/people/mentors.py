"""Who is appointed as mentor in a group, from here or from outside, and what each appointment still lacks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.utils.translation import gettext as _

from training.core.permission.authority import OUTSIDE_MONTHS
from training.core.permission.evidence import MentorAppointment, OutsideCertificate, PersonEvidence
from training.core.permission.validity import appointed_through, certificate_in_force
from training.core.trade.calendar import add_months, local_day
from training.people.facts import MentorAppointed
from training.people.models import Person, Workshop
from training.people.offers import FIRST_MENTORS, offered
from training.people.queries import papers_of
from training.people.second_signers import may_sign_second
from training.records.models import Record


@dataclass(frozen=True, slots=True, kw_only=True)
class Mentoring:
    """One appointment as mentor that has not ended. ``lacks`` says in sentences what it does not yet count without.

    ``waits`` for a second signature: without it, what only an outside certificate carries does not count.
    """

    person: Person
    appointment: MentorAppointment
    workshop: Workshop
    lacks: tuple[str, ...]
    waits: bool

    @property
    def outside(self) -> bool:
        """Whether the mentor works elsewhere."""
        return self.appointment.outside


def mentorings_of(people: Iterable[Person], *, at: datetime) -> list[Mentoring]:
    """The appointments as mentor of these people of one group that have not ended, in the order of the people."""
    team = _ever_mentors(people)
    if not team:
        return []
    workshops = {one.key: one for one in Workshop.objects.filter(group_id=team[0].group_id).select_related("group")}
    papers = papers_of([one.key for one in team], chain_id=team[0].group.chain_id)
    return [
        _mentoring(person, papers[person.key], one, workshops[one.workshop], at)
        for person in team
        for one in papers[person.key].mentor_appointments
        if one.workshop in workshops and appointed_through(one) >= local_day(at, workshops[one.workshop].zone)
    ]


def _ever_mentors(people: Iterable[Person]) -> list[Person]:
    """Those whose papers are worth reading: a record appoints them as mentor, whatever became of it."""
    known = {person.key: person for person in people}
    written = Record.objects.filter(about__in=known, kind=MentorAppointed.kind)
    keys = set(written.values_list("about", flat=True))
    return [person for key, person in known.items() if key in keys]


def waiting_for(signer: Person, found: Iterable[Mentoring]) -> list[Mentoring]:
    """Those of these appointments that wait for a second signature which this person may give."""
    return [one for one in found if one.waits and may_sign(signer, one)]


def may_sign(signer: Person, one: Mentoring) -> bool:
    """Whether this person may put the second signature under an appointment that has none."""
    parts = (one.person.key, one.appointment.by)
    return not one.appointment.second_by and signer.key not in parts and may_sign_second(signer, one.workshop)


def _mentoring(
    person: Person, papers: PersonEvidence, one: MentorAppointment, workshop: Workshop, at: datetime
) -> Mentoring:
    today = local_day(at, workshop.zone)
    certified = {task for task in one.tasks if certificates_for(papers, task, today)}
    carried = one.outside or (bool(certified) and _in_first_months(workshop, today))
    lacks = []
    if one.outside and one.tasks - certified:
        sentence = _("An outside certificate that names %(tasks)s, not older than %(months)d months.")
        lacks.append(sentence % {"tasks": ", ".join(sorted(one.tasks - certified)), "months": OUTSIDE_MONTHS})
    waits = carried and not one.second_by
    if waits:
        lacks.append(_("The second signature: another manager's, or the workshop's second signer's."))
    return Mentoring(person=person, appointment=one, workshop=workshop, lacks=tuple(lacks), waits=waits)


def certificates_for(papers: PersonEvidence, task: str, day: date) -> list[OutsideCertificate]:
    """The outside certificates that name a task, are in force on a day and not too old to carry a mentor."""
    return [one for one in papers.certificates if task in one.tasks and certificate_in_force(one, OUTSIDE_MONTHS, day)]


def _in_first_months(workshop: Workshop, today: date) -> bool:
    months = [offer.at_most_months for offer in offered(FIRST_MENTORS, workshop)]
    return any(workshop.opened_on <= today <= add_months(workshop.opened_on, most) for most in months)
