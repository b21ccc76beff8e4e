"""The pages for what went wrong: each says in a sentence what to do."""

from __future__ import annotations

from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.utils.cache import patch_vary_headers
from django.utils.translation import gettext as _


class BadPost(BadRequest):
    """A post that cannot be read; `sentence` is shown to the person and says what to do."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence


def bad_request(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Answer 400 with the sentence of a BadPost, or a general one."""
    fallback = _("What was sent could not be read. Nothing was recorded. Go back, reload the page and try again.")
    return _answer(request, 400, exception.sentence if isinstance(exception, BadPost) else fallback)


def forbidden(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Answer 403 with the refusal's own words where it has some."""
    fallback = _("This is not open to you. If it should be, ask your manager.")
    return _answer(request, 403, str(exception) if exception and str(exception) else fallback)


def csrf_failed(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a post whose page has grown old."""
    return _answer(request, 403, _("This page has been open too long. Nothing was recorded. Reload it and try again."))


def not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Answer 404 without saying whether it exists for somebody else."""
    return _answer(request, 404, _("There is nothing here that is open to you."))


def broken(request: HttpRequest) -> HttpResponse:
    """Answer 500; nobody is cleared by a page that failed."""
    sentence = _("Something failed on our side. Nothing on this page counts: take no job on it. Try again.")
    return _answer(request, 500, sentence)


def _answer(request: HttpRequest, status: int, sentence: str) -> HttpResponse:
    """Render the sentence: a page, or for htmx a part that goes to the place for messages."""
    context = {"status": status, "sentence": sentence}
    # no request in the context: an error page must not need the database or the session
    if request.headers.get("HX-Request") == "true":
        response = HttpResponse(render_to_string("errors/_sentence.html", context), status=status)
        response.headers["HX-Retarget"] = "#messages"
        response.headers["HX-Reswap"] = "innerHTML show:window:top"
    else:
        response = HttpResponse(render_to_string(f"errors/{status}.html", context), status=status)
    patch_vary_headers(response, ["HX-Request"])
    return response
