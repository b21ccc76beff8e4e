"""Disputed answers and talk-throughs: what speaks for a person counts for nothing, what speaks against stays."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import transaction

from tests.board.house import NOW, House, answer, make_house, talk
from tests.factories.people import ManagerFactory
from training.board.queries import board_of, decision_for, read_workshop
from training.core.memory.gates import gate_low
from training.core.permission.decision import Ground, Mode
from training.drill.actions import check_recall, refold
from training.drill.models import PersonBelief
from training.drill.queries import history_of, kept_recall, newest_answer, recall_of
from training.drill.tasks import refold_behind
from training.people import disputing
from training.people.models import Person, RoleHeld
from training.people.refusal import Refusal
from training.records.models import Record
from training.records.queries import head_of, marks_of

pytestmark = [pytest.mark.django_db, pytest.mark.db]
HOUR, DAY = timedelta(hours=1), timedelta(days=1)


@pytest.fixture
def house() -> House:
    return make_house()


@pytest.fixture
def other(house: House) -> Person:
    return ManagerFactory(workshop=house.workshop)


def answers_of(house: House, question: str) -> list[int]:
    return [row.number for row in history_of(house.tina).answers if row.fact and row.fact.question == question]


def dispute(house: House, record: int, days: float = 1) -> Record:
    return disputing.dispute(person=house.tina, record=record, what="That was not me.", at=NOW + days * DAY)


def settle(dispute: Record, house: House, by: Person, *, stands: bool, days: float = 2) -> None:
    disputing.settle(
        person=house.tina, record=dispute.number, stands=stands, reason="Asked both.", by=by, at=NOW + days * DAY
    )


def mode(house: House, days: float) -> Mode:
    return decision_for(house.tina, house.workshop, "A", NOW + days * DAY).mode


def grounds(house: House, days: float) -> set[Ground]:
    return {gap.ground for gap in decision_for(house.tina, house.workshop, "A", NOW + days * DAY).gaps}


def test_disputed_right_answers_count_for_nothing_at_once_and_again_once_they_stand(
    house: House, other: Person
) -> None:
    assert mode(house, 0) is Mode.ALONE
    before = head_of(house.chain_id).number
    disputes = [dispute(house, number) for number in answers_of(house, "question-1")]
    assert Ground.RECALL_LIFE_QUESTIONS in grounds(house, 1.1)
    assert marks_of(house.chain_id, [house.tina.key])[house.tina.key] > before
    for one in disputes:
        settle(one, house, other, stands=True)
    assert mode(house, 2.1) is Mode.ALONE


def test_a_question_answered_only_by_what_is_disputed_was_not_answered(house: House) -> None:
    for number in answers_of(house, "question-1"):
        dispute(house, number)
    assert "question-1" not in recall_of(house.tina).traces


def test_a_right_answer_withdrawn_by_a_settled_dispute_never_counts_again(house: House, other: Person) -> None:
    for disputed in [dispute(house, number) for number in answers_of(house, "question-1")]:
        settle(disputed, house, other, stands=False)
    assert Ground.RECALL_LIFE_QUESTIONS in grounds(house, 3)


def test_a_dispute_of_a_right_answer_raises_no_gate(house: House) -> None:
    """Two right answers in one session: without the first, the second would be the first of its session."""
    first = answer(house, house.tina, house.questions[0], at=NOW + HOUR)
    answer(house, house.tina, house.questions[0], at=NOW + 8 * HOUR)
    held = recall_of(house.tina).traces["question-1"].gate
    dispute(house, first.number)
    now = recall_of(house.tina).traces["question-1"].gate
    assert held.last_at == NOW + HOUR
    assert now.last_at is not None
    assert now.last_at < held.last_at
    assert now.ln_hold is not None
    assert held.ln_hold is not None
    assert now.ln_hold <= held.ln_hold


def test_a_dispute_raises_no_other_question_either(house: House) -> None:
    """The belief about the person counts an answer fewer, and what later answers gained beside it stays as it was."""
    at = NOW + 2 * DAY
    before = recall_of(house.tina)
    dispute(house, answers_of(house, "question-2")[1])
    after = recall_of(house.tina)
    for question, trace in after.traces.items():
        low = gate_low(trace.gate, after.gate_moments, at)
        assert low <= gate_low(before.traces[question].gate, before.gate_moments, at)


def test_a_disputed_unsafe_answer_blocks_until_it_was_decided_that_it_is_withdrawn(house: House, other: Person) -> None:
    unsafe = answer(house, house.tina, house.questions[0], at=NOW + HOUR, right=False)
    disputed = dispute(house, unsafe.number)
    assert Ground.UNSAFE_ANSWER in grounds(house, 1.1)
    assert recall_of(house.tina).traces["question-1"].last_right is False
    settle(disputed, house, other, stands=False)
    assert mode(house, 2.1) is Mode.ALONE
    assert unsafe.number not in answers_of(house, "question-1")


def test_an_unsafe_answer_that_stands_goes_on_blocking(house: House, other: Person) -> None:
    unsafe = answer(house, house.tina, house.questions[0], at=NOW + HOUR, right=False)
    settle(dispute(house, unsafe.number), house, other, stands=True)
    assert Ground.UNSAFE_ANSWER in grounds(house, 2.1)


def test_a_disputed_talk_through_and_a_disputed_right_answer_each_open_the_unsafe_one_again(house: House) -> None:
    unsafe = answer(house, house.tina, house.questions[0], at=NOW + HOUR, right=False)
    talked = talk(house, house.tina, unsafe, house.questions[0], at=NOW + 2 * HOUR)
    right = answer(house, house.tina, house.questions[0], at=NOW + DAY)
    assert Ground.UNSAFE_ANSWER not in grounds(house, 1.5)
    dispute(house, talked.number, 2)
    assert Ground.UNSAFE_ANSWER in grounds(house, 2.1)
    talk(house, house.tina, unsafe, house.questions[0], at=NOW + 3 * DAY)
    assert Ground.UNSAFE_ANSWER not in grounds(house, 3.1)
    dispute(house, right.number, 4)
    assert Ground.UNSAFE_ANSWER in grounds(house, 4.1)


def test_what_was_known_before_a_dispute_is_answered_as_before(house: House) -> None:
    before = head_of(house.chain_id).number
    for number in answers_of(house, "question-1"):
        dispute(house, number)
    known_then = board_of(house.workshop, at=NOW, read_at=NOW + 3 * DAY, known_at=before)
    assert known_then[house.tina.key]["A"].mode is Mode.ALONE
    assert history_of(house.tina, known_at=before).discounted == ()


def test_kept_recall_is_read_by_nobody_between_a_dispute_and_the_next_fold(house: House, other: Person) -> None:
    refold(person=house.tina)
    number = history_of(house.tina).parameter_set.number

    def kept() -> object:
        return kept_recall(house.tina, newest=newest_answer(house.tina), parameter_set=number)

    assert kept() == history_of(house.tina).recall()
    disputed = dispute(house, answers_of(house, "question-1")[-1])
    assert kept() is None
    refold_behind()
    assert kept() == history_of(house.tina).recall()
    settle(disputed, house, other, stands=True)
    assert kept() is None
    assert check_recall(person=house.tina, at=NOW)
    refold_behind()
    assert kept() == history_of(house.tina).recall()
    assert PersonBelief.objects.get(person=house.tina).newest_answer == history_of(house.tina).newest


def test_decisions_are_the_same_from_the_cache_and_from_the_records(house: House) -> None:
    dispute(house, answers_of(house, "question-1")[-1])
    slow = decision_for(house.tina, house.workshop, "B", NOW + 2 * DAY)
    refold(person=house.tina)
    assert decision_for(house.tina, house.workshop, "B", NOW + 2 * DAY) == slow
    assert read_workshop(house.workshop, read_at=NOW + 2 * DAY).newest


def test_a_manager_with_no_part_in_it_settles_an_answer_and_never_the_person(house: House, other: Person) -> None:
    number = answers_of(house, "question-1")[0]
    disputed = dispute(house, number)
    for stranger in (house.tina, house.rob, house.foreign_manager):
        with pytest.raises(Refusal), transaction.atomic():
            settle(disputed, house, stranger, stands=True)
    with pytest.raises(Refusal, match="no such record about you"):
        disputing.dispute(person=house.rob, record=number, what="Mine?", at=NOW + 2 * DAY)
    settle(disputed, house, other, stands=True)


def test_whoever_talked_an_answer_through_does_not_settle_a_dispute_of_it(house: House, other: Person) -> None:
    unsafe = answer(house, house.tina, house.questions[0], at=NOW + HOUR, right=False)
    talked = talk(house, house.tina, unsafe, house.questions[0], at=NOW + 2 * HOUR)
    RoleHeld.objects.create(person=house.mentor, role=RoleHeld.Role.MANAGER)
    disputed = dispute(house, talked.number)
    with pytest.raises(Refusal, match="You wrote"):
        settle(disputed, house, house.mentor, stands=True)
    settle(disputed, house, other, stands=True)
