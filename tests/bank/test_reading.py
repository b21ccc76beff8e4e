"""Stored questions, tasks and rule books as the core reads them; what no longer reads is not shown, clears nobody."""

from __future__ import annotations

import json

import pytest
from django.db import transaction

from tests.factories.bank import (
    LOADED_AT,
    QuestionVersionFactory,
    TaskVersionFactory,
    WorkedOutVersionFactory,
    put_book_in_force,
)
from tests.factories.people import PersonFactory, WorkshopFactory
from training.bank.actions import put_in_force
from training.bank.facts import RuleBookInForce
from training.bank.models import QuestionVersion
from training.bank.queries import Unreadable, newest_tasks, question_of, task_of, titles_of
from training.bank.rule_books import rule_book_of, starting_book
from training.core.questions.kinds import Kind
from training.people.models import Workshop
from training.records.actions import append
from training.records.models import Record
from training.records.queries import head_of

pytestmark = [pytest.mark.django_db, pytest.mark.db]


@pytest.mark.parametrize("kind", list(Kind))
def test_a_stored_version_reads_back_as_its_kind(kind: Kind) -> None:
    version = QuestionVersionFactory(kind=kind)
    question = question_of(QuestionVersion.objects.get(pk=version.pk), seed=7)
    assert (question.id, question.kind, question.author) == (version.question.ident, kind, "Hookside")


def test_a_worked_out_version_is_the_same_for_the_same_seed_and_another_for_another() -> None:
    version = WorkedOutVersionFactory()
    assert question_of(version, 1) == question_of(version, 1)
    assert len({question_of(version, seed).situation for seed in range(20)}) > 1


def test_a_version_that_no_longer_reads_says_so() -> None:
    broken = QuestionVersionFactory(content={"id": "x"}, consequence="life", regime="all")
    content = {"id": "gone", "generator": "gone_since", "review_by": "2027-11-30"}
    for version in (broken, WorkedOutVersionFactory(content=content)):
        with pytest.raises(Unreadable, match="cannot be shown"):
            question_of(version, 1)


def test_without_a_rule_book_there_is_none() -> None:
    assert rule_book_of(WorkshopFactory()) is None


def test_the_newest_rule_book_is_in_force_and_the_former_one_is_known_at_its_time() -> None:
    workshop = WorkshopFactory()
    put_book_in_force(workshop)
    known_at = head_of(workshop.group.chain_id).number
    put_in_force(
        workshop=workshop, book={**starting_book(), "version": 2}, by=PersonFactory(workshop=workshop), at=LOADED_AT
    )
    assert [_version(workshop), _version(workshop, known_at), _version(workshop, 0)] == [2, 1, None]


def _version(workshop: Workshop, known_at: int | None = None) -> int | None:
    book = rule_book_of(workshop, known_at=known_at)
    return book.version if book else None


@pytest.mark.parametrize("text", ["not json", "[]", "{}", json.dumps({"version": 2, "job_types": []})])
def test_a_rule_book_that_no_longer_reads_counts_as_none_even_above_a_sound_one(text: str) -> None:
    workshop = WorkshopFactory()
    put_book_in_force(workshop)
    fact = RuleBookInForce(workshop=workshop.key, version=2, book=text, by="m" * 32)
    with transaction.atomic():
        append(fact, chain_id=workshop.group.chain_id, about=workshop.key, at=LOADED_AT)
    assert rule_book_of(workshop) is None


def test_a_rule_book_with_faults_is_not_put_in_force() -> None:
    workshop = WorkshopFactory()
    with pytest.raises(ValueError, match="job_types"):
        put_in_force(workshop=workshop, book={"version": 1}, by=PersonFactory(workshop=workshop), at=LOADED_AT)
    assert not Record.objects.exists()


def test_tasks_stand_in_the_order_of_their_numbers_with_their_newest_titles() -> None:
    second, tenth = TaskVersionFactory(ident="T2"), TaskVersionFactory(ident="T10")
    tenth.group = second.group
    tenth.save()
    TaskVersionFactory(group=second.group, ident="T2", number=2, title="The newer title")
    assert list(newest_tasks(second.group_id)) == ["T2", "T10"]
    assert titles_of(second.group_id, ["T2", "T99"]) == {"T2": "The newer title", "T99": "T99"}
    assert task_of(newest_tasks(second.group_id)["T2"]).steps[1].critical
