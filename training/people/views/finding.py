"""Who may open a page about whom: the group's wall, and what only managers see."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext as _

from training.people.models import Person, Workshop
from training.people.queries import is_manager
from training.web.requests import AuthenticatedRequest

View = Callable[..., HttpResponse]


def managers_only(view: View) -> View:
    """Answer 403 to everybody but managers, before anything is looked up."""

    @wraps(view)
    def guarded(request: AuthenticatedRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if not is_manager(request.user):
            raise PermissionDenied(_("Only a manager may open this page."))
        return view(request, *args, **kwargs)

    return guarded


def colleague(request: AuthenticatedRequest, person_id: int) -> Person:
    """Somebody of the same group who is still there; anyone else is 404."""
    people = Person.objects.select_related("group", "workshop").filter(is_active=True, group_id=request.user.group_id)
    return get_object_or_404(people, pk=person_id)


def workshop_of(request: AuthenticatedRequest, slug: str) -> Workshop:
    """A workshop of one's own group; any other is 404."""
    return get_object_or_404(Workshop.objects.select_related("group"), slug=slug, group=request.user.group)
