"""Requests as the views know them after the middleware has run."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import HttpRequest

if TYPE_CHECKING:
    from django.contrib.auth.models import _User
    from django_htmx.middleware import HtmxDetails


class HtmxRequest(HttpRequest):
    """A request of anyone, signed in or not."""

    htmx: HtmxDetails


class AuthenticatedRequest(HtmxRequest):
    """A request behind the login wall: `user` is a person, never a stranger."""

    user: _User
