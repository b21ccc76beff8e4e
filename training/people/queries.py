"""Reading people: their papers as evidence, their roles, who belongs to a workshop."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta

from django.db.models import QuerySet

from training.core.permission.evidence import (
    AgeEntry,
    Appointment,
    Instruction,
    MentorAppointment,
    OutsideCertificate,
    PersonEvidence,
    Release,
    StandDown,
)
from training.people.disputes import Dispute, counting, disputes_in, disputes_of
from training.people.facts import (
    AgeEntered,
    Appointed,
    CertificateSeen,
    CertificateVerified,
    Confirmed,
    Countersigned,
    Disputed,
    DisputeSettled,
    Instructed,
    LeavingDay,
    MentorAppointed,
    Released,
    RoleChanged,
    SecondSigned,
    StoodDown,
    Withdrawn,
)
from training.people.fresh import judged
from training.people.models import Person, RoleHeld, Workshop, WorkshopGroup
from training.records.facts import Fact
from training.records.models import Record
from training.records.queries import Written, facts_of, unknown_about

PAPERS: tuple[type[Fact], ...] = (
    Appointed,
    MentorAppointed,
    SecondSigned,
    Confirmed,
    StoodDown,
    Released,
    CertificateSeen,
    Instructed,
    AgeEntered,
    Withdrawn,
    CertificateVerified,
    RoleChanged,
    LeavingDay,
    Countersigned,
    Disputed,
    DisputeSettled,
)
Papers = Sequence[Written[Fact]]


def papers_of(person_keys: Iterable[str], *, chain_id: int, known_at: int | None = None) -> dict[str, PersonEvidence]:
    """What the papers prove of each of these people, as known at a record number; no observations.

    Records of these people that cannot be read, or whose kind nobody here knows, are named in ``unreadable``.
    """
    found = papers_with_disputes(person_keys, chain_id=chain_id, known_at=known_at)
    return {key: evidence for key, (evidence, _disputes) in found.items()}


def papers_with_disputes(
    person_keys: Iterable[str], *, chain_id: int, known_at: int | None = None
) -> dict[str, tuple[PersonEvidence, tuple[Dispute, ...]]]:
    """The same beside everything that each person disputed, for whoever reads records of theirs of other kinds."""
    keys = list(dict.fromkeys(person_keys))
    by_person = defaultdict(list)
    for paper in facts_of(PAPERS, chain_id=chain_id, about=keys, known_at=known_at):
        by_person[paper.about].append(paper)
    unknown = unknown_about(keys, chain_id=chain_id, known_at=known_at)
    disputes = {key: disputes_in(key, by_person[key]) for key in keys}
    return {key: (_evidence(key, by_person[key], disputes[key], unknown.get(key, ())), disputes[key]) for key in keys}


def papers_not_withdrawn(person: Person) -> PersonEvidence:
    """The papers of one person with what they dispute: left out is only what it was decided does not stand."""
    papers = papers_written(person)
    decided = [one for one in disputes_in(person.key, papers) if one.stands is not None]
    return _evidence(person.key, papers, decided, ())


def papers_written(person: Person) -> list[Written[Fact]]:
    """The papers of one person as they were written, oldest first."""
    return facts_of(PAPERS, chain_id=person.group.chain_id, about=person.key)


def stand_downs_now(person: Person, at: datetime) -> list[Written[Fact]]:
    """The stand-downs of a person that nothing has ended by ``at``, oldest first.

    What each release stands on is judged as ``decide`` judges it: where that falls, the stand-down is open again.
    """
    papers = papers_written(person)
    counted = _stand_downs(counting(papers, disputes_in(person.key, papers)))
    ended = {one.stand_down.record for one in judged(person, at) if not one.still_needed} if counted else set()
    open_now = {one.record for one in counted} - ended
    return [paper for paper in papers if paper.number in open_now]


def stand_downs_seen_by(viewer: Person, person: Person, at: datetime) -> list[Written[Fact]]:
    """The open stand-downs that this viewer may see: their own, those they entered, a manager all."""
    sees_all = viewer.pk == person.pk or is_manager(viewer)
    return [paper for paper in stand_downs_now(person, at) if sees_all or getattr(paper.fact, "by", "") == viewer.key]


def unconfirmed(person: Person) -> list[Written[Fact]]:
    """Appointments that were written for a later day and that nobody has put into force yet."""
    papers = papers_written(person)
    confirmed = _confirmations(person.key, papers)
    return [
        paper
        for paper in papers
        if isinstance(fact := paper.fact, Appointed | MentorAppointed)
        and fact.from_day > fact.entered_on
        and paper.number not in confirmed
    ]


def papers_lasting(person: Person, today: date) -> list[Written[Fact]]:
    """Appointments and certificates that have not ended and that nobody has withdrawn, oldest first."""
    papers = papers_written(person)
    withdrawn = _withdrawals(papers)
    return [
        paper
        for paper in papers
        if isinstance(fact := paper.fact, Appointed | MentorAppointed | CertificateSeen)
        and paper.number not in withdrawn
        and (fact.through_day is None or fact.through_day >= today)
    ]


def disputes_about(person: Person) -> tuple[Dispute, ...]:
    """Everything that a person disputed, oldest first, with how it was settled."""
    return disputes_in(person.key, papers_written(person))


def open_disputes_of_group(group: WorkshopGroup) -> list[tuple[Person, Dispute]]:
    """What waits to be settled in a group, oldest first, and whose it is."""
    people = {person.key: person for person in people_of_group(group.pk)}
    found = disputes_of(people, chain_id=group.chain_id)
    waiting = [(people[key], one) for key, disputes in found.items() for one in disputes if one.stands is None]
    return sorted(waiting, key=lambda pair: pair[1].number)


def countersigned_by(person: Person) -> frozenset[int]:
    """The records about a person that they countersigned."""
    papers = papers_written(person)
    return frozenset(
        paper.fact.record for paper in papers if isinstance(paper.fact, Countersigned) and paper.fact.by == person.key
    )


def was_ever_mentor(person: Person) -> bool:
    """Whether anything may stand on this person's signature: appointed as mentor, or a course that names tasks."""
    kinds = [MentorAppointed.kind, CertificateSeen.kind]
    return Record.objects.filter(chain_id=person.group.chain_id, about=person.key, kind__in=kinds).exists()


