"""One's own records countersigned or disputed, and a manager's page that settles a dispute."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from training.people import disputing
from training.people.dispute_forms import DisputeForm, SettleForm
from training.people.disputes import Dispute, is_incident, stance_of, whose
from training.people.models import Person
from training.people.queries import disputes_about
from training.people.refusal import Refusal
from training.people.sentences import lines_for
from training.people.views.entering import entered, is_recorded
from training.people.views.finding import colleague, managers_only
from training.records.actions import Refused
from training.records.queries import numbered
from training.web.errors import BadPost
from training.web.requests import AuthenticatedRequest

page_with_form = require_http_methods(["GET", "HEAD", "POST"])


@require_POST
def countersign(request: AuthenticatedRequest, record: int) -> HttpResponse:
    """Agree with a signed observation about oneself."""
    try:
        disputing.countersign(person=request.user, record=record, at=timezone.now())
    except (Refusal, Refused) as refusal:
        raise BadPost(str(refusal)) from refusal
    messages.success(request, _("Countersigned."))
    return redirect("people:mine")


@page_with_form
def dispute(request: AuthenticatedRequest, record: int) -> HttpResponse:
    """Say what is wrong with a record about oneself."""
    papers = numbered([record], chain_id=request.user.group.chain_id)
    stance = stance_of(papers[0].fact) if papers else None
    if stance is None or whose(papers[0]) != request.user.key:
        raise Http404
    form = DisputeForm(request.POST if request.method == "POST" else None)
    if is_recorded(form, disputing.dispute, at=timezone.now(), person=request.user, record=record):
        messages.success(request, _("Disputed. A manager who did not write the record settles it."))
        return redirect("people:mine")
    context = {
        "form": form,
        "lines": lines_for(request.user, request.user, papers),
        "against": stance.against(papers[0].fact),
    }
    return render(request, "people/disputing.html", context, status=400 if form.is_bound else 200)


@page_with_form
@managers_only
def settle(request: AuthenticatedRequest, person_id: int, record: int) -> HttpResponse:
    """A manager says why a disputed record stands or is withdrawn."""
    person = colleague(request, person_id)
    found = _dispute(person, record)
    form = SettleForm(request.POST if request.method == "POST" else None)
    if entered(request, form, disputing.settle, person=person, record=record):
        messages.success(request, _("Settled."))
        return redirect("people:everyone")
    papers = numbered([found.of_record], chain_id=person.group.chain_id)
    context = {
        "form": form,
        "person": person,
        "dispute": found,
        "lines": lines_for(request.user, person, papers),
        "wrote_it": request.user.key == found.written_by,
        "own": request.user.pk == person.pk,
        "incident": any(is_incident(paper.fact) for paper in papers),
    }
    return render(request, "people/settling.html", context, status=400 if form.is_bound else 200)


def _dispute(person: Person, record: int) -> Dispute:
    for one in disputes_about(person):
        if one.number == record and one.stands is None:
            return one
    raise Http404
