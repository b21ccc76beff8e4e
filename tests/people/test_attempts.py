"""Guessing a password: whoever guesses waits, the owner gets in, and a name that nobody has looks the same."""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from unittest.mock import patch

import pytest
from django.db import OperationalError
from django.test import Client
from django.urls import reverse

from tests.factories.people import PASSWORD, PersonFactory
from tests.people.cast import AT, signed_in
from training.people import actions
from training.people.models import Person, TriesCounted
from training.people.own_password import is_own_password
from training.people.refusal import Refusal

pytestmark = [pytest.mark.django_db, pytest.mark.db]
MINUTE = timedelta(minutes=1)


class Clock:
    now = AT

    def passes(self, **time: float) -> None:
        self.now += timedelta(**time)


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    standing = Clock()
    monkeypatch.setattr("training.people.views.signing_in.timezone.now", lambda: standing.now)
    return standing


def sign_in(username: str, password: str, address: str = "192.0.2.1", client: Client | None = None) -> Any:
    given = {"username": username, "password": password}
    return (client or Client()).post(reverse("people:sign_in"), given, REMOTE_ADDR=address)


def statuses(count: int, username: str, address: str = "192.0.2.1") -> list[int]:
    return [sign_in(username, f"guess {number}", address).status_code for number in range(count)]


def test_after_five_wrong_tries_even_the_right_password_waits_there(clock: Clock) -> None:
    person: Any = PersonFactory()
    assert statuses(6, person.username) == [400] * 5 + [429]
    answer = sign_in(person.username, PASSWORD)
    assert answer.status_code == 429
    assert answer["Retry-After"] == "60"
    assert "Too many tries. Wait 1 minute" in answer.content.decode()
    clock.passes(seconds=61)
    assert sign_in(person.username, PASSWORD).status_code == 302


def test_each_further_wait_is_twice_as_long_up_to_a_quarter_of_an_hour(clock: Clock) -> None:
    person: Any = PersonFactory()
    statuses(5, person.username)
    waits = []
    for _round in range(6):
        answer = sign_in(person.username, "wrong")
        waits.append(int(answer["Retry-After"]))
        clock.passes(seconds=waits[-1])
        assert sign_in(person.username, "wrong").status_code == 400
    assert waits == [60, 120, 240, 480, 900, 900]


def test_one_who_guesses_elsewhere_locks_nobody_out(clock: Clock) -> None:
    person: Any = PersonFactory()
    for _minute in range(60):
        statuses(2, person.username, "203.0.113.9")
        clock.passes(minutes=1)
    assert sign_in(person.username, PASSWORD, "192.0.2.1").status_code == 302


def test_fifty_addresses_get_at_most_twenty_guesses_looked_at_in_an_hour_and_the_owner_gets_in(clock: Clock) -> None:
    person: Any = PersonFactory()
    owner = Client()
    assert sign_in(person.username, PASSWORD, client=owner).status_code == 302
    owner.post(reverse("people:sign_out"))
    seen: list[int] = []
    for number in range(1000):
        seen.append(sign_in(person.username, f"guess {number}", f"203.0.113.{number % 50}").status_code)
        clock.passes(seconds=3.6)
    assert seen.count(400) <= 20
    assert set(seen) == {400, 429}
    assert sign_in(person.username, PASSWORD, "198.51.100.7", owner).status_code == 302


def test_a_browser_is_known_no_longer_once_the_password_has_changed(clock: Clock) -> None:
    person: Any = PersonFactory()
    browser = Client()
    sign_in(person.username, PASSWORD, client=browser)
    browser.post(reverse("people:sign_out"))
    actions.set_password(person=person, password="another long one")
    for number in range(20):
        statuses(1, person.username, f"203.0.113.{number}")
    assert sign_in(person.username, "another long one", client=browser).status_code == 429


def test_a_new_password_forgets_the_tries(clock: Clock) -> None:
    person: Any = PersonFactory()
    for number in range(16):
        statuses(1, person.username, f"203.0.113.{number}")
    assert sign_in(person.username, PASSWORD).status_code == 429
    actions.set_password(person=person, password="another long one")
    assert sign_in(person.username, "another long one").status_code == 302


def test_a_known_browser_is_counted_as_well(clock: Clock) -> None:
    person: Any = PersonFactory()
    browser = Client()
    sign_in(person.username, PASSWORD, client=browser)
    browser.post(reverse("people:sign_out"))
    tried = [sign_in(person.username, "wrong", client=browser).status_code for _try in range(7)]
    assert tried == [400] * 5 + [429] * 2


