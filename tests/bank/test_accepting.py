"""What a checker accepts counts at that workshop from then on, and only that."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from tests.factories.bank import (
    LOADED_AT,
    QuestionFactory,
    QuestionVersionFactory,
    accept_all,
    pick_one,
)
from tests.factories.people import PersonFactory, RoleHeldFactory, WorkshopFactory
from training.bank.actions import accept
from training.bank.models import QuestionVersion
from training.bank.queries import accepted_in, newest_versions, unreadable_acceptances, waiting_for_acceptance
from training.core.questions.kinds import Topic
from training.people.models import Person, RoleHeld, Workshop
from training.records.actions import Refused
from training.records.models import Body, Record
from training.records.queries import head_of
from training.records.triggers import away

pytestmark = [pytest.mark.django_db, pytest.mark.db]


@pytest.fixture
def workshop() -> Workshop:
    return WorkshopFactory()


@pytest.fixture
def checker(workshop: Workshop) -> Person:
    person = PersonFactory(workshop=workshop)
    RoleHeldFactory(person=person, role=RoleHeld.Role.CHECKER)
    return person


@pytest.fixture
def waiting(workshop: Workshop) -> list[QuestionVersion]:
    topics = (Topic.WORK_AREA, Topic.WORK_AREA, Topic.RESCUE)
    return [QuestionVersionFactory(question__group=workshop.group, topic=topic) for topic in topics]


def page(workshop: Workshop) -> str:
    return reverse("bank:acceptance", args=[workshop.slug])


def signed_in(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def test_a_loaded_question_counts_nowhere_until_it_is_accepted(
    workshop: Workshop, waiting: list[QuestionVersion]
) -> None:
    assert accepted_in(workshop) == []
    accept_all(workshop, waiting[:1])
    (accepted,) = accepted_in(workshop)
    assert (accepted.ident, accepted.version) == (waiting[0].question.ident, 1)
    assert waiting_for_acceptance(workshop) == sorted(waiting[1:], key=lambda version: version.question.ident)


def test_acceptance_at_one_site_says_nothing_about_another(workshop: Workshop, waiting: list[QuestionVersion]) -> None:
    accept_all(workshop, waiting)
    assert accepted_in(WorkshopFactory(group=workshop.group)) == []


def test_a_newer_version_is_asked_only_once_it_is_accepted_and_keeps_the_day_of_the_first(
    workshop: Workshop, waiting: list[QuestionVersion]
) -> None:
    accept_all(workshop, waiting[:1])
    newer = QuestionVersionFactory(question=waiting[0].question, number=2)
    assert accepted_in(workshop)[0].version == 1
    accept_all(workshop, [newer], at=LOADED_AT + timedelta(days=40))
    (accepted,) = accepted_in(workshop)
    assert (accepted.version, accepted.version_id, accepted.accepted_on) == (2, newer.pk, LOADED_AT.date())


def test_what_was_accepted_later_is_not_known_at_an_earlier_record(
    workshop: Workshop, waiting: list[QuestionVersion]
) -> None:
    accept_all(workshop, waiting[:1])
    known_at = head_of(workshop.group.chain_id).number
    accept_all(workshop, waiting[1:])
    assert len(accepted_in(workshop, known_at=known_at)) == 1
    assert len(accepted_in(workshop)) == 3


def test_a_question_of_another_regime_is_never_asked_here(workshop: Workshop) -> None:
    question = QuestionFactory(group=workshop.group)
    foreign = QuestionVersionFactory(question=question, content=pick_one(question.ident, regime="US"))
    accept_all(workshop, [foreign])
    assert accepted_in(workshop) == []
    assert waiting_for_acceptance(workshop) == []


def test_the_day_of_acceptance_is_the_workshops_own(waiting: list[QuestionVersion], workshop: Workshop) -> None:
    workshop.zone = "Pacific/Auckland"
    accept_all(workshop, waiting[:1], at=LOADED_AT.replace(hour=23))
    assert accepted_in(workshop)[0].accepted_on == (LOADED_AT + timedelta(days=1)).date()


def test_nothing_another_groups_and_ones_own_cannot_be_accepted(workshop: Workshop, checker: Person) -> None:
    own = QuestionVersionFactory(question__group=workshop.group, author=checker.full_name)
    stranger = PersonFactory()
    ours = QuestionVersionFactory(question__group=workshop.group)
    for versions, by in (([], checker), ([QuestionVersionFactory()], checker), ([own], checker), ([ours], stranger)):
        with pytest.raises(Refused):
            accept(workshop=workshop, versions=versions, by=by, at=LOADED_AT)
    assert not Record.objects.exists()


def test_an_acceptance_that_cannot_be_read_is_named(workshop: Workshop, waiting: list[QuestionVersion]) -> None:
    accept_all(workshop, waiting)
    assert unreadable_acceptances(workshop) == ()
    with away(connection):
        Body.objects.update(text='{"surprise": 1}')
    assert unreadable_acceptances(workshop) == (1,)
    assert unreadable_acceptances(workshop, known_at=0) == ()


def test_the_newest_version_of_each_question_stands_for_it(waiting: list[QuestionVersion], workshop: Workshop) -> None:
    newer = QuestionVersionFactory(question=waiting[0].question, number=2)
    assert newest_versions(workshop.group_id)[newer.question.ident] == newer


def test_the_page_shows_what_waits_with_key_and_reasons(
    workshop: Workshop, checker: Person, waiting: list[QuestionVersion]
) -> None:
    answer = signed_in(checker).get(page(workshop))
    assert answer.status_code == 200
    for sentence in ("3 questions count for nobody", "Only a proved tester shows", "common practice, no source"):
        assert sentence in answer.content.decode()


def test_ticked_questions_are_accepted(workshop: Workshop, checker: Person, waiting: list[QuestionVersion]) -> None:
    answer = signed_in(checker).post(page(workshop), {"version": [waiting[0].pk, waiting[2].pk]})
    assert (answer.status_code, answer["Location"]) == (302, page(workshop))
    assert {row.version_id for row in accepted_in(workshop)} == {waiting[0].pk, waiting[2].pk}


def test_a_whole_topic_is_accepted_at_once(workshop: Workshop, checker: Person, waiting: list[QuestionVersion]) -> None:
    signed_in(checker).post(page(workshop), {"topic": "work area"})
    assert {row.version_id for row in accepted_in(workshop)} == {waiting[0].pk, waiting[1].pk}


@pytest.mark.parametrize("post", [{}, {"version": "0"}, {"version": "x"}, {"topic": "gardening"}, {"topic": "PPE"}])
def test_a_malformed_acceptance_is_a_400_with_a_sentence(
    workshop: Workshop, checker: Person, waiting: list[QuestionVersion], post: dict[str, str]
) -> None:
    answer = signed_in(checker).post(page(workshop), post)
    assert answer.status_code == 400
    assert "Tick at least one" in answer.content.decode() or "hoose" in answer.content.decode()
    assert accepted_in(workshop) == []


def test_only_a_checker_of_the_group_sees_the_page(workshop: Workshop, checker: Person) -> None:
    assert signed_in(PersonFactory(workshop=workshop)).get(page(workshop)).status_code == 403
    foreign = PersonFactory()
    RoleHeldFactory(person=foreign, role=RoleHeld.Role.CHECKER)
    assert signed_in(foreign).get(page(workshop)).status_code == 404
    assert Client().get(page(workshop)).status_code == 302
    assert signed_in(checker).put(page(workshop)).status_code == 405


def test_what_costs_a_life_stands_first_in_its_topic_and_is_counted(workshop: Workshop, checker: Person) -> None:
    for number, consequence in enumerate(("damage", "injury", "life", "life"), 1):
        ident = f"q{number}"
        QuestionVersionFactory(
            question__group=workshop.group,
            question__ident=ident,
            topic=Topic.RESCUE,
            content=pick_one(ident, consequence=consequence, stem=f"Number {number}?"),
        )
    html = signed_in(checker).get(page(workshop)).content.decode()
    assert [html.index(f"Number {number}?") for number in (3, 4, 2, 1)] == sorted(
        html.index(f"Number {number}?") for number in (1, 2, 3, 4)
    )
    assert "2 questions are about acts that cost a life" in html
    assert "(4, 2 of life)" in html
    accept_all(workshop, list(QuestionVersion.objects.filter(consequence="life")))
    html = signed_in(checker).get(page(workshop)).content.decode()
    assert "Accept first what kills." not in html
