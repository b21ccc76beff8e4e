"""One's own recall in curves, and for managers the state of each topic of a person."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from training.board.recall.pages import recall_page, topics_page
from training.people.models import Person, Workshop
from training.people.queries import is_manager
from training.web.htmx import render_page
from training.web.requests import AuthenticatedRequest


@never_cache
@require_safe
def recall(request: AuthenticatedRequest) -> HttpResponse:
    """My recall: nobody else can open it."""
    context = recall_page(request.user, at=timezone.now())
    return render_page(request, page="board/recall.html", part="board/_recall.html", context=context)


@never_cache
@require_safe
def topics(request: AuthenticatedRequest, workshop: str, person_id: int) -> HttpResponse:
    """The topics of one person in words, for the managers of the group; anybody else finds nothing here."""
    if not is_manager(request.user):
        raise Http404
    site = get_object_or_404(Workshop.objects.select_related("group"), slug=workshop, group=request.user.group)
    person = get_object_or_404(Person, pk=person_id, group=request.user.group, is_active=True)
    context = topics_page(person, site, at=timezone.now())
    return render_page(request, page="board/topics.html", part="board/_topics.html", context=context)
