"""What htmx needs of every answer: redirects that it follows, messages beside a part, refusals with a sentence."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import cast

from django.contrib.messages import get_messages
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.template.loader import render_to_string
from django.utils.cache import patch_vary_headers

from training.web.errors import BadPost, bad_request
from training.web.requests import HtmxRequest

GetResponse = Callable[[HttpRequest], HttpResponseBase]
REDIRECTS = {301, 302, 303, 307, 308}


class RedirectForHtmx:
    """Turns a redirect into HX-Location, since a browser follows a 302 before htmx can see it."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        if not cast(HtmxRequest, request).htmx or response.status_code not in REDIRECTS:
            return response
        place = response.headers["Location"]
        del response.headers["Location"]
        if place.startswith("/") and not place.startswith("//"):
            # asked for as boosted, so that the whole page comes back and not one of its parts
            response.headers["HX-Location"] = json.dumps({"path": place, "headers": {"HX-Boosted": "true"}})
        else:
            response.headers["HX-Redirect"] = place
        response.status_code = 200
        patch_vary_headers(response, ["HX-Request"])
        return response


class MessagesOutOfBand:
    """Adds waiting messages to a part, to be swapped into the page's own place for them."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        if not cast(HtmxRequest, request).htmx or not _takes_messages(response):
            return response
        messages = get_messages(request)
        if len(messages) and not getattr(messages, "used", False):
            context = {"messages": messages, "out_of_band": True}
            cast(HttpResponse, response).write(render_to_string("web/_messages.html", context, request=request))
        return response


class BadPostAnswered:
    """Answers a post that cannot be read with 400 and its sentence, in a debug run too."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponseBase | None:
        """Return the page for BadPost; every other error goes its own way."""
        return bad_request(request, exception) if isinstance(exception, BadPost) else None


def _takes_messages(response: HttpResponseBase) -> bool:
    kind = response.headers.get("Content-Type", "")
    return not response.streaming and kind.startswith("text/html") and response.status_code == 200
