"""Recording an answer: once, with its outcome, moving recall as a fold of all answers would."""

from __future__ import annotations

import random
from datetime import timedelta

import pytest
from django.db import transaction

from tests.factories.bank import QuestionVersionFactory, WorkedOutVersionFactory
from tests.factories.drill import OPENED_AT, answered_turn, asked_turn, response_to
from tests.factories.people import PersonFactory
from training.bank.queries import question_of
from training.core.questions.kinds import Commitment, Kind, Outcome
from training.core.questions.marking import BadAnswer
from training.drill.actions import Reply, check_recall, record_answer, record_talk_through, refold, reorder
from training.drill.facts import Answered
from training.drill.models import PersonBelief, RecallState, Turn
from training.drill.queries import history_of, kept_recall, newest_answer, recall_of
from training.drill.tasks import CacheDrifted, check_recall_caches, refold_recall
from training.people.models import Person
from training.records.actions import Refused, append
from training.records.models import Record
from training.records.queries import facts_of

pytestmark = [pytest.mark.django_db, pytest.mark.db]
DAY = timedelta(days=1)
LATER = OPENED_AT + timedelta(seconds=30)
OUTCOMES = [
    (True, Commitment.ACT, Outcome.SOUND),
    (True, Commitment.ASK, Outcome.CAREFUL),
    (False, Commitment.ASK, Outcome.HELD_BACK),
    (False, Commitment.ACT, Outcome.UNSAFE),
]


@pytest.fixture
def person() -> Person:
    return PersonFactory()


def reply_to(turn: Turn, *, right: bool = True, commitment: Commitment = Commitment.ACT) -> Reply:
    return Reply(response=response_to(question_of(turn.version, turn.seed), right=right), commitment=commitment)


def facts_about(person: Person) -> list[Answered]:
    written = facts_of([Answered], chain_id=person.group.chain_id, about=person.key)
    return [row.fact for row in written if row.fact]


@pytest.mark.parametrize("kind", list(Kind))
@pytest.mark.parametrize(("right", "commitment", "outcome"), OUTCOMES)
def test_each_kind_and_commitment_comes_to_its_outcome(
    person: Person, kind: Kind, right: bool, commitment: Commitment, outcome: Outcome
) -> None:
    version = QuestionVersionFactory(question__group=person.group, kind=kind)
    turn = answered_turn(person, version, LATER, right=right, commitment=commitment)
    (fact,) = facts_about(person)
    assert turn.outcome == fact.outcome == outcome
    assert (fact.right, fact.commitment, fact.topic, fact.milliseconds) == (right, commitment, "work area", 30_000)
    assert fact.too_fast is False


@pytest.mark.parametrize(("right", "outcome"), [(True, "sound"), (False, "unsafe")])
def test_a_worked_out_question_is_marked_on_its_own_numbers(person: Person, right: bool, outcome: str) -> None:
    version = WorkedOutVersionFactory(question__group=person.group)
    turn = answered_turn(person, version, LATER, right=right)
    assert (turn.outcome, facts_about(person)[0].seed) == (outcome, turn.seed)


def test_the_chance_of_a_lucky_guess_is_on_record(person: Person) -> None:
    for kind in Kind:
        answered_turn(person, QuestionVersionFactory(question__group=person.group, kind=kind), LATER)
    # pick one 1/3, pick all 1/(2^3 - 1), put in order 1/4!, work out 0.02 (memory-model.md section 5)
    assert [fact.chance_floor_ppm for fact in facts_about(person)] == [333_333, 142_857, 41_667, 20_000]


def test_a_second_tap_changes_nothing_and_comes_to_the_first_outcome(person: Person) -> None:
    turn = asked_turn(person, QuestionVersionFactory(question__group=person.group))
    stale = Turn.objects.get(pk=turn.pk)
    first = record_answer(turn=turn, reply=reply_to(turn), by=person, at=LATER)
    second = record_answer(turn=stale, reply=reply_to(turn, right=False), by=person, at=LATER + DAY)
    assert (second.outcome, second.answered_at, second.record_number) == ("sound", LATER, first.record_number)
    assert Record.objects.count() == 1


def test_an_answer_that_cannot_be_marked_records_nothing(person: Person) -> None:
    turn = asked_turn(person, QuestionVersionFactory(question__group=person.group))
    for response in ((), ("z",), ("a", "b"), ("b", "b")):
        with pytest.raises(BadAnswer):
            record_answer(turn=turn, reply=Reply(response=response, commitment=Commitment.ACT), by=person, at=LATER)
    assert not Record.objects.exists()
    assert not RecallState.objects.exists()


