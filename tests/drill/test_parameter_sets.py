"""Parameter sets: proposed from a group's own answers, in force by a manager, replayed with the set known then."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import transaction

from tests.core.memory.group_answers import START, group_answers
from tests.factories.people import ManagerFactory, PersonFactory
from training.core.memory.parameters import DEFAULT
from training.drill.actions import check_recall, refold
from training.drill.facts import PARAMETERS, Answered, ParametersConfirmed, ParametersProposed
from training.drill.models import PersonBelief
from training.drill.parameters import SHIPPED, parameters_of, proposals_of, set_of
from training.drill.queries import history_of, kept_recall, newest_answer, recall_of
from training.drill.refitting import confirm_parameters, propose_parameters
from training.drill.tasks import refit_parameters, refold_behind
from training.people.models import Person
from training.records.actions import Entry, Refused, append, append_many
from training.records.facts import Fact
from training.records.models import Body, Record
from training.records.queries import marks_of

pytestmark = [pytest.mark.django_db, pytest.mark.db]
NOW = START + timedelta(days=120)
LATER = timedelta(hours=1)


def answered(question: str, *, right: bool = True) -> Answered:
    return Answered(
        turn="0" * 32, workshop="w", question=question, version=1, topic="isolation", consequence="life", seed=1,
        response=["a"], right=right, commitment="act", outcome="sound" if right else "unsafe", too_fast=False,
        milliseconds=20_000, chance_floor_ppm=333_333,
    )  # fmt: skip


def set_two(**changes: Any) -> ParametersProposed:
    said: dict[str, Any] = {
        "number": 2, "base": 1, "b_milli": 9080, "fade_milli": 1087, "easiness": [("q1", -800, 250)],
        "answers": 2500, "held_out": 500, "loss_before_micro": 512_000, "loss_after_micro": 498_000,
    }  # fmt: skip
    return ParametersProposed(**(said | changes))


def write(person: Person, fact: Fact, *, at: datetime, about: str = PARAMETERS) -> Record:
    with transaction.atomic():
        return append(fact, chain_id=person.group.chain_id, about=about, at=at)


@pytest.fixture
def manager() -> Person:
    return ManagerFactory()


@pytest.fixture
def person(manager: Person) -> Person:
    """Somebody with six right answers to one question."""
    person = PersonFactory(workshop=manager.workshop)
    for days in (0, 1, 4, 11, 25, 60):
        write(person, answered("q1"), at=START + timedelta(days=days), about=person.key)
    return person


def in_force(manager: Person, proposal: ParametersProposed | None = None, *, at: datetime = NOW) -> Record:
    """Propose a set and put it in force; returns the record of the proposal."""
    record = write(manager, proposal or set_two(), at=at)
    confirm_parameters(number=(proposal or set_two()).number, by=manager, at=at + LATER)
    return record


# -------------------------------------------------------------------------------------------------------- in force
def test_until_a_manager_confirms_another_the_shipped_set_is_in_force(manager: Person) -> None:
    chain_id = manager.group.chain_id
    assert parameters_of(chain_id) == SHIPPED
    write(manager, set_two(), at=NOW)
    assert parameters_of(chain_id) == SHIPPED
    confirm_parameters(number=2, by=manager, at=NOW + LATER)
    used = parameters_of(chain_id)
    assert (used.number, used.parameters.number) == (2, 2)
    assert (used.parameters.b, used.parameters.fade) == (9.08, 1.087)
    assert used.easiness_of("q1") == (-0.8, 0.0625)
    assert used.easiness_of("another") == (0.0, DEFAULT.sd_easiness**2)


def test_what_was_known_before_the_confirmation_is_folded_with_the_set_of_then(person: Person, manager: Person) -> None:
    before = history_of(person).recall()
    record = in_force(manager)
    assert history_of(person, known_at=record.number).recall() == before
    assert parameters_of(person.group.chain_id, record.number) == SHIPPED
    now = history_of(person).recall()
    assert now != before
    assert now.traces["q1"].easiness == -0.8


def test_a_kept_recall_of_another_set_is_not_believed(person: Person, manager: Person) -> None:
    refold(person=person)
    newest = newest_answer(person)
    assert kept_recall(person, newest=newest, parameter_set=1) is not None
    in_force(manager)
    assert kept_recall(person, newest=newest, parameter_set=2) is None
    assert recall_of(person) == history_of(person).recall()
    assert PersonBelief.objects.get(person=person).parameter_set == 1


def test_the_workers_fold_anew_whoever_is_kept_with_another_set(person: Person, manager: Person) -> None:
    refold(person=person)
    in_force(manager)
    refold_behind()
    kept = kept_recall(person, newest=newest_answer(person), parameter_set=2)
    assert kept == history_of(person).recall()
    checked_before = PersonBelief.objects.get(person=person)
    refold_behind()
    assert PersonBelief.objects.get(person=person).packed == checked_before.packed


def test_the_nightly_check_compares_with_the_set_in_force(person: Person, manager: Person) -> None:
    refold(person=person)
    in_force(manager)
    assert check_recall(person=person, at=NOW + 2 * LATER)  # behind, and brought up to date
    assert PersonBelief.objects.get(person=person).parameter_set == 2
    assert check_recall(person=person, at=NOW + 3 * LATER)


def test_what_is_known_as_of_an_older_record_is_recalled_with_the_older_set(person: Person, manager: Person) -> None:
    expected = history_of(person).recall()
    number = write(person, answered("q1"), at=NOW, about=person.key).number
    in_force(manager, at=NOW + LATER)
    assert recall_of(person, before=number) == expected


# ------------------------------------------------------------------------------------------------------- confirming
def test_a_confirmation_marks_every_workshop_of_the_group(manager: Person) -> None:
    other = ManagerFactory(workshop__group=manager.group)
    keys = [manager.workshop.key, other.workshop.key]
    before = marks_of(manager.group.chain_id, keys)
    record = in_force(manager)
    after = marks_of(manager.group.chain_id, keys)
    assert before != after
    assert set(after.values()) == {record.number + 1}


def test_a_second_confirmation_changes_nothing(manager: Person) -> None:
    in_force(manager)
    confirm_parameters(number=2, by=manager, at=NOW + 2 * LATER)
    assert Record.objects.filter(kind=ParametersConfirmed.kind).count() == 1


def test_only_a_manager_of_the_group_confirms(person: Person, manager: Person) -> None:
    write(manager, set_two(), at=NOW)
    with pytest.raises(Refused, match="Only a manager"):
        confirm_parameters(number=2, by=person, at=NOW + LATER)
    with pytest.raises(Refused, match="not the newest"):
        confirm_parameters(number=2, by=ManagerFactory(), at=NOW + LATER)
    assert parameters_of(manager.group.chain_id) == SHIPPED


@pytest.mark.parametrize("number", [2, 4, 0])
def test_only_the_newest_set_is_confirmed(manager: Person, number: int) -> None:
    write(manager, set_two(), at=NOW)
    write(manager, set_two(number=3), at=NOW + LATER)
    with pytest.raises(Refused, match="not the newest"):
        confirm_parameters(number=number, by=manager, at=NOW + 2 * LATER)


def test_a_later_set_takes_over_and_the_earlier_one_stays_for_replay(person: Person, manager: Person) -> None:
    in_force(manager)
    with_two = history_of(person).recall()
    record = in_force(manager, set_two(number=3, base=2, b_milli=9900), at=NOW + 2 * LATER)
    assert parameters_of(person.group.chain_id).number == 3
    assert history_of(person, known_at=record.number).recall() == with_two
    assert history_of(person).recall() != with_two


# ------------------------------------------------------------------------------------------------------- unreadable
@pytest.mark.parametrize(
    "changes",
    [
        {"b_milli": 20_000},
        {"fade_milli": 0},
        {"fade_milli": -1087},
        {"fade_milli": 1500},
        {"number": 1},
        {"easiness": [("q1", 0, 0)]},
        {"easiness": [("q1", 99_000, 100)]},
    ],
)
def test_a_set_that_no_fit_could_have_said_is_none(changes: dict[str, Any]) -> None:
    assert set_of(set_two(**changes)) is None


def test_such_a_set_cannot_be_confirmed(manager: Person) -> None:
    write(manager, set_two(fade_milli=0), at=NOW)
    with pytest.raises(Refused, match="cannot be read"):
        confirm_parameters(number=2, by=manager, at=NOW + LATER)


@pytest.mark.parametrize("kind", [ParametersProposed.kind, ParametersConfirmed.kind])
def test_a_set_in_force_that_cannot_be_read_is_unreadable_for_everybody(
    person: Person, manager: Person, kind: str
) -> None:
    in_force(manager)
    confirmed = Record.objects.get(kind=ParametersConfirmed.kind).number
    _erase(kind)
    used = parameters_of(person.group.chain_id)
    assert (used.number, used.unreadable) == (0, (confirmed,))
    assert history_of(person).unreadable == (confirmed,)
    assert history_of(person, known_at=confirmed - 1).unreadable == ()


@pytest.mark.parametrize("proposal", [99, None])
def test_a_confirmation_of_nothing_proposed_before_it_is_unreadable(manager: Person, proposal: int | None) -> None:
    record = write(manager, set_two(), at=NOW)
    number = 3 if proposal is None else 2  # of another set than the record holds, or of no record at all
    fact = ParametersConfirmed(number=number, proposal=proposal or record.number, by=manager.key)
    confirmed = write(manager, fact, at=NOW + LATER)
    assert parameters_of(manager.group.chain_id).unreadable == (confirmed.number,)


def test_a_newer_set_mends_one_that_cannot_be_read(manager: Person) -> None:
    in_force(manager)
    _erase(ParametersConfirmed.kind)
    in_force(manager, set_two(number=3), at=NOW + 2 * LATER)
    assert parameters_of(manager.group.chain_id).number == 3


def _erase(kind: str) -> None:
    """The body gone, as by an erasure; the append-only triggers are another test's subject."""
    from django.db import connection

    from training.records.triggers import away

    with away(connection):
        Body.objects.filter(record__kind=kind).delete()


