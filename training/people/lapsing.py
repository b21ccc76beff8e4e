"""What lapses soon of people's papers, and by which day the issuer of a certificate has to be asked again."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from django.utils.translation import gettext as _

from training.core.permission.evidence import OutsideCertificate, PersonEvidence
from training.core.permission.validity import appointed_through, certificate_through, verified_through
from training.core.trade.calendar import local_day
from training.people.checks import CERTIFICATE_AT_MOST_MONTHS
from training.people.models import Person, Workshop, WorkshopGroup
from training.people.offers import CERTIFICATES, offered
from training.people.queries import papers_of, people_of_group
from training.people.sentences import Line, day

SOON = timedelta(days=14)
Months = Mapping[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class IssuerCheck:
    """By which day the issuer of the certificate that ``record`` names has to be asked again."""

    record: int
    by: date
    said: str
    warns: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Lapse:
    """Something of a person that ends or is due soon; ``last`` is the last day on which it still counts."""

    person: Person
    last: date
    said: str


def months_to_verify(workshop: Workshop) -> dict[str, int]:
    """How often the rule book of a workshop wants the issuer of each kind of certificate asked."""
    offers = offered(CERTIFICATES, workshop)
    return {one.key: one.verify_months for one in offers if one.verify_months is not None}


def issuer_checks(person: Person, today: date) -> dict[int, IssuerCheck]:
    """Per certificate of a person that lasts and has to be checked with its issuer: by which day, by record number."""
    months = months_to_verify(person.workshop)
    evidence = papers_of([person.key], chain_id=person.group.chain_id)[person.key]
    return {one.record: _check(one, months[one.kind], today) for one in _to_check(evidence, months, today)}


def with_issuer_checks(lines: Iterable[Line], checks: Mapping[int, IssuerCheck]) -> list[Line]:
    """Lines about a person, those of certificates with the day by which their issuer has to be asked again."""
    return [
        replace(line, due=check.said, due_warns=check.warns) if (check := checks.get(line.number)) else line
        for line in lines
    ]


def lapsing_in(group: WorkshopGroup, at: datetime) -> list[Lapse]:
    """What of anybody in a group lapses within a fortnight, soonest first; what has a longer one beside it does not."""
    people = list(people_of_group(group.pk))
    papers = papers_of([person.key for person in people], chain_id=group.chain_id)
    months = {workshop: months_to_verify(workshop) for workshop in {person.workshop for person in people}}
    found = [
        lapse
        for person in people
        for lapse in _of(person, papers[person.key], months[person.workshop], local_day(at, person.workshop.zone))
    ]
    return sorted(found, key=lambda lapse: (lapse.last, lapse.person.tally, lapse.said))


def _of(person: Person, evidence: PersonEvidence, months: Months, today: date) -> Iterator[Lapse]:
    for what, last in _longest(_ends(evidence)).items():
        if today <= last <= today + SOON:
            yield Lapse(person=person, last=last, said=_("%(what)s ends %(day)s.") % {"what": what, "day": day(last)})
    checks = [(one.kind, _check(one, months[one.kind], today)) for one in _to_check(evidence, months, today)]
    latest = _longest((kind, check.by) for kind, check in checks)
    for kind, check in checks:
        if check.warns and check.by == latest[kind]:
            yield Lapse(person=person, last=check.by, said=f"{kind}: {check.said}")


def _ends(evidence: PersonEvidence) -> Iterator[tuple[str, date]]:
    for appointment in evidence.appointments:
        for job_type in appointment.job_types:
            yield _("Appointment for %(what)s") % {"what": job_type}, appointed_through(appointment)
    for mentoring in evidence.mentor_appointments:
        for task in mentoring.tasks:
            yield _("Appointment as mentor for %(what)s") % {"what": task}, appointed_through(mentoring)
    for certificate in evidence.certificates:
        if certificate.through_day is not None:
            yield certificate.kind, certificate_through(certificate, CERTIFICATE_AT_MOST_MONTHS)


def _longest(ends: Iterable[tuple[str, date]]) -> dict[str, date]:
    found: dict[str, date] = {}
    for what, last in ends:
        found[what] = max(last, found.get(what, last))
    return found


def _to_check(evidence: PersonEvidence, months: Months, today: date) -> list[OutsideCertificate]:
    """The certificates that last longer than the day by which their issuer has to be asked."""
    return [
        one
        for one in evidence.certificates
        if one.kind in months
        and today <= (last := certificate_through(one, CERTIFICATE_AT_MOST_MONTHS))
        and verified_through(one, months[one.kind], today) < last
    ]


def _check(certificate: OutsideCertificate, months: int, today: date) -> IssuerCheck:
    by = verified_through(certificate, months, today)
    if by < today:
        said = _("Its issuer was to be asked by %(day)s. It counts for no job type until the issuer has confirmed it.")
    else:
        said = _(
            "Ask its issuer by %(day)s; after that day it counts for no job type until the issuer has confirmed it."
        )
    return IssuerCheck(record=certificate.record, by=by, said=said % {"day": day(by)}, warns=by <= today + SOON)
