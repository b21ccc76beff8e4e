"""Signing in and out, and the cautions that come first."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from tests.factories.people import PASSWORD, PersonFactory
from tests.people.cast import signed_in

pytestmark = [pytest.mark.django_db, pytest.mark.db]

SIGN_IN, SIGN_OUT, CAUTIONS = (f"people:{name}" for name in ("sign_in", "sign_out", "cautions"))


def sign_in(username: str, password: str, **more: str) -> Any:
    return Client().post(reverse(SIGN_IN), {"username": username, "password": password, **more})


def test_the_page_has_a_label_for_each_field_and_no_registration() -> None:
    page = Client().get(reverse(SIGN_IN)).content.decode()
    assert '<label for="id_username">' in page
    assert '<label for="id_password">' in page
    assert "egister" not in page


def test_the_right_password_signs_in_and_goes_on() -> None:
    person: Any = PersonFactory()
    assert sign_in(person.username, PASSWORD)["Location"] == "/"
    mine = reverse("people:mine")
    assert sign_in(person.username, PASSWORD, next=mine)["Location"] == mine


@pytest.mark.parametrize("place", ["https://elsewhere.example/", "//elsewhere.example", "javascript:alert(1)"])
def test_nobody_is_sent_elsewhere(place: str) -> None:
    person: Any = PersonFactory(cautions_read_at=None)
    assert sign_in(person.username, PASSWORD, next=place)["Location"] == "/"
    assert signed_in(person).post(reverse(CAUTIONS), {"next": place})["Location"] == "/"


@pytest.mark.parametrize("wrong", ["password", "username", "left", "no password set", "empty"])
def test_whatever_was_wrong_the_answer_is_the_same(wrong: str) -> None:
    person: Any = PersonFactory(is_active=wrong != "left")
    if wrong == "no password set":
        person.set_unusable_password()
        person.save()
    username = "nobody" if wrong == "username" else person.username
    password = {"password": "wrong one", "empty": ""}.get(wrong, PASSWORD)
    answer = sign_in(username, password)
    assert answer.status_code == 400
    assert "_auth_user_id" not in answer.client.session
    if wrong != "empty":
        assert "This name and password do not go together." in answer.content.decode()


def test_signing_out_is_a_post() -> None:
    client = signed_in(PersonFactory())
    assert client.get(reverse(SIGN_OUT)).status_code == 405
    assert "_auth_user_id" in client.session
    assert client.post(reverse(SIGN_OUT)).status_code == 302
    assert "_auth_user_id" not in client.session


def test_until_the_cautions_are_confirmed_every_page_leads_there() -> None:
    person: Any = PersonFactory(cautions_read_at=None)
    client = signed_in(person)
    there = reverse("people:stand_down", args=[person.pk])
    answer = client.get(there)
    assert answer["Location"] == f"{reverse(CAUTIONS)}?next=%2Fpeople%2F{person.pk}%2Fstand-down%2F"
    page = client.get(answer["Location"]).content.decode()
    assert "Hookside never says that a vehicle is safe." in page
    assert client.post(reverse(CAUTIONS), {"next": there})["Location"] == there
    assert client.get(there).status_code == 200


def test_a_post_before_the_cautions_records_nothing() -> None:
    person: Any = PersonFactory(cautions_read_at=None)
    answer = signed_in(person).post(reverse("people:stand_down", args=[person.pk]), {"reason": "tired"})
    assert answer["Location"] == reverse(CAUTIONS)
    assert not person.group.chain.records.exists()


def test_the_first_confirmation_stands() -> None:
    person: Any = PersonFactory(cautions_read_at=None)
    client = signed_in(person)
    client.post(reverse(CAUTIONS))
    person.refresh_from_db()
    first = person.cautions_read_at
    assert abs((timezone.now() - first).total_seconds()) < 60
    client.post(reverse(CAUTIONS))
    person.refresh_from_db()
    assert person.cautions_read_at == first
    assert "You have confirmed this already." in client.get(reverse(CAUTIONS)).content.decode()


def test_signing_out_needs_no_cautions() -> None:
    client = signed_in(PersonFactory(cautions_read_at=None))
    assert client.post(reverse(SIGN_OUT))["Location"] == reverse(SIGN_IN)
