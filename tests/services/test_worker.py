"""One task of each kind goes through a real Celery worker over real Redis, and its answer comes back."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.db import transaction
from django.utils import timezone

from tests.board.job_cast import job_bay, read, started_job
from tests.factories.bank import ready_workshop
from tests.factories.drill import answered_turn
from tests.factories.people import ManagerFactory, PersonFactory
from tests.factories.records import ChainFactory
from tests.records.noted import START_AT, note_many, tamper
from training.bank.facts import RuleBookInForce
from training.bank.rule_books import starting_book
from training.board.models import StoredClearance
from training.config.celery import app
from training.drill.models import PersonBelief, RecallState
from training.people.actions import enter_age
from training.people.models import Person
from training.people.standing_down import stand_down
from training.records.actions import append
from training.records.models import Body, Record

pytestmark = pytest.mark.celery
FORGED = "UPDATE records_record SET kind = 'test.forged' WHERE chain_id = %s AND number = %s"
Worker = Callable[..., Any]


def someone() -> Person:
    """A person of a workshop with the starting rule book in force; nothing is worked out for them yet."""
    person: Person = PersonFactory()
    book = RuleBookInForce(workshop=person.workshop.key, version=1, book=json.dumps(starting_book()), by=person.key)
    with transaction.atomic():
        append(book, chain_id=person.group.chain_id, about=person.workshop.key, at=START_AT)
    assert not StoredClearance.objects.exists()
    return person


def test_the_sweep_works_out_what_nobody_has_worked_out_yet(worker: Worker) -> None:
    person = someone()
    job_types = len(starting_book()["job_types"])
    assert worker("board.sweep_clearances") == job_types
    assert StoredClearance.objects.filter(person=person, mode="not cleared").count() == job_types


def test_one_person_is_worked_out(worker: Worker) -> None:
    person, other = someone(), PersonFactory()
    assert worker("board.work_out_person", person_id=person.pk) == len(starting_book()["job_types"])
    assert not StoredClearance.objects.filter(person=other).exists()


def test_nobody_is_worked_out_for_a_person_who_is_not_there(worker: Worker) -> None:
    assert worker("board.work_out_person", person_id=0) == 0


def test_a_task_of_the_next_version_with_one_more_argument_is_borne(worker: Worker) -> None:
    assert worker("board.work_out_person", person_id=0, not_known_yet=True) == 0


def test_a_sound_chain_passes_and_a_forged_one_fails_loudly(worker: Worker) -> None:
    chain = ChainFactory()
    note_many(chain.pk, 3)
    assert worker("training.records.tasks.verify_chains") is None
    tamper(FORGED, [chain.pk, 2])
    with pytest.raises(Exception, match=f"chain {chain.pk} from record 2"):
        worker("training.records.tasks.verify_chains")


def test_where_no_heads_are_kept_nothing_is_signed(worker: Worker) -> None:
    note_many(ChainFactory().pk, 1)
    assert worker("training.records.tasks.sign_heads") is None


def test_stored_decisions_are_worked_out_again(worker: Worker) -> None:
    someone()
    stored = worker("board.sweep_clearances")
    assert worker("board.replay_decisions") == stored
    StoredClearance.objects.update(decision={})
    with pytest.raises(Exception, match="clearance"):
        worker("board.replay_decisions")


def test_recall_is_folded_anew_and_caches_are_compared(worker: Worker) -> None:
    person = PersonFactory()
    (version,) = ready_workshop(person.workshop)
    answered_turn(person, version)
    RecallState.objects.filter(person=person).delete()
    assert worker("drill.refold_recall", person_id=person.pk) is None
    assert RecallState.objects.filter(person=person).count() == 1
    assert worker("drill.check_recall_caches") is None
    RecallState.objects.filter(person=person).update(question="some-other-question")
    with pytest.raises(Exception, match="not the fold"):
        worker("drill.check_recall_caches")


def test_whoever_is_behind_the_parameter_set_is_folded_anew(worker: Worker) -> None:
    person = PersonFactory()
    (version,) = ready_workshop(person.workshop)
    answered_turn(person, version)
    used = PersonBelief.objects.get(person=person).parameter_set
    PersonBelief.objects.filter(person=person).update(parameter_set=used + 7)
    assert worker("drill.refold_behind") is None
    assert PersonBelief.objects.get(person=person).parameter_set == used


def test_a_group_with_few_answers_is_proposed_no_parameters(worker: Worker) -> None:
    person = PersonFactory()
    (version,) = ready_workshop(person.workshop)
    answered_turn(person, version)
    assert worker("drill.refit_parameters") is None
    assert not Record.objects.filter(kind="drill.parameters_proposed").exists()


def test_running_jobs_are_watched_and_none_is_closed(worker: Worker) -> None:
    bay = job_bay()
    key = started_job(bay)
    assert worker("board.watch_jobs") == 0
    stand_down(person=bay.lead, job_types=None, reason="Hot smell.", medical=False, by=bay.manager, at=timezone.now())
    before = Record.objects.count()
    assert worker("board.watch_jobs") == 1
    assert read(bay, key).is_running
    assert Record.objects.count() == before


def test_whose_time_is_over_is_listed_and_nothing_of_it_goes(worker: Worker) -> None:
    manager = ManagerFactory()
    person: Any = PersonFactory(workshop=manager.workshop)
    enter_age(person=person, under_18=False, by=manager, at=START_AT)
    Person.objects.filter(pk=person.pk).update(last_day=date(2019, 3, 31))
    assert worker("board.list_due_erasures") == 1
    assert not Person.objects.get(pk=person.pk).is_active
    assert Body.objects.filter(record__about=person.key).count() == 1


def test_every_kind_of_task_is_sent_here() -> None:
    app.loader.import_default_modules()
    ours = {name for name, task in app.tasks.items() if task.run.__module__.startswith("training.")}
    assert ours == {
        "board.list_due_erasures",
        "board.replay_decisions",
        "board.sweep_clearances",
        "board.watch_jobs",
        "board.work_out_person",
        "drill.check_recall_caches",
        "drill.refit_parameters",
        "drill.refold_behind",
        "drill.refold_recall",
        "training.records.tasks.sign_heads",
        "training.records.tasks.verify_chains",
    }
