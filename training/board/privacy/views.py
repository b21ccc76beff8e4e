"""A copy of one's own records, or of another person's on their request; and what of those who left is erased."""

from __future__ import annotations

from datetime import datetime

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.cache import add_never_cache_headers
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_safe

from training.board.privacy import deciding
from training.board.privacy.copying import copy_for, copy_of
from training.board.privacy.deciding import Leaver, leavers
from training.board.privacy.forms import ALL, CopyForm, ErasureForm
from training.core.trade.calendar import local_day
from training.people.models import Person
from training.people.queries import is_manager
from training.people.refusal import Refusal
from training.people.sentences import names_of
from training.people.views.finding import managers_only
from training.records.actions import Refused
from training.web.errors import BadPost
from training.web.requests import AuthenticatedRequest


@sensitive_post_parameters("password")
@require_http_methods(["GET", "HEAD", "POST"])
def copy(request: AuthenticatedRequest, person_id: int) -> HttpResponse:
    """Ask for the password again, then hand out the file: one's own to anybody, another's to managers only."""
    people = Person.objects.select_related("group", "workshop").filter(group_id=request.user.group_id)
    person = get_object_or_404(people, pk=person_id)
    own = person.pk == request.user.pk
    if not own and not is_manager(request.user):
        raise PermissionDenied(_("Only a manager may open this page."))
    viewer = Person.objects.get(pk=request.user.pk)
    form = CopyForm(request.POST or None, viewer=viewer, at=timezone.now(), own=own)
    if not form.is_valid():
        context = {"person": person, "own": own, "form": form}
        return render(request, "board/copy.html", context, status=400 if form.is_bound else 200)
    return _file(request, person, "" if own else form.cleaned_data["why"])


def _file(request: AuthenticatedRequest, person: Person, why: str) -> HttpResponse:
    now = timezone.now()
    try:
        content = copy_for(person, why=why, by=request.user, at=now) if why else copy_of(person, at=now)
    except Refused as refusal:
        raise BadPost(str(refusal)) from refusal
    day = local_day(now, person.workshop.zone)
    response = HttpResponse(content, content_type="application/zip")
    response["Content-Disposition"] = f'attachment; filename="records-tally-{person.tally}-{day}.zip"'
    add_never_cache_headers(response)
    return response


@require_safe
@managers_only
def gone(request: AuthenticatedRequest) -> HttpResponse:
    """Who has left, what of their records may go, and what waits for a second manager."""
    names, found = names_of(request.user.group_id), leavers(request.user.group, at=timezone.now())
    rows = [(one, names.get(one.proposal.by, "?") if one.proposal else "") for one in found]
    return render(request, "board/leavers.html", {"rows": rows})


@sensitive_post_parameters("password")
@require_http_methods(["GET", "HEAD", "POST"])
@managers_only
def erasure(request: AuthenticatedRequest, person_id: int) -> HttpResponse:
    """Propose to erase what may go of one person, or confirm as a second manager what another proposed."""
    now, signer = timezone.now(), Person.objects.get(pk=request.user.pk)
    leaver = next((one for one in leavers(request.user.group, at=now) if one.person.pk == person_id), None)
    if leaver is None:
        raise Http404
    confirms = leaver.proposal is not None and not leaver.proposal.confirmed_by and leaver.proposal.by != signer.key
    form = ErasureForm(
        request.POST if request.method == "POST" else None,
        viewer=signer, at=now, confirms=confirms, over=len(leaver.over), free=len(leaver.free),
    )  # fmt: skip
    if form.is_bound and form.is_valid() and _decided(form, leaver, signer, now, confirms=confirms):
        messages.success(request, _("Recorded."))
        return redirect("board:leavers")
    by = names_of(request.user.group_id).get(leaver.proposal.by, "?") if leaver.proposal else ""
    context = {"person": leaver.person, "leaver": leaver, "form": form, "confirms": confirms, "by": by}
    return render(request, "board/erasure.html", context, status=400 if form.is_bound else 200)


def _decided(form: ErasureForm, leaver: Leaver, signer: Person, now: datetime, *, confirms: bool) -> bool:
    """Whether it was recorded; what was refused is said on the page."""
    try:
        if confirms and leaver.proposal is not None:
            deciding.confirm(person=leaver.person, record=leaver.proposal.record, by=signer, at=now)
        else:
            given = form.cleaned_data
            numbers = leaver.free if given["what"] == ALL else leaver.over
            deciding.propose(person=leaver.person, numbers=numbers, why=given["why"], by=signer, at=now)
    except (Refusal, Refused) as refusal:
        form.add_error(None, str(refusal))
    return bool(form.is_valid())
