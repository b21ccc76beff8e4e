"""Every address is closed to a stranger, except those named here."""

from __future__ import annotations

import uuid
from collections.abc import Iterator

import pytest
from django.conf import settings
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.urls.converters import IntConverter, UUIDConverter

PUBLIC = {"health", "people:sign_in"}
SAMPLES = {IntConverter: "1", UUIDConverter: str(uuid.UUID(int=1))}


def addresses(resolver: URLResolver, before: str = "", space: str = "") -> Iterator[tuple[str, str]]:
    """Yield the name and an example path of every address."""
    for entry in resolver.url_patterns:
        path = before + _example(entry)
        if isinstance(entry, URLResolver):
            yield from addresses(entry, path, f"{space}{entry.namespace}:" if entry.namespace else space)
        else:
            yield f"{space}{entry.name}", path


def _example(entry: URLPattern | URLResolver) -> str:
    path = str(entry.pattern)
    for name, converter in entry.pattern.converters.items():
        sample = SAMPLES.get(type(converter), "x")
        for written in (f"<{name}>", *(f"<{kind}:{name}>" for kind in ("int", "str", "slug", "uuid", "path"))):
            path = path.replace(written, sample)
    return path


def every_address() -> list[tuple[str, str]]:
    """Return each address once, in order."""
    return sorted(set(addresses(get_resolver())))


def test_every_address_has_a_name_of_its_own() -> None:
    assert [path for name, path in every_address() if name.rpartition(":")[2] in {"", "None"}] == []
    assert len(every_address()) >= 20


@pytest.mark.django_db
@pytest.mark.parametrize("method", ["get", "post"])
def test_a_stranger_is_sent_to_sign_in(method: str) -> None:
    open_to_strangers = []
    for name, path in every_address():
        answer = getattr(Client(), method)(f"/{path}")
        closed = answer.status_code in {403, 404} or (
            answer.status_code == 302 and answer["Location"].startswith(reverse(settings.LOGIN_URL))
        )
        if not closed:
            open_to_strangers.append(f"{name} ({path}): {answer.status_code}")
    assert {line.split(" ")[0] for line in open_to_strangers} <= PUBLIC, open_to_strangers


@pytest.mark.django_db
def test_a_page_says_what_the_browser_may_load() -> None:
    answer = Client().get(reverse(settings.LOGIN_URL))
    assert "script-src 'self'" in answer["Content-Security-Policy"]
    assert "unsafe" not in answer["Content-Security-Policy"]
    assert answer["X-Frame-Options"] == "DENY"
    assert answer["X-Content-Type-Options"] == "nosniff"
