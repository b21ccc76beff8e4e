"""Who belongs to the firm: somebody new, the roles a person holds, their last day."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters

from training.people import joining, leaving, queries, roles
from training.people.facts import LeavingDay, RoleChanged
from training.people.models import Person
from training.people.offers import JOB_TYPES, offered
from training.people.refusal import Refusal
from training.people.roster_forms import JoiningForm, LeavingForm, RolesForm
from training.people.sentences import Line, lines_for
from training.people.views.entering import entered, page_with_form, posted
from training.people.views.finding import colleague, managers_only
from training.records.actions import Refused
from training.records.facts import Fact
from training.web.requests import AuthenticatedRequest


@sensitive_post_parameters("password")
@page_with_form
@managers_only
def change_roles(request: AuthenticatedRequest, person_id: int) -> HttpResponse:
    """Give and take the roles of somebody else; one's own can only be read."""
    person, now = colleague(request, person_id), timezone.now()
    initial = {"roles": sorted(queries.roles_of(person))}
    form = RolesForm(posted(request), viewer=_signer(request), at=now, initial=initial)
    if entered(request, form, roles.set_roles, person=person):
        messages.success(request, _("Recorded. It holds from the next page they open."))
        return redirect("people:person", person_id=person.pk)
    return _page(request, form, person, RoleChanged, title=_("Roles"), button=_("Change the roles"))


@sensitive_post_parameters("password")
@page_with_form
@managers_only
def enter_leaving(request: AuthenticatedRequest, person_id: int) -> HttpResponse:
    """Enter, correct or take back the last day of somebody, also of whoever has left."""
    people = Person.objects.select_related("group", "workshop").filter(group_id=request.user.group_id)
    person, now = get_object_or_404(people, pk=person_id), timezone.now()
    form = LeavingForm(
        posted(request), viewer=_signer(request), at=now, may_stay=person.last_day is not None,
        initial={"last_day": person.last_day},
    )  # fmt: skip
    if entered(request, form, leaving.enter_leaving_day, person=person):
        messages.success(request, _("Recorded."))
        return redirect("people:everyone")
    return _page(request, form, person, LeavingDay, title=_("Leaving day"), button=_("Enter the leaving day"))


@page_with_form
@managers_only
def join(request: AuthenticatedRequest) -> HttpResponse:
    """Enter somebody new at one's own workshop."""
    site = request.user.workshop
    initial = {"tally": joining.next_tally(request.user.group_id)}
    form = JoiningForm(posted(request), offers=offered(JOB_TYPES, site), initial=initial)
    if form.is_bound and form.is_valid():
        try:
            person = joining.enter_person(workshop=site, by=request.user, at=timezone.now(), **form.cleaned_data)
        except (Refusal, Refused) as refusal:
            form.add_error(getattr(refusal, "field", "") or None, str(refusal))
        else:
            messages.success(request, _("%(name)s is entered.") % {"name": person.full_name})
            return redirect("people:person", person_id=person.pk)
    return render(request, "people/joining.html", {"form": form, "site": site}, status=400 if form.is_bound else 200)


def _signer(request: AuthenticatedRequest) -> Person:
    return Person.objects.get(pk=request.user.pk)


def _page(
    request: AuthenticatedRequest, form: Any, person: Person, shape: type[Fact], *, title: str, button: str
) -> HttpResponse:
    context = {
        "form": form,
        "person": person,
        "title": title,
        "button": button,
        "own": person.pk == request.user.pk,
        "lines": _history(request, person, shape),
        "held": sorted(queries.roles_of(person)) if shape is RoleChanged else [],
    }
    return render(request, "people/belonging.html", context, status=400 if form.is_bound else 200)


def _history(request: AuthenticatedRequest, person: Person, shape: type[Fact]) -> list[Line]:
    papers = [one for one in queries.papers_written(person) if isinstance(one.fact, shape)]
    return lines_for(request.user, person, reversed(papers))
