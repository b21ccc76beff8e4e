"""Who there is, one person's papers for a manager, and one's own records."""

from __future__ import annotations

from datetime import datetime

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from training.core.trade.calendar import add_months, local_day
from training.people import queries, small_shops
from training.people.disputes import Dispute, stance_of
from training.people.facts import Appointed, MentorAppointed
from training.people.lapsing import issuer_checks, lapsing_in, with_issuer_checks
from training.people.mentors import may_sign, mentorings_of, waiting_for
from training.people.models import Person, Workshop
from training.people.offers import JOB_TYPES, TASKS, Offer, offered
from training.people.own_records import newest_of
from training.people.releasing import needs_of
from training.people.sentences import Line, day, lines_for, names_of
from training.people.views.finding import colleague, managers_only
from training.records.queries import numbered
from training.web.requests import AuthenticatedRequest

LINES_A_PAGE = 50


@require_safe
def everyone(request: AuthenticatedRequest) -> HttpResponse:
    """Everybody of the group: whom to stand down, and for a manager whose papers to open."""
    people, manages = queries.people_of_group(request.user.group_id), queries.is_manager(request.user)
    mentorings = mentorings_of(people, at=timezone.now())
    disputes = queries.open_disputes_of_group(request.user.group) if manages else []
    context = {
        "people": people,
        "manages": manages,
        "mentors": {one.person.pk for one in mentorings},
        "from_outside": {one.person.pk for one in mentorings if one.outside},
        "to_sign": waiting_for(request.user, mentorings),
        "small_shops": small_shops.waiting_for(request.user, at=timezone.now()),
        "disputes": [(person, one, _answered_by(person, one)) for person, one in disputes],
        "lapses": lapsing_in(request.user.group, timezone.now()) if manages else [],
    }
    return render(request, "people/everyone.html", context)


@require_safe
@managers_only
def person(request: AuthenticatedRequest, person_id: int) -> HttpResponse:
    """A manager's page of one person: open stand-downs, what waits to be confirmed, all papers."""
    found = colleague(request, person_id)
    papers, now = queries.papers_written(found), timezone.now()
    mentorings = mentorings_of([found], at=now)
    today = local_day(now, found.workshop.zone)
    context = {
        "person": found,
        "own": found.pk == request.user.pk,
        "stand_downs": _stood_down(request, found, now),
        "lasting": with_issuer_checks(
            lines_for(request.user, found, queries.papers_lasting(found, today)), issuer_checks(found, today)
        ),
        "unconfirmed": lines_for(request.user, found, queries.unconfirmed(found)),
        "mentorings": [(one, may_sign(request.user, one)) for one in mentorings],
        "from_outside": any(one.outside for one in mentorings),
        "papers": lines_for(request.user, found, reversed(papers)),
    }
    return render(request, "people/person.html", context)


@require_safe
def appointment(request: AuthenticatedRequest, person_id: int, record: int) -> HttpResponse:
    """The written form of an appointment, to print and sign: for managers and for the person."""
    found = colleague(request, person_id)
    if found.pk != request.user.pk and not queries.is_manager(request.user):
        raise PermissionDenied
    paper = next((one for one in queries.papers_written(found) if one.number == record), None)
    if paper is None or not isinstance(fact := paper.fact, Appointed | MentorAppointed):
        raise Http404
    names = names_of(found.group_id)
    evidence = queries.papers_of([found.key], chain_id=found.group.chain_id)[found.key]
    void = {one.record: one.withdrawn_from for one in evidence.appointments}
    void |= {one.record: one.withdrawn_from for one in evidence.mentor_appointments}
    disputes = [one for one in queries.disputes_about(found) if one.of_record == record]
    second = [one.second_by for one in evidence.mentor_appointments if one.record == record and one.second_by]
    context = {
        "person": found,
        "paper": paper,
        "fact": fact,
        "where": names.get(fact.workshop, "?"),
        "by": names.get(fact.by, "?"),
        "second": "".join(names.get(key, "?") for key in second),
        "void_from": void.get(record),
        "disputed": any(one.stands is None for one in disputes),
        "fallen": any(one.stands is False for one in disputes),
        "regime": Workshop.objects.get(key=fact.workshop, group_id=found.group_id).regime,
        "what": _offers(found, fact),
    }
    return render(request, "people/appointment.html", context)


def _stood_down(request: AuthenticatedRequest, person: Person, now: datetime) -> list[tuple[Line, list[str]]]:
    """The open stand-downs of a person, each with what it still needs."""
    needs = needs_of(person, now)
    lines = lines_for(request.user, person, numbered(needs, chain_id=person.group.chain_id))
    return [(line, needs[line.number]) for line in lines]


def _offers(person: Person, fact: Appointed | MentorAppointed) -> list[Offer]:
    """What is named, by its title; by its key where nobody knows it any more."""
    known = {one.key: one for one in offered(JOB_TYPES if isinstance(fact, Appointed) else TASKS, person.workshop)}
    return [known.get(key, Offer(key=key, title=key)) for key in _named_in(fact)]


def _named_in(fact: Appointed | MentorAppointed) -> list[str]:
    return fact.job_types if isinstance(fact, Appointed) else fact.tasks


def _answered_by(person: Person, dispute: Dispute) -> str:
    """The day by which a dispute is answered: within one month (GDPR, Art. 12(3))."""
    return day(add_months(local_day(dispute.happened_at, person.workshop.zone), 1))


@require_safe
def mine(request: AuthenticatedRequest) -> HttpResponse:
    """One's own records in plain words, newest first, a page at a time."""
    before = request.GET.get("before", "")
    found = newest_of(
        request.user,
        most=LINES_A_PAGE + 1,
        before=int(before[:18]) if before.isascii() and before.isdigit() else None,
    )
    shown, now = found[:LINES_A_PAGE], timezone.now()
    checks = issuer_checks(request.user, local_day(now, request.user.workshop.zone))
    disputes, countersigned = queries.disputes_about(request.user), queries.countersigned_by(request.user)
    of_records = {one.of_record for one in disputes}
    stances = {one.number: stance for one in shown if (stance := stance_of(one.fact)) and one.number not in of_records}
    context = {
        "stand_downs": [] if before else _stood_down(request, request.user, now),
        "disputes": [(one, _answered_by(request.user, one)) for one in disputes if one.stands is None],
        "disputable": set(stances),
        "countersignable": {number for number, one in stances.items() if one.countersigned} - countersigned,
        "lines": with_issuer_checks(lines_for(request.user, request.user, shown), checks),
        "older": shown[-1].number if len(found) > LINES_A_PAGE else None,
    }
    return render(request, "people/mine.html", context)
