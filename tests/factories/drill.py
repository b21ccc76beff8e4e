"""Drills, turns and recorded answers for tests."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import factory

from tests.factories.bank import QuestionVersionFactory
from tests.factories.people import PersonFactory
from training.bank.models import QuestionVersion
from training.bank.queries import question_of
from training.core.questions.kinds import Commitment, Kind, Question
from training.core.questions.marking import right_keys
from training.drill import actions
from training.drill.models import Drill, Turn
from training.people.models import Person

OPENED_AT = datetime(2026, 3, 2, 7, tzinfo=UTC)
READING_TIME = timedelta(seconds=30)


class DrillFactory(factory.django.DjangoModelFactory[Drill]):
    class Meta:
        model = Drill

    person = factory.SubFactory(PersonFactory)
    workshop = factory.SelfAttribute("person.workshop")
    minutes = 5
    seconds_each = 35.0
    opened_at = OPENED_AT


class TurnFactory(factory.django.DjangoModelFactory[Turn]):
    class Meta:
        model = Turn

    drill = factory.SubFactory(DrillFactory)
    position = 1
    version = factory.SubFactory(QuestionVersionFactory)
    seed = factory.Sequence(lambda n: n)


def asked_turn(person: Person, version: QuestionVersion, at: datetime = OPENED_AT) -> Turn:
    """A question shown to a person in a drill of its own; any drill still open is closed before."""
    for held in Drill.objects.filter(person=person, closed_at=None):
        actions.close_drill(drill=held, at=at)
    turn = TurnFactory(drill=DrillFactory(person=person, opened_at=at), version=version)
    actions.show_turn(turn=turn, at=at)
    return turn


def response_to(question: Question, *, right: bool = True) -> tuple[str, ...]:
    """A right answer to a question of any kind, or a wrong one."""
    if question.number is not None:
        return (repr(question.number.value + (0 if right else 10 * question.number.tolerance + 1)),)
    keys = right_keys(question)
    if right:
        return keys
    if question.kind is Kind.PUT_IN_ORDER:
        return keys[::-1]
    return tuple(option.key for option in question.options if option.key not in keys)[:1]


def answered_turn(
    person: Person,
    version: QuestionVersion,
    at: datetime = OPENED_AT,
    *,
    right: bool = True,
    commitment: Commitment = Commitment.ACT,
    taking: timedelta = READING_TIME,
) -> Turn:
    """An answer recorded at ``at``, after so much time to read."""
    turn = asked_turn(person, version, at - taking)
    response = response_to(question_of(version, turn.seed), right=right)
    reply = actions.Reply(response=response, commitment=commitment)
    return actions.record_answer(turn=turn, reply=reply, by=person, at=at)
