"""Jobs that have to stop, as open pages look for them; and somebody saying that they have read it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from training.board.work.stopped import Stops, stopped_at, stops_for
from training.board.work.writing import read_stop
from training.people.models import Workshop
from training.people.views.finding import workshop_of
from training.records.actions import Refused
from training.web.errors import BadPost
from training.web.htmx import wants_part
from training.web.requests import AuthenticatedRequest


@require_safe
def stops(request: AuthenticatedRequest) -> HttpResponse:
    """What stands at the top of this person's pages; nothing where it stands there already."""
    if not wants_part(request):
        return redirect("board:home")
    return _shown(
        request, "board/_stops.html", stops_for(request.user, at=timezone.now(), besides=request.GET.get("besides", ""))
    )


@require_safe
def stopped(request: AuthenticatedRequest, workshop: str) -> HttpResponse:
    """The jobs of a workshop that have to stop, for its board on the wall."""
    site = workshop_of(request, workshop)
    if not wants_part(request):
        return redirect("board:board", workshop=site.slug)
    now = timezone.now()
    own = [one.line.key for one in stops_for(request.user, at=now).stopped]
    return _shown(request, "board/_stopped.html", stopped_at(site, at=now, besides=own), site)


@require_POST
def read(request: AuthenticatedRequest, workshop: str, key: str) -> HttpResponse:
    """Somebody on the job, or a manager, says that they have read it."""
    site = workshop_of(request, workshop)
    try:
        read_stop(key=key, workshop=site, by=request.user, at=timezone.now())
    except Refused as refused:
        raise BadPost(str(refused)) from refused
    messages.success(request, _("On record: you have read it."))
    return redirect("board:job", workshop=site.slug, key=key)


def _shown(request: AuthenticatedRequest, part: str, found: Stops, site: Workshop | None = None) -> HttpResponse:
    if request.GET.get("stood") == found.mark:
        return HttpResponse(status=204)
    return render(request, part, {"stops": found, "workshop": site})
