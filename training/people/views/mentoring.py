"""The second signature under a mentor's appointment: what is signed, what it rests on, and the signature."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from training.people import mentoring
from training.people.facts import CertificateSeen, MentorAppointed
from training.people.mentors import Mentoring, may_sign, mentorings_of
from training.people.models import Person
from training.people.own_password import is_own_password
from training.people.queries import is_manager, papers_written
from training.people.refusal import Refusal
from training.people.second_signers import signs_second
from training.people.sentences import lines_for
from training.people.views.entering import done
from training.people.views.finding import colleague
from training.records.actions import Refused
from training.records.facts import Fact
from training.records.queries import Written
from training.web.errors import BadPost
from training.web.requests import AuthenticatedRequest


@require_http_methods(["GET", "HEAD", "POST"])
def sign_second(request: AuthenticatedRequest, person_id: int, record: int) -> HttpResponse:
    """Show an appointment as mentor with the certificates that it may rest on; POST with the password signs it."""
    if not signs_second(request.user):
        raise PermissionDenied(_("Only a manager, or a workshop's second signer, may open this page."))
    person = colleague(request, person_id)
    if request.method == "POST" and _signed(request, person, record):
        return done(request, person, _("Signed."))
    found = _mentoring(person, record)
    papers = papers_written(person)
    appointed = [one for one in papers if one.number == record]
    certificates = [one for one in papers if isinstance(one.fact, CertificateSeen) and one.fact.tasks]
    context = {
        "person": person,
        "mentoring": found,
        # whoever signs reads the reason, also without being a manager, who alone may open the written form
        "lines": [
            replace(line, reason=_reason(appointed), of=person.pk if is_manager(request.user) else 0)
            for line in lines_for(request.user, person, appointed)
        ],
        "from_outside": found.outside,
        "certificates": lines_for(request.user, person, certificates),
        "may_sign": may_sign(request.user, found),
        "wrong_password": request.method == "POST",
    }
    return render(request, "people/second_signature.html", context, status=400 if request.method == "POST" else 200)


def _signed(request: AuthenticatedRequest, person: Person, record: int) -> bool:
    """Whether the password was right and the signature is on record; any other refusal is a page of its own."""
    now = timezone.now()
    try:
        if not is_own_password(request.user, request.POST.get("password", ""), at=now):
            return False
        mentoring.sign_second(person=person, record=record, by=request.user, at=now)
    except (Refusal, Refused) as refusal:
        raise BadPost(str(refusal)) from refusal
    return True


def _reason(appointed: Sequence[Written[Fact]]) -> str:
    return "".join(one.fact.reason for one in appointed if isinstance(one.fact, MentorAppointed))


def _mentoring(person: Person, record: int) -> Mentoring:
    for one in mentorings_of([person], at=timezone.now()):
        if one.appointment.record == record:
            return one
    raise Http404