# -------------------------------------------------------------------------------------------------------- proposing
@pytest.fixture
def busy(manager: Person) -> Person:
    """A manager whose group has answered much, as people do for whom the questions are of very unlike easiness."""
    truth = replace(DEFAULT, b=DEFAULT.b - 0.8)
    answers, _easiness = group_answers(3, people=6, questions=12, sd_easiness=2.0, parameters=truth)
    people = {name: PersonFactory(workshop=manager.workshop) for name in answers}
    rows = sorted(((one.at, name, one) for name, given in answers.items() for one in given), key=lambda row: row[:2])
    entries = [
        Entry(fact=answered(one.question, right=one.right), about=people[name].key, at=at) for at, name, one in rows
    ]
    with transaction.atomic():
        append_many(entries, chain_id=manager.group.chain_id)
    return manager


def test_enough_answers_bring_a_proposal_in_whole_numbers_at_most_once_a_week(busy: Person) -> None:
    record = propose_parameters(group=busy.group, at=NOW, fewest=400)
    assert record is not None
    (written,) = proposals_of(busy.group.chain_id)
    fact = written.fact
    assert fact is not None
    assert (fact.number, fact.base, fact.answers, fact.held_out) == (2, 1, 432, 87)
    assert fact.loss_before_micro - fact.loss_after_micro >= 3_000
    assert len(fact.easiness) == 12
    assert set_of(fact) is not None
    assert "." not in record.body.text
    assert parameters_of(busy.group.chain_id) == SHIPPED
    assert propose_parameters(group=busy.group, at=NOW + timedelta(days=6), fewest=400) is None


def test_too_few_answers_propose_nothing(busy: Person) -> None:
    assert propose_parameters(group=busy.group, at=NOW, fewest=433) is None
    assert propose_parameters(group=busy.group, at=NOW) is None
    assert proposals_of(busy.group.chain_id) == []


def test_a_set_that_cannot_be_read_is_not_fitted_from(busy: Person) -> None:
    in_force(busy)
    _erase(ParametersProposed.kind)
    assert propose_parameters(group=busy.group, at=NOW + timedelta(days=30), fewest=1) is None


def test_the_weekly_task_looks_at_every_group(busy: Person) -> None:
    ManagerFactory()
    refit_parameters()
    assert Record.objects.filter(kind=ParametersProposed.kind).count() == 0  # 432 answers are too few
