"""Withdrawing a paper: from which day and why, who is affected, and only then the record."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from training.board.cascade.forms import WithdrawForm
from training.board.cascade.queries import affected_by
from training.people import actions
from training.people.models import Person
from training.people.queries import papers_written
from training.people.refusal import Refusal
from training.people.sentences import lines_for
from training.people.views.finding import managers_only
from training.records.actions import Refused
from training.web.htmx import render_page
from training.web.requests import AuthenticatedRequest


@require_http_methods(["GET", "HEAD", "POST"])
@managers_only
def withdraw(request: AuthenticatedRequest, person_id: int, record: int) -> HttpResponse:
    """Ask for the day and the reason; then list who is affected; with ``confirm`` posted as well, record it."""
    people = Person.objects.select_related("group", "workshop").filter(group_id=request.user.group_id)
    person = get_object_or_404(people, pk=person_id)
    papers = [
        one for one in papers_written(person) if one.number == record and isinstance(one.fact, actions.WITHDRAWABLE)
    ]
    if not papers:
        raise Http404
    form = WithdrawForm(request.POST if request.method == "POST" else None)
    context: dict[str, Any] = {"person": person, "lines": lines_for(request.user, person, papers), "form": form}
    if form.is_bound and form.is_valid():
        asked = {"person": person, "record": record, **form.cleaned_data}
        try:
            if "confirm" in request.POST:
                actions.withdraw(by=request.user, at=timezone.now(), **asked)
                messages.success(request, _("Withdrawn."))
                return redirect("people:person", person_id=person.pk)
            actions.check_withdrawal(by=request.user, at=timezone.now(), **asked)
            context["affected"] = affected_by(person, record, form.cleaned_data["from_day"], at=timezone.now())
        except (Refusal, Refused) as refusal:
            form.add_error(None, str(refusal))
    page = render_page(request, page="board/withdraw.html", part="board/_withdraw.html", context=context)
    page.status_code = 400 if form.errors else 200
    return page