def roles_of(person: Person) -> frozenset[str]:
    """The roles a person holds: manager, author, checker, auditor."""
    return frozenset(RoleHeld.objects.filter(person=person).values_list("role", flat=True))


def is_manager(person: Person) -> bool:
    """Whether the person, still with the firm, is a manager of their group."""
    return person.is_active and RoleHeld.Role.MANAGER in roles_of(person)


def people_of(workshop: Workshop) -> QuerySet[Person]:
    """Everybody still at a workshop, by tally."""
    return Person.objects.filter(workshop=workshop, is_active=True).order_by("tally")


def people_of_group(group_id: int) -> QuerySet[Person]:
    """Everybody still with a workshop group, by workshop and tally."""
    people = Person.objects.filter(group_id=group_id, is_active=True).select_related("workshop")
    return people.order_by("workshop__name", "tally")


def workshop_keys(group_id: int) -> list[str]:
    """The keys of all workshops of a group."""
    return list(Workshop.objects.filter(group_id=group_id).values_list("key", flat=True))


def _evidence(key: str, papers: Papers, disputes: Sequence[Dispute], unknown: tuple[int, ...]) -> PersonEvidence:
    unreadable = {paper.number for paper in papers if paper.fact is None} | set(unknown)
    papers = counting(papers, disputes)
    confirmed, withdrawn = _confirmations(key, papers), _void_from(papers)
    return PersonEvidence(
        person=key,
        appointments=_appointments(papers, confirmed, withdrawn),
        mentor_appointments=_mentor_appointments(papers, confirmed, withdrawn),
        certificates=_certificates(key, papers, withdrawn),
        instructions=_instructions(papers),
        stand_downs=_stand_downs(papers),
        ages=_ages(papers),
        unreadable=tuple(sorted(unreadable)),
    )


def _confirmations(key: str, papers: Papers) -> dict[int, date]:
    """The first confirmation of each record; one's own word confirms nothing."""
    found: dict[int, date] = {}
    for paper in papers:
        if isinstance(paper.fact, Confirmed) and paper.fact.by != key and paper.fact.record < paper.number:
            found.setdefault(paper.fact.record, paper.fact.confirmed_on)
    return found


def _withdrawals(papers: Papers) -> dict[int, date]:
    """From which day each record is void; of several the earliest."""
    found: dict[int, date] = {}
    for paper in papers:
        if isinstance(fact := paper.fact, Withdrawn):
            found[fact.record] = min(fact.from_day, found.get(fact.record, fact.from_day))
    return found


def _void_from(papers: Papers) -> dict[int, date]:
    """The same, and nothing of somebody who leaves outlasts their last day."""
    found, last_day = _withdrawals(papers), last_day_in(papers)
    if last_day is None:
        return found
    after = last_day + timedelta(days=1)
    return {paper.number: min(after, found.get(paper.number, after)) for paper in papers}


def last_day_in(papers: Papers) -> date | None:
    """The last day with the firm, as the newest record of it says; None while none is entered, or it was taken back."""
    days = [paper.fact.last_day for paper in papers if isinstance(paper.fact, LeavingDay)]
    return days[-1] if days else None