def test_a_browser_known_for_one_person_helps_with_nobody_else(clock: Clock) -> None:
    ann, bob = PersonFactory(), PersonFactory()
    browser = Client()
    sign_in(ann.username, PASSWORD, client=browser)
    browser.post(reverse("people:sign_out"))
    statuses(6, bob.username)
    assert sign_in(bob.username, PASSWORD, client=browser).status_code == 429


def test_one_address_tries_twenty_names_and_then_waits(clock: Clock) -> None:
    assert [sign_in(f"name{number}", "guess").status_code for number in range(21)] == [400] * 20 + [429]
    assert sign_in("name99", "guess", "192.0.2.2").status_code == 400


def test_a_whole_house_of_the_newer_addresses_is_one_place(clock: Clock) -> None:
    tried = [sign_in(f"name{number}", "guess", f"2001:db8::{number:x}").status_code for number in range(21)]
    assert tried[-1] == 429


def test_the_right_password_is_not_a_try_against_the_address(clock: Clock) -> None:
    people = [PersonFactory() for _one in range(25)]
    assert {sign_in(one.username, PASSWORD).status_code for one in people} == {302}


def test_a_name_that_nobody_has_is_answered_alike(clock: Clock) -> None:
    person: Any = PersonFactory()
    both = [statuses(7, name, address) for name, address in ((person.username, "192.0.2.1"), ("nobody", "192.0.2.2"))]
    assert both[0] == both[1]
    pages = [sign_in(name, "x", at).content for name, at in ((person.username, "192.0.2.1"), ("nobody", "192.0.2.2"))]
    lines = [[line for line in page.splitlines() if b"csrf" not in line.lower()] for page in pages]
    assert lines[0] == lines[1]


def test_capitals_and_spaces_are_no_fresh_start(clock: Clock) -> None:
    person: Any = PersonFactory()
    statuses(5, person.username)
    assert sign_in(f" {person.username.upper()} ", PASSWORD).status_code == 429


def test_what_a_stranger_writes_before_the_proxy_changes_nothing(clock: Clock, settings: Any) -> None:
    settings.BEHIND_PROXY = True

    def through(forged: str) -> int:
        given = {"username": "nobody", "password": "guess"}
        came = f"{forged}, 192.0.2.1"
        return Client().post(reverse("people:sign_in"), given, headers={"x-forwarded-for": came}).status_code

    assert [through(f"203.0.113.{number}") for number in range(6)] == [400] * 5 + [429]


def test_without_a_proxy_nobody_is_asked_where_they_come_from(clock: Clock) -> None:
    given = {"username": "nobody", "password": "guess"}
    tried = [
        Client().post(reverse("people:sign_in"), given, headers={"x-forwarded-for": f"203.0.113.{number}"}).status_code
        for number in range(6)
    ]
    assert tried == [400] * 5 + [429]


def test_what_cannot_be_counted_is_not_looked_at_and_pages_can_still_be_read() -> None:
    person: Any = PersonFactory()
    reader = signed_in(person)
    with (
        patch.object(TriesCounted.objects, "bulk_create", side_effect=OperationalError("disk full")),
        patch.object(Person, "check_password") as looked_at,
    ):
        answer = sign_in(person.username, PASSWORD)
        assert reader.get(reverse("people:mine")).status_code == 200
    assert answer.status_code == 503
    assert "Nobody can sign in at the moment." in answer.content.decode()
    assert not looked_at.called
    assert "_auth_user_id" not in answer.client.session


def test_the_counts_name_neither_people_nor_addresses(clock: Clock) -> None:
    statuses(1, "somebody")
    kept = list(TriesCounted.objects.values_list("digest", flat=True))
    assert len(kept) == 3
    assert not any("somebody" in one or "192.0.2.1" in one for one in kept)


def test_old_counts_go(clock: Clock) -> None:
    statuses(1, "somebody")
    clock.passes(days=3)
    statuses(1, "another", "192.0.2.2")
    assert TriesCounted.objects.count() == 3


def test_guessing_the_password_at_a_signature_waits_too() -> None:
    person: Any = PersonFactory()
    assert [is_own_password(person, "wrong", at=AT) for _try in range(5)] == [False] * 5
    with pytest.raises(Refusal, match="Too many tries"):
        is_own_password(person, PASSWORD, at=AT)
    assert is_own_password(person, PASSWORD, at=AT + MINUTE)
    assert is_own_password(person, PASSWORD, at=AT + MINUTE)
