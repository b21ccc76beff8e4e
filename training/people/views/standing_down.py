"""Standing somebody down, which everybody may, and a manager's release, beside what it still needs."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _

from training.people import queries, standing_down
from training.people.forms import ReleaseForm, StandDownForm
from training.people.fresh import Judged, judged
from training.people.models import Person
from training.people.offers import JOB_TYPES, offered
from training.people.releasing import needs_said, who_may_release
from training.people.sentences import Line, lines_for
from training.people.views.entering import done, entered, form_page, page_with_form, posted
from training.people.views.finding import colleague, managers_only
from training.records.queries import numbered
from training.web.requests import AuthenticatedRequest


@page_with_form
def stand_down(request: AuthenticatedRequest, person_id: int) -> HttpResponse:
    """Withdraw a person's clearance at once; anyone of the group may, about anyone."""
    person = colleague(request, person_id)
    offers = offered(JOB_TYPES, person.workshop)
    form = StandDownForm(posted(request), offers=offers, group_id=person.group_id)
    if entered(request, form, standing_down.stand_down, person=person):
        said = _("%(name)s is stood down from now on, until a manager releases it.") % {"name": person.full_name}
        return done(request, person, said)
    seen = queries.stand_downs_seen_by(request.user, person, timezone.now())
    lines = lines_for(request.user, person, seen)
    return form_page(request, form, person, _("Stand down"), stand_downs=lines)


@page_with_form
@managers_only
def release(request: AuthenticatedRequest, person_id: int, record: int) -> HttpResponse:
    """One manager's word that a stand-down of a person may end, beside what it still needs and what was seen since."""
    person, now = colleague(request, person_id), timezone.now()
    found = next((one for one in judged(person, now) if one.stand_down.record == record), None)
    if found is None:
        raise Http404
    form = ReleaseForm(posted(request), medical=found.stand_down.medical)
    if entered(request, form, standing_down.release, person=person, record=record):
        still_open = record in {paper.number for paper in queries.stand_downs_now(person, timezone.now())}
        return done(request, person, _("One more person has to release it.") if still_open else _("Released."))
    context = {
        "form": form,
        "person": person,
        "found": found,
        "needs": needs_said(found, person),
        "may": request.user in who_may_release(found, person) or form.is_bound,
        **_lines(request, person, found),
    }
    return render(request, "people/releasing.html", context, status=400 if form.is_bound else 200)


def _lines(request: AuthenticatedRequest, person: Person, found: Judged) -> dict[str, list[Line]]:
    """The stand-down, what was seen since that a release may stand on, and the releases there are."""
    shown = {
        "stand_down": [found.stand_down.record],
        "seen": found.evidence,
        "releases": [one.record for one in found.stand_down.releases],
    }
    papers = numbered([number for numbers in shown.values() for number in numbers], chain_id=person.group.chain_id)
    return {
        name: lines_for(request.user, person, [paper for paper in papers if paper.number in numbers])
        for name, numbers in shown.items()
    }