def _verifications(key: str, papers: Papers) -> dict[int, tuple[date, ...]]:
    """On which days each certificate's issuer confirmed it; one's own word confirms nothing."""
    found: dict[int, tuple[date, ...]] = {}
    for paper in papers:
        if isinstance(fact := paper.fact, CertificateVerified) and fact.by != key and fact.record < paper.number:
            found[fact.record] = (*found.get(fact.record, ()), fact.verified_on)
    return found


def _appointments(papers: Papers, confirmed: dict[int, date], withdrawn: dict[int, date]) -> tuple[Appointment, ...]:
    return tuple(
        Appointment(
            record=paper.number,
            job_types=frozenset(fact.job_types),
            workshop=fact.workshop,
            from_day=fact.from_day,
            through_day=fact.through_day,
            entered_on=fact.entered_on,
            by=fact.by,
            confirmed_on=confirmed.get(paper.number),
            withdrawn_from=withdrawn.get(paper.number),
            vehicle_families=tuple(fact.vehicle_families),
            may_not=tuple(fact.may_not),
        )
        for paper in papers
        if isinstance(fact := paper.fact, Appointed)
    )


def _mentor_appointments(
    papers: Papers, confirmed: dict[int, date], withdrawn: dict[int, date]
) -> tuple[MentorAppointment, ...]:
    second = _second_signatures(papers)
    return tuple(
        MentorAppointment(
            record=paper.number,
            tasks=frozenset(fact.tasks),
            workshop=fact.workshop,
            from_day=fact.from_day,
            through_day=fact.through_day,
            entered_on=fact.entered_on,
            by=fact.by,
            confirmed_on=confirmed.get(paper.number),
            withdrawn_from=withdrawn.get(paper.number),
            outside=fact.outside,
            second_by=second[paper.number].by if paper.number in second else "",
            second_on=second[paper.number].signed_on if paper.number in second else None,
        )
        for paper in papers
        if isinstance(fact := paper.fact, MentorAppointed)
    )


def _second_signatures(papers: Papers) -> dict[int, SecondSigned]:
    """The first second signature under each appointment as mentor, by neither the mentor nor whoever wrote it."""
    written: dict[int, frozenset[str]] = {}
    found: dict[int, SecondSigned] = {}
    for paper in papers:
        if isinstance(fact := paper.fact, MentorAppointed):
            written[paper.number] = frozenset({"", fact.by, paper.about})
        if isinstance(fact, SecondSigned) and fact.by not in written.get(fact.record, {fact.by}):
            found.setdefault(fact.record, fact)
    return found


def _certificates(key: str, papers: Papers, withdrawn: dict[int, date]) -> tuple[OutsideCertificate, ...]:
    verified = _verifications(key, papers)
    return tuple(
        OutsideCertificate(
            record=paper.number,
            kind=fact.certificate,
            issued_on=fact.issued_on,
            through_day=fact.through_day,
            tasks=frozenset(fact.tasks),
            entered_on=fact.entered_on,
            verified_on=verified.get(paper.number, ()),
            withdrawn_from=withdrawn.get(paper.number),
        )
        for paper in papers
        if isinstance(fact := paper.fact, CertificateSeen)
    )


def _instructions(papers: Papers) -> tuple[Instruction, ...]:
    return tuple(
        Instruction(record=paper.number, given_on=fact.given_on, workshop=fact.workshop)
        for paper in papers
        if isinstance(fact := paper.fact, Instructed)
    )


def _ages(papers: Papers) -> tuple[AgeEntry, ...]:
    return tuple(
        AgeEntry(record=paper.number, entered_on=fact.entered_on, under_18=fact.under_18)
        for paper in papers
        if isinstance(fact := paper.fact, AgeEntered)
    )


def _stand_downs(papers: Papers) -> tuple[StandDown, ...]:
    """Each stand-down with the releases that name it."""
    releases = defaultdict(list)
    for paper in papers:
        if isinstance(fact := paper.fact, Released) and fact.record < paper.number:
            one = Release(record=paper.number, happened_at=paper.happened_at, by=fact.by, evidence=tuple(fact.evidence))
            releases[fact.record].append(one)
    return tuple(
        StandDown(
            record=paper.number,
            happened_at=paper.happened_at,
            job_types=None if fact.job_types is None else frozenset(fact.job_types),
            incident=fact.incident,
            medical=fact.medical,
            job_given_by=fact.job_given_by,
            releases=tuple(releases[paper.number]),
        )
        for paper in papers
        if isinstance(fact := paper.fact, StoodDown)
    )
