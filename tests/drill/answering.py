"""A process of its own: makes a shown question and prints its turn, or answers one: python -m tests.drill.answering."""

from __future__ import annotations

import sys
from datetime import UTC, datetime, timedelta

import django


def prepare() -> None:
    """Print the number of a turn that was shown half a minute ago."""
    from tests.factories.bank import QuestionVersionFactory
    from tests.factories.drill import asked_turn
    from tests.factories.people import PersonFactory

    person = PersonFactory()
    version = QuestionVersionFactory(question__group=person.group)
    print(asked_turn(person, version, datetime.now(UTC) - timedelta(seconds=30)).pk)


def answer(turn_id: int, key: str) -> None:
    """Answer the turn with this option as soon as a line comes in, and print its outcome and record number."""
    from training.core.questions.kinds import Commitment
    from training.drill.actions import Reply, record_answer
    from training.drill.models import Turn

    turn = Turn.objects.select_related("drill__person").get(pk=turn_id)
    reply = Reply(response=(key,), commitment=Commitment.ACT)
    print("ready", flush=True)
    sys.stdin.readline()
    held = record_answer(turn=turn, reply=reply, by=turn.drill.person, at=datetime.now(UTC))
    print(held.outcome, held.record_number)


if __name__ == "__main__":
    django.setup()
    if sys.argv[1] == "prepare":
        prepare()
    else:
        answer(int(sys.argv[1]), sys.argv[2])
