"""A workshop opens with a first manager, a second signer and a rule book, signed by two; or nothing is entered."""

from __future__ import annotations

import io
from collections.abc import Mapping
from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from tests.factories.people import ManagerFactory, PersonFactory
from training.bank.rule_book_checks import may_confirm
from training.bank.rule_books import rule_book_of
from training.people.facts import WorkshopOpened
from training.people.models import Person, Workshop, WorkshopGroup
from training.people.queries import is_manager
from training.people.sentences import names_of, said
from training.records.models import Chain, Record
from training.records.queries import facts_of, head_of

pytestmark = [pytest.mark.django_db, pytest.mark.db]
AT = datetime(2026, 3, 2, 9, tzinfo=UTC)
GIVEN: Mapping[str, Any] = {
    "group": "quay", "group_name": "Quay Garage", "slug": "quay-one", "name": "Quay One", "zone": "Europe/Berlin",
    "regime": "UK", "opened_on": "2026-03-02", "manager": "mona,Mona,Brand,1", "second": "sven,Sven,Holt,2",
}  # fmt: skip


@pytest.fixture(autouse=True)
def _clock(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timezone, "now", lambda: AT)


def opened(**changed: Any) -> str:
    out = io.StringIO()
    call_command("open_workshop", stdout=out, **{**GIVEN, **changed})
    return out.getvalue()


def refused(**changed: Any) -> str:
    """What is said of it; that nothing was entered is looked at as well."""
    before = (Workshop.objects.count(), WorkshopGroup.objects.count(), Person.objects.count(), Record.objects.count())
    with pytest.raises(CommandError, match="Nothing was entered") as wrong:
        opened(**changed)
    after = (Workshop.objects.count(), WorkshopGroup.objects.count(), Person.objects.count(), Record.objects.count())
    assert before == after
    return str(wrong.value)


def test_a_new_group_opens_with_two_signatures_and_the_rule_book_of_its_regime() -> None:
    assert "Quay One is open" in opened()
    workshop = Workshop.objects.get(slug="quay-one")
    manager, second = Person.objects.get(username="mona"), Person.objects.get(username="sven")
    (signed,) = facts_of([WorkshopOpened], chain_id=workshop.group.chain_id, about=workshop.key)
    assert signed.fact is not None
    assert (signed.fact.by, signed.fact.second) == (manager.key, second.key)
    assert signed.fact.opened_on == workshop.opened_on == date(2026, 3, 2)
    assert (
        said(signed, names_of(workshop.group_id))
        == "Quay One opened on 2 Mar 2026, signed by Mona Brand and Sven Holt."
    )
    book = rule_book_of(workshop)
    assert book is not None
    assert book.regime == "UK"
    assert head_of(workshop.group.chain_id).is_sound


def test_the_second_signer_of_a_new_group_may_confirm_rule_books_and_is_no_manager() -> None:
    opened()
    workshop, second = Workshop.objects.get(slug="quay-one"), Person.objects.get(username="sven")
    assert may_confirm(second, workshop)
    assert not is_manager(second)
    assert not second.has_usable_password()


def test_a_second_workshop_of_a_group_is_signed_by_managers_on_record() -> None:
    here = ManagerFactory()
    other = ManagerFactory(workshop=here.workshop)
    opened(group=here.group.slug, group_name="", manager=here.username, second=other.username)
    assert Workshop.objects.get(slug="quay-one").group_id == here.group_id
    assert Chain.objects.filter(group__workshops__slug="quay-one").count() == 1


def test_all_faults_are_told_at_once_and_nothing_is_entered() -> None:
    told = refused(
        group="Quay!", group_name="", slug="Quay One", name=" ", zone="Berlin", regime="FR", manager="m m,,Brand,0",
        second="m m,Sven,Holt,two",
    )  # fmt: skip
    for fault in ("group:", "group-name:", "slug:", "name:", "zone:", "regime:", "manager: give a tally",
                  "manager: give the given name", "second: give a tally", "another person"):  # fmt: skip
        assert fault in told


@pytest.mark.parametrize("opened_on", ["", "2026-02-30", "0001-01-01", "9999-12-31", "2026-03-03", "yesterday"])
def test_a_day_that_cannot_be_meant_is_refused(opened_on: str) -> None:
    assert "opened-on:" in refused(opened_on=opened_on)


def test_one_person_does_not_sign_twice() -> None:
    assert "another person" in refused(second="Mona,Sven,Holt,2")
    assert "tally 1 is the manager's" in refused(second="sven,Sven,Holt,1")


def test_a_signature_has_one_or_four_parts() -> None:
    assert "has 2 parts" in refused(second="sven,Sven")


def test_only_managers_of_the_same_group_who_are_still_there_sign_unless_they_are_new() -> None:
    here = ManagerFactory()
    technician = PersonFactory(workshop=here.workshop)
    in_group = {"group": here.group.slug, "manager": here.username}
    assert "no manager of the group" in refused(**in_group, second=technician.username)
    assert "another group" in refused(**in_group, second=ManagerFactory().username)
    assert "another group" in refused(manager=here.username)
    gone = ManagerFactory(workshop=here.workshop, is_active=False)
    assert "has left" in refused(**in_group, second=gone.username)
    assert "belongs to somebody of the group" in refused(**in_group, second=f"new,New,Face,{here.tally}")
    assert "write it that way" in refused(**in_group, second=here.username.upper())


def test_what_no_option_gives_is_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []

    def answer(question: str) -> str:
        asked.append(question)
        return "Quay One"

    monkeypatch.setattr("builtins.input", answer)
    opened(name=None)
    assert [question.split(":")[0] for question in asked] == ["Name of the workshop"]
    assert Workshop.objects.get(slug="quay-one").name == "Quay One"


def test_where_nobody_types_what_is_missing_is_a_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    def nobody(_question: str) -> str:
        raise EOFError

    monkeypatch.setattr("builtins.input", nobody)
    assert "name: give the workshop's name" in refused(name=None)


def test_a_workshop_opens_once() -> None:
    opened()
    assert "already" in refused(manager="mona", second="ulf,Ulf,Berg,3")
