"""A page or only its changed part: the one place that decides which."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import patch_vary_headers

from training.web.requests import HtmxRequest


def wants_part(request: HttpRequest) -> bool:
    """Return whether htmx asked for a part; a boosted link, a redirect and a restored history want the page."""
    htmx = cast(HtmxRequest, request).htmx
    return bool(htmx) and not htmx.boosted and not htmx.history_restore_request


def render_page(
    request: HttpRequest, *, page: str, part: str, context: Mapping[str, Any] | None = None, status: int = 200
) -> HttpResponse:
    """Render the part for htmx and else the page that includes it; caches keep the two apart."""
    template = part if wants_part(request) else page
    response = render(request, template, dict(context or {}), status=status)
    patch_vary_headers(response, ["HX-Request", "HX-Boosted"])
    return response
