"""What is entered about a person: appointments, certificates, instruction, age."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST

from training.people import actions, queries
from training.people.forms import (
    AgeForm,
    AppointForm,
    AppointMentorForm,
    CertificateForm,
    InstructionForm,
)
from training.people.models import Person, Workshop
from training.people.offers import CERTIFICATES, JOB_TYPES, TASKS, Offer, offered
from training.people.refusal import Refusal
from training.people.views.finding import colleague, managers_only
from training.records.actions import Refused
from training.web.errors import BadPost
from training.web.requests import AuthenticatedRequest

Act = Callable[..., Any]
page_with_form = require_http_methods(["GET", "HEAD", "POST"])
PAPERS: dict[str, tuple[Any, Act]] = {
    "certificate": (gettext_lazy("Enter an outside certificate"), actions.enter_certificate),
    "instruction": (gettext_lazy("Enter an instruction"), actions.instruct),
    "age": (gettext_lazy("Enter the age"), actions.enter_age),
}


@page_with_form
@managers_only
def appoint(request: AuthenticatedRequest, person_id: int) -> HttpResponse:
    """Name a person for job types of a workshop."""
    person = colleague(request, person_id)
    workshop = _workshop(request, person)
    offers = offered(JOB_TYPES, workshop)
    form = AppointForm(posted(request), offers=offers)
    if entered(request, form, actions.appoint, person=person, workshop=workshop, at_most_months=_months(form, offers)):
        return done(request, person, _("Appointed."))
    return form_page(request, form, person, _("Appoint for job types"), workshop=workshop, nothing=not offers)


@page_with_form
@managers_only
def appoint_mentor(request: AuthenticatedRequest, person_id: int) -> HttpResponse:
    """Name a person to observe practical tasks at a workshop."""
    person = colleague(request, person_id)
    workshop = _workshop(request, person)
    offers = offered(TASKS, workshop)
    form = AppointMentorForm(posted(request), offers=offers)
    if entered(request, form, actions.appoint_mentor, person=person, workshop=workshop):
        return done(request, person, _("Appointed as mentor."))
    return form_page(request, form, person, _("Appoint as mentor"), workshop=workshop, nothing=not offers)


@require_POST
@managers_only
def confirm(request: AuthenticatedRequest, person_id: int, record: int) -> HttpResponse:
    """Put an appointment into force whose first day has come."""
    person = colleague(request, person_id)
    try:
        actions.confirm(person=person, record=record, by=request.user, at=timezone.now())
    except (Refusal, Refused) as refusal:
        raise BadPost(str(refusal)) from refusal
    return done(request, person, _("Put into force."))


@require_POST
@managers_only
def verify(request: AuthenticatedRequest, person_id: int, record: int) -> HttpResponse:
    """Enter that the issuer of an outside certificate was asked today and confirmed it."""
    person, how = colleague(request, person_id), request.POST.get("how", "")
    try:
        actions.verify_certificate(person=person, record=record, how=how, by=request.user, at=timezone.now())
    except (Refusal, Refused) as refusal:
        raise BadPost(str(refusal)) from refusal
    return done(request, person, _("Entered."))


@page_with_form
@managers_only
def paper(request: AuthenticatedRequest, person_id: int, kind: str) -> HttpResponse:
    """Enter an outside certificate, an instruction or the age of a person."""
    person = colleague(request, person_id)
    if kind not in PAPERS:
        raise Http404
    title, act = PAPERS[kind]
    form = _paper_form(request, kind, person)
    if entered(request, form, act, person=person):
        return done(request, person, _("Entered."))
    return form_page(request, form, person, title)


def _paper_form(request: AuthenticatedRequest, kind: str, person: Person) -> forms.Form:
    given = posted(request)
    if kind == "age":
        return AgeForm(given)
    if kind == "instruction":
        return InstructionForm(given, group_id=person.group_id, initial={"workshop": person.workshop_id})
    kinds, tasks = offered(CERTIFICATES, person.workshop), offered(TASKS, person.workshop)
    return CertificateForm(given, offers=kinds, tasks=tasks)


def posted(request: AuthenticatedRequest) -> Any:
    """What was posted; None where the form is only shown."""
    return request.POST if request.method == "POST" else None


def entered(request: AuthenticatedRequest, form: forms.Form, act: Act, **more: Any) -> bool:
    """Whether the form was posted, could be read, and was recorded now under the name of whoever is signed in."""
    return is_recorded(form, act, by=request.user, at=timezone.now(), **more)


def is_recorded(form: Any, act: Callable[..., Any], **more: Any) -> bool:
    """Whether the form was posted, could be read, and was recorded; what was refused is said beside its field."""
    if not form.is_bound or not form.is_valid():
        return False
    try:
        act(**more, **form.cleaned_data)
    except (Refusal, Refused) as refusal:
        field = getattr(refusal, "field", "")
        form.add_error(field if field in form.fields else None, str(refusal))
    return bool(form.is_valid())


def _months(form: AppointForm, offers: tuple[Offer, ...] | Any) -> int:
    """The shortest that any of the chosen job types lets an appointment hold."""
    chosen = form.cleaned_data.get("job_types", ()) if form.is_bound and form.is_valid() else ()
    return min((offer.at_most_months for offer in offers if offer.key in chosen), default=12)


def _workshop(request: AuthenticatedRequest, person: Person) -> Workshop:
    """The workshop that the address names, else the person's own."""
    slug = request.GET.get("workshop", person.workshop.slug)
    found = Workshop.objects.filter(group_id=person.group_id, slug=slug).first()
    if found is None:
        raise Http404
    return found


def done(request: AuthenticatedRequest, person: Person, said: str) -> HttpResponse:
    """Say what was recorded, and go on to the papers, or for those who may not see them to the list of people."""
    messages.success(request, said)
    if queries.is_manager(request.user):
        return redirect("people:person", person_id=person.pk)
    return redirect("people:everyone")


def form_page(request: AuthenticatedRequest, form: forms.Form, person: Person, title: str, **more: Any) -> HttpResponse:
    """A form about a person under its title, with whatever else the page shows."""
    others = Workshop.objects.filter(group_id=person.group_id) if "workshop" in more else ()
    context = {"form": form, "person": person, "title": title, "workshops": others, **more}
    return render(request, "people/entering.html", context, status=400 if form.is_bound else 200)
