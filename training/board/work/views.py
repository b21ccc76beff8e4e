"""The pages of the start of work."""

from __future__ import annotations

from django.http import Http404, HttpResponse

from training.web.requests import AuthenticatedRequest


def start_of_work(request: AuthenticatedRequest, workshop: str) -> HttpResponse:
    raise Http404


def started(request: AuthenticatedRequest, workshop: str, number: int) -> HttpResponse:
    raise Http404
