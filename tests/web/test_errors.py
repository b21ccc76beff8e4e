"""What went wrong is said in a sentence, on a page and to htmx, and a failed page clears nobody."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.test import Client, RequestFactory, override_settings
from django.urls import path

from training.web.errors import BadPost, broken


def _bad(request: HttpRequest) -> HttpResponse:
    raise BadPost("Choose one of the <three> answers.")


def _closed(request: HttpRequest) -> HttpResponse:
    raise PermissionDenied("Nobody signs for themselves.")


def _gone(request: HttpRequest) -> HttpResponse:
    raise Http404("secret name")


urlpatterns = [path("bad/", _bad), path("closed/", _closed), path("gone/", _gone)]
handler400 = "training.web.errors.bad_request"
handler403 = "training.web.errors.forbidden"
handler404 = "training.web.errors.not_found"
OPEN = [
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "training.web.middleware.MessagesOutOfBand",
    "training.web.middleware.BadPostAnswered",
]


@pytest.fixture
def client() -> Any:
    with override_settings(ROOT_URLCONF=__name__, MIDDLEWARE=OPEN):
        yield Client()


@pytest.mark.parametrize("debug", [False, True])
def test_a_bad_post_is_a_400_with_its_sentence(client: Client, debug: bool) -> None:
    with override_settings(DEBUG=debug):
        answer = client.post("/bad/")
    assert answer.status_code == 400
    assert "Choose one of the &lt;three&gt; answers." in answer.content.decode()
    assert "<html" in answer.content.decode()


def test_htmx_gets_the_sentence_in_the_place_for_messages(client: Client) -> None:
    answer = client.post("/bad/", headers={"HX-Request": "true"})
    assert answer.status_code == 400
    assert answer["HX-Retarget"] == "#messages"
    assert "Choose one of the &lt;three&gt; answers." in answer.content.decode()
    assert "<html" not in answer.content.decode()


def test_a_refusal_says_why(client: Client) -> None:
    answer = client.get("/closed/")
    assert answer.status_code == 403
    assert "Nobody signs for themselves." in answer.content.decode()


def test_what_is_not_yours_is_not_named(client: Client) -> None:
    answer = client.get("/gone/")
    assert answer.status_code == 404
    assert "secret name" not in answer.content.decode()


def test_a_failed_page_says_that_nothing_on_it_counts() -> None:
    answer = broken(RequestFactory().get("/"))
    assert answer.status_code == 500
    assert "take no job on it" in answer.content.decode()