def test_somebody_elses_turn_cannot_be_answered(person: Person) -> None:
    turn = asked_turn(person, QuestionVersionFactory(question__group=person.group))
    with pytest.raises(Turn.DoesNotExist):
        record_answer(turn=turn, reply=reply_to(turn), by=PersonFactory(workshop=person.workshop), at=LATER)


def test_a_turn_of_a_closed_drill_is_refused(person: Person) -> None:
    version = QuestionVersionFactory(question__group=person.group)
    old = asked_turn(person, version)
    asked_turn(person, version, OPENED_AT + DAY)
    with pytest.raises(Refused, match="not open now"):
        record_answer(turn=old, reply=reply_to(old), by=person, at=OPENED_AT + DAY)


def test_the_last_answer_closes_the_drill(person: Person) -> None:
    turn = answered_turn(person, QuestionVersionFactory(question__group=person.group), LATER)
    turn.drill.refresh_from_db()
    assert turn.drill.closed_at == LATER


def test_an_answer_faster_than_reading_is_on_record_as_such_and_moves_no_gate(person: Person) -> None:
    version = QuestionVersionFactory(question__group=person.group)
    turn = answered_turn(person, version, LATER, taking=timedelta(milliseconds=300))
    assert turn.too_fast
    assert facts_about(person)[0].too_fast
    assert recall_of(person).traces[version.question.ident].gate.ln_hold is None


def test_an_answer_never_shown_counts_as_too_fast(person: Person) -> None:
    turn = asked_turn(person, QuestionVersionFactory(question__group=person.group))
    Turn.objects.filter(pk=turn.pk).update(shown_at=None)
    assert record_answer(turn=turn, reply=reply_to(turn), by=person, at=LATER).too_fast


def test_steps_are_moved_only_among_themselves(person: Person) -> None:
    turn = asked_turn(person, QuestionVersionFactory(question__group=person.group, kind=Kind.PUT_IN_ORDER))
    reorder(turn=turn, order=["d", "c", "b", "a"])
    with pytest.raises(BadAnswer):
        reorder(turn=turn, order=["d", "c", "b", "b"])
    assert Turn.objects.get().order == ["d", "c", "b", "a"]


def test_the_cache_is_the_fold_after_every_answer(person: Person) -> None:
    chance = random.Random(11)
    versions = [QuestionVersionFactory(question__group=person.group, kind=kind) for kind in Kind]
    at = LATER
    for _n in range(25):
        at += chance.choice([timedelta(minutes=2), timedelta(hours=13), timedelta(days=4)])
        taking = chance.choice([timedelta(milliseconds=100), timedelta(seconds=20)])
        commitment = chance.choice(list(Commitment))
        answered_turn(
            person, chance.choice(versions), at, right=chance.random() < 0.7, commitment=commitment, taking=taking
        )
        kept = kept_recall(person, newest=newest_answer(person), parameter_set=1)
        assert kept == history_of(person).recall()


def append_only(person: Person, ident: str, *, days: int, recorded: int = 50) -> None:
    """An answer on record that no cache has seen, as a phone's late answer or a loaded history leaves it."""
    fact = Answered(
        turn="0" * 32,
        workshop=person.workshop.key,
        question=ident,
        version=1,
        topic="work area",
        consequence="life",
        seed=0,
        response=["b"],
        right=True,
        commitment="act",
        outcome="sound",
        too_fast=False,
        milliseconds=9000,
        chance_floor_ppm=333_333,
    )
    with transaction.atomic():
        append(
            fact,
            chain_id=person.group.chain_id,
            about=person.key,
            at=OPENED_AT + recorded * DAY,
            happened_at=OPENED_AT + days * DAY,
        )


def test_answers_that_no_cache_has_seen_are_read_from_the_records(person: Person) -> None:
    append_only(person, "one", days=1)
    append_only(person, "two", days=2)
    assert kept_recall(person, newest=newest_answer(person), parameter_set=1) is None
    assert set(recall_of(person).traces) == {"one", "two"}


