"""Nobody works with Hookside before they have read what it is not."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse

from training.people.models import Person

OPEN = frozenset({"people:cautions", "people:sign_out", "people:sign_in", "health"})


class CautionsFirst:
    """Sends a person to the cautions until they have confirmed them once; a post on the way records nothing."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, *_view: Any) -> HttpResponse | None:
        """Answer in the view's place while the cautions are unread."""
        person, match = request.user, request.resolver_match
        if not isinstance(person, Person) or person.cautions_read_at is not None:
            return None
        if match is not None and match.view_name in OPEN:
            return None
        after = urlencode({"next": request.get_full_path()}) if request.method == "GET" else ""
        return redirect(f"{reverse('people:cautions')}{'?' if after else ''}{after}")
