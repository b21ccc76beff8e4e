"""A page or its part, redirects that htmx can follow, and messages beside a part."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.contrib import messages
from django.contrib.auth.models import AnonymousUser
from django.contrib.messages.storage.cookie import CookieStorage
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.template import Context, Template
from django.test import RequestFactory
from django_htmx.middleware import HtmxDetails

from training.web.htmx import render_page, wants_part
from training.web.middleware import MessagesOutOfBand, RedirectForHtmx

HTMX = {"HX-Request": "true"}


def request_with(headers: dict[str, str] | None = None) -> Any:
    request: Any = RequestFactory().get("/drill/1/", headers=headers or {})
    request.htmx = HtmxDetails(request)
    request._messages = CookieStorage(request)
    request.user = AnonymousUser()
    return request


@pytest.mark.parametrize(
    ("headers", "part"),
    [
        ({}, False),
        (HTMX, True),
        ({**HTMX, "HX-Boosted": "true"}, False),
        ({**HTMX, "HX-History-Restore-Request": "true"}, False),
    ],
)
def test_only_a_plain_htmx_request_wants_the_part(headers: dict[str, str], part: bool) -> None:
    assert wants_part(request_with(headers)) is part


@pytest.mark.parametrize("headers", [{}, HTMX])
def test_caches_keep_page_and_part_apart(headers: dict[str, str]) -> None:
    answer = render_page(
        request_with(headers), page="errors/400.html", part="errors/_sentence.html", context={"sentence": "Look again."}
    )
    assert "HX-Request" in answer["Vary"]
    assert ("<html" in answer.content.decode()) is (headers == {})


def test_a_status_is_passed_on() -> None:
    answer = render_page(request_with(), page="errors/400.html", part="errors/_sentence.html", status=422)
    assert answer.status_code == 422


def _redirect(headers: dict[str, str], place: str) -> Any:
    return RedirectForHtmx(lambda _request: HttpResponseRedirect(place))(request_with(headers))


def test_a_redirect_for_htmx_becomes_a_place_to_fetch_as_a_whole_page() -> None:
    answer = _redirect(HTMX, "/drill/2/")
    assert answer.status_code == 200
    assert "Location" not in answer.headers
    assert json.loads(answer["HX-Location"]) == {"path": "/drill/2/", "headers": {"HX-Boosted": "true"}}


@pytest.mark.parametrize("place", ["https://elsewhere.example/", "//elsewhere.example/"])
def test_a_redirect_to_another_host_loads_it_anew(place: str) -> None:
    assert _redirect(HTMX, place)["HX-Redirect"] == place


def test_a_browser_without_script_gets_the_plain_redirect() -> None:
    answer = _redirect({}, "/drill/2/")
    assert (answer.status_code, answer["Location"]) == (302, "/drill/2/")


def _said(headers: dict[str, str]) -> str:
    def view(request: HttpRequest) -> HttpResponse:
        messages.success(request, "Recorded <once>.")
        return HttpResponse("<div id='turn'></div>")

    answer: Any = MessagesOutOfBand(view)(request_with(headers))
    return str(answer.content.decode())


def test_a_message_is_swapped_into_its_place_beside_the_part() -> None:
    said = _said(HTMX)
    assert 'id="messages"' in said
    assert 'hx-swap-oob="true"' in said
    assert "Recorded &lt;once&gt;." in said


def test_a_page_keeps_its_messages_for_its_own_template() -> None:
    assert _said({}) == "<div id='turn'></div>"


def test_htmx_is_set_up_for_a_strict_policy() -> None:
    said = Template("{% htmx_config %}").render(Context())
    assert "&quot;allowEval&quot;: false" in said
    assert "&quot;includeIndicatorStyles&quot;: false" in said


def test_a_query_is_changed_in_one_place() -> None:
    context = Context({"request": RequestFactory().get("/?workshop=north&page=2")})
    assert (
        Template("{% query_with page=None topic='rescue' as q %}{{ q|safe }}").render(context)
        == "?workshop=north&topic=rescue"
    )
