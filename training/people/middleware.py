"""Nobody works with Hookside before they have read what it is not, nor after their last day with the firm."""

from __future__ import annotations

import logging
from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode

from django.contrib.auth.models import AnonymousUser
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone

from training.people.leaving import close_left, is_over
from training.people.models import Person

logger = logging.getLogger(__name__)
OPEN = frozenset({"people:cautions", "people:sign_out", "people:sign_in", "health"})


class LeftOut:
    """Lets whoever has left in no more, from the day after their last: the day counts, no task has to run for it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, *_view: Any) -> None:
        """Close what has to be closed before anybody is looked at; who asks is a stranger where that fails."""
        match, now = request.resolver_match, timezone.now()
        if match is not None and match.view_name == "health":
            return
        try:
            close_left(at=now)
        except DatabaseError:
            logger.exception("Somebody's last day is over, and that cannot be kept")
        if isinstance(request.user, Person) and is_over(request.user, now):
            request.user = AnonymousUser()


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