def test_an_answer_onto_a_missing_or_stale_cache_folds_everything(person: Person) -> None:
    version = QuestionVersionFactory(question__group=person.group)
    append_only(person, "one", days=1)
    answered_turn(person, version, OPENED_AT + 51 * DAY)
    append_only(person, "two", days=3, recorded=55)
    answered_turn(person, version, OPENED_AT + 60 * DAY)
    kept = kept_recall(person, newest=newest_answer(person), parameter_set=1)
    assert kept == history_of(person).recall()
    assert set(kept.traces) == {"one", "two", version.question.ident}


def test_a_late_answer_is_folded_where_it_happened(person: Person) -> None:
    version = QuestionVersionFactory(question__group=person.group)
    answered_turn(person, version, OPENED_AT + 40 * DAY)
    append_only(person, version.question.ident, days=5)
    refold(person=person)
    trace = recall_of(person).traces[version.question.ident]
    assert (trace.answers, trace.last_at) == (2, OPENED_AT + 40 * DAY)
    assert kept_recall(person, newest=newest_answer(person), parameter_set=1) == history_of(person).recall()


def test_a_cache_of_another_layout_is_not_read(person: Person) -> None:
    answered_turn(person, QuestionVersionFactory(question__group=person.group), LATER)
    expected = recall_of(person)
    PersonBelief.objects.update(packed=b"from another time")
    assert kept_recall(person, newest=newest_answer(person), parameter_set=1) is None
    assert recall_of(person) == expected
    RecallState.objects.update(trace={"surprise": 1})
    assert recall_of(person) == expected


def test_the_nightly_check_passes_over_sound_caches_and_notes_that_it_looked(person: Person) -> None:
    answered_turn(person, QuestionVersionFactory(question__group=person.group), LATER)
    check_recall_caches()
    assert PersonBelief.objects.get().checked_at is not None


def test_the_nightly_check_mends_a_cache_that_differs_and_fails(person: Person) -> None:
    answered_turn(person, QuestionVersionFactory(question__group=person.group), LATER)
    RecallState.objects.all().delete()
    with pytest.raises(CacheDrifted, match=str(person.pk)):
        check_recall_caches()
    assert recall_of(person) == history_of(person).recall()
    check_recall_caches()


def test_the_nightly_check_looks_at_those_not_seen_longest(person: Person) -> None:
    others = [PersonFactory(workshop=person.workshop) for _n in range(3)]
    version = QuestionVersionFactory(question__group=person.group)
    for one in (person, *others):
        answered_turn(one, version, LATER)
    check_recall(person=person, at=LATER)
    check_recall_caches(most=3)
    assert PersonBelief.objects.get(person=person).checked_at == LATER


def test_refolding_by_task_can_be_done_twice_and_for_somebody_who_is_gone(person: Person) -> None:
    append_only(person, "one", days=1)
    for _n in range(2):
        refold_recall(person_id=person.pk, added_in_a_later_version=True)
    refold_recall(person_id=0)
    assert RecallState.objects.get().question == "one"


def test_a_talk_through_is_recorded_once_by_somebody_else_and_with_a_note(person: Person) -> None:
    mentor = PersonFactory(workshop=person.workshop)
    turn = answered_turn(person, QuestionVersionFactory(question__group=person.group), LATER, right=False)
    number = turn.record_number or 0
    for by, answer, note in ((person, number, "x"), (mentor, number, "  "), (mentor, 999, "x")):
        with pytest.raises(Refused):
            record_talk_through(person=person, answer=answer, note=note, by=by, at=LATER + DAY)
    for _tap in range(2):
        record_talk_through(person=person, answer=number, note="We looked at it.", by=mentor, at=LATER + DAY)
    history = history_of(person)
    assert [row.fact.by for row in history.talks if row.fact] == [mentor.key]
    (unsafe,) = history.unsafe()
    assert (unsafe.talked_through, unsafe.closed_at) == (True, None)


def test_talk_and_right_answer_on_another_day_close_an_unsafe_answer(person: Person) -> None:
    mentor = PersonFactory(workshop=person.workshop)
    version = QuestionVersionFactory(question__group=person.group)
    turn = answered_turn(person, version, LATER, right=False)
    record_talk_through(person=person, answer=turn.record_number or 0, note="Leads.", by=mentor, at=LATER + DAY)
    answered_turn(person, version, LATER + 2 * DAY)
    assert history_of(person).unsafe()[0].closed_at == LATER + 2 * DAY
    assert history_of(person).until(LATER + DAY).unsafe()[0].closed_at is None
