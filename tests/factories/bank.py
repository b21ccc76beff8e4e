"""Questions and practical tasks for tests, one of each kind, accepted and with a rule book in force where asked for."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any

import factory

from tests.factories.people import PersonFactory, WorkshopGroupFactory
from training.bank import actions
from training.bank.models import Question, QuestionVersion, TaskVersion
from training.bank.rule_books import starting_book
from training.core.questions.kinds import Kind, Topic
from training.people.models import Workshop

LOADED_AT = datetime(2026, 1, 5, 8, tzinfo=UTC)
PAPERS = {"source": ["common practice, no source"], "review_by": "2027-11-30", "regime": "all", "consequence": "life"}


def pick_one(ident: str, **changes: Any) -> dict[str, Any]:
    """A pick-one entry as the bank keeps it; the right option is the second, key b."""
    options = [
        {"text": "Close the lid and go on", "reason": "A closed lid hides what is still live."},
        {"text": "Stop and prove it dead", "reason": "Only a proved tester shows that it is dead.", "right": True},
        {"text": "Touch it with one hand", "reason": "One hand is enough to close a circuit."},
    ]
    plain = {"id": ident, "kind": "pick one", "situation": "A lid is open.", "stem": "What comes next?"}
    return {**plain, "options": options, **PAPERS, **changes}


def pick_all(ident: str, **changes: Any) -> dict[str, Any]:
    """A pick-all entry; right are a and c."""
    options = [
        {"text": "Look at the leather", "reason": "A wire can stick in it.", "right": True},
        {"text": "Wash with petrol", "reason": "Petrol swells rubber."},
        {"text": "Trap air in each glove", "reason": "It shows a pinhole.", "right": True},
    ]
    plain = {"id": ident, "kind": "pick all", "situation": "Gloves lie ready.", "stem": "What do you do first?"}
    return {**plain, "options": options, **PAPERS, **changes}


def put_in_order(ident: str, **changes: Any) -> dict[str, Any]:
    """A put-in-order entry; the right order is a, b, c, d."""
    texts = ["Read the procedure", "Cordon the bay", "Open the disconnect", "Measure every pair"]
    options = [{"text": text, "reason": "The step before makes this one safe."} for text in texts]
    plain = {"id": ident, "kind": "put in order", "situation": "A van waits.", "stem": "Put these steps in order."}
    return {**plain, "options": options, **PAPERS, **changes}


def work_out(ident: str, **changes: Any) -> dict[str, Any]:
    """A work-out entry; the answer is 12.5 V, give or take 0.5."""
    answer = {"value": 12.5, "unit": "V", "tolerance": 0.5, "reason": "Half of 25 V."}
    plain = {"id": ident, "kind": "work out", "situation": "Two equal parts share 25 V.", "stem": "What has each?"}
    return {**plain, "answer": answer, **PAPERS, **changes}


ENTRIES = {
    Kind.PICK_ONE: pick_one,
    Kind.PICK_ALL: pick_all,
    Kind.PUT_IN_ORDER: put_in_order,
    Kind.WORK_OUT: work_out,
}


class QuestionFactory(factory.django.DjangoModelFactory[Question]):
    class Meta:
        model = Question

    group = factory.SubFactory(WorkshopGroupFactory)
    ident = factory.Sequence(lambda n: f"question-{n}")


class QuestionVersionFactory(factory.django.DjangoModelFactory[QuestionVersion]):
    """The first version of a work-area question that a wrong act makes cost a life; ``kind`` chooses its entry."""

    class Meta:
        model = QuestionVersion

    question = factory.SubFactory(QuestionFactory)
    number = 1
    topic = Topic.WORK_AREA
    kind = Kind.PICK_ONE
    consequence = factory.LazyAttribute(lambda version: version.content["consequence"])
    regime = factory.LazyAttribute(lambda version: version.content["regime"])
    content = factory.LazyAttribute(lambda version: ENTRIES[Kind(version.kind)](version.question.ident))
    digest = factory.Sequence(lambda n: f"{n:064d}")
    author = "Hookside"
    loaded_at = LOADED_AT


class WorkedOutVersionFactory(QuestionVersionFactory):
    """A worked-out work-area question."""

    worked_out = "cordon_verdict"
    consequence = "life"
    regime = "all"
    content = factory.LazyAttribute(
        lambda version: {"id": version.question.ident, "generator": "cordon_verdict", "review_by": "2027-11-30"}
    )


class TaskVersionFactory(factory.django.DjangoModelFactory[TaskVersion]):
    class Meta:
        model = TaskVersion

    group = factory.SubFactory(WorkshopGroupFactory)
    ident = factory.Sequence(lambda n: f"T{n + 1}")
    number = 1
    title = factory.Sequence(lambda n: f"Task {n + 1}")
    topic = Topic.ISOLATION
    minutes = 20
    content = factory.LazyAttribute(
        lambda task: {
            "id": task.ident,
            "version": task.number,
            "title": task.title,
            "topic": task.topic.value,
            "minutes": task.minutes,
            "source": ["common practice, no source"],
            "steps": [
                {"text": "Read the procedure", "critical": False, "looks_for": "The right vehicle."},
                {"text": "Measure every pair", "critical": True, "looks_for": "Each pair named."},
            ],
            "ends_with": "What would you do if the tester failed?",
        }
    )
    digest = factory.Sequence(lambda n: f"{n:064d}")
    loaded_at = LOADED_AT


def put_book_in_force(workshop: Workshop, at: datetime = LOADED_AT) -> None:
    """The starting rule book comes into force at a workshop."""
    actions.put_in_force(workshop=workshop, book=starting_book(), by=PersonFactory(workshop=workshop), at=at)


def accept_all(workshop: Workshop, versions: Iterable[QuestionVersion], at: datetime = LOADED_AT) -> None:
    """Somebody accepts these versions for a workshop."""
    checker = PersonFactory(workshop=workshop)
    actions.accept(workshop=workshop, versions=list(versions), by=checker, at=at)


def ready_workshop(workshop: Workshop, kinds: Iterable[Kind] = (Kind.PICK_ONE,)) -> list[QuestionVersion]:
    """A rule book in force and one accepted question of each of these kinds, in this order of their ids."""
    put_book_in_force(workshop)
    versions = [QuestionVersionFactory(question__group=workshop.group, kind=kind) for kind in kinds]
    accept_all(workshop, versions)
    return versions
