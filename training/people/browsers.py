"""The browsers from which a person signed in before: a signed cookie that gives no right, only a count of its own."""

from __future__ import annotations

import secrets
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.core import signing
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.utils.crypto import constant_time_compare

from training.people.models import Person

COOKIE = "hookside_browser"
SALT = "training.people.browsers"
KNOWN_FOR = timedelta(days=90)
MOST_PEOPLE = 12  # a tablet in the workshop is passed around


def browser_of(request: HttpRequest, username: str) -> str:
    """The random name of this browser, if whoever is called so signed in on it with the password of today; else ""."""
    held = _held(request)
    if not held:
        return ""
    person = Person.objects.filter(username=username.strip()).first()
    known = person is not None and constant_time_compare(held["people"].get(person.key, ""), _mark(person))
    return str(held["name"]) if known else ""


def remember(request: HttpRequest, response: HttpResponseBase, person: Person) -> None:
    """Let this browser be known as one on which the person signed in."""
    held = _held(request) or {"name": secrets.token_hex(16), "people": {}}
    others = [(key, mark) for key, mark in held["people"].items() if key != person.key]
    people = dict([*others, (person.key, _mark(person))][-MOST_PEOPLE:])
    response.set_cookie(
        COOKIE,
        signing.dumps({"name": held["name"], "people": people}, salt=SALT),
        max_age=KNOWN_FOR,
        secure=bool(settings.SESSION_COOKIE_SECURE),
        httponly=True,
        samesite="Lax",
    )


def address_of(request: HttpRequest) -> str:
    """Where the request comes from: behind a proxy what that proxy wrote, which stands last; the rest anybody can."""
    if settings.BEHIND_PROXY:
        return request.headers.get("X-Forwarded-For", "").rpartition(",")[2].strip()
    return str(request.META.get("REMOTE_ADDR", ""))


def _held(request: HttpRequest) -> dict[str, Any]:
    try:
        held = signing.loads(request.COOKIES.get(COOKIE, ""), salt=SALT, max_age=KNOWN_FOR)
    except signing.BadSignature:
        return {}
    return held if isinstance(held, dict) else {}


def _mark(person: Person) -> str:
    """Changes with the password."""
    return person.get_session_auth_hash()[:32]
