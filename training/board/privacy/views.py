"""A copy of one's own records, or of another person's on their request."""

from __future__ import annotations

from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.cache import add_never_cache_headers
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from training.board.privacy.copying import copy_for, copy_of
from training.board.privacy.forms import CopyForm
from training.core.trade.calendar import local_day
from training.people.models import Person
from training.people.queries import is_manager
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
