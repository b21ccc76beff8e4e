"""When an answered question comes back: exactly as often as honesty prices it, and on the day that is said."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from tests.factories.bank import QuestionFactory, QuestionVersionFactory, accept_all, pick_one, ready_workshop
from tests.factories.drill import OPENED_AT, answered_turn
from tests.factories.people import PersonFactory, WorksTowardsFactory
from training.bank.models import QuestionVersion
from training.bank.queries import question_of
from training.core.memory.honesty import RETURNS, STEP, WEEK_LATER_DAYS, After
from training.core.permission.unsafe import SECOND_RETURN
from training.core.questions.kinds import Commitment, Kind, Topic
from training.drill.actions import open_drill, record_talk_through
from training.drill.picking import comes_back
from training.drill.queries import history_of
from training.drill.returning import Returning, last_sessions, returns_of
from training.people.models import Person

pytestmark = [pytest.mark.django_db, pytest.mark.db]
DAY, HOUR = timedelta(days=1), timedelta(hours=1)
ACT, ASK = Commitment.ACT, Commitment.ASK


@pytest.fixture
def person() -> Person:
    return PersonFactory()


@pytest.fixture
def version(person: Person) -> QuestionVersion:
    return ready_workshop(person.workshop, [Kind.PICK_ONE] * 4)[0]


@pytest.fixture
def mild(person: Person) -> QuestionVersion:
    """A question of lesser consequence that somebody on the way to job type C is asked."""
    ready_workshop(person.workshop, [Kind.PICK_ONE] * 3)
    question = QuestionFactory(group=person.group)
    found: QuestionVersion = QuestionVersionFactory(
        question=question, topic=Topic.METERS, content=pick_one(question.ident, consequence="injury")
    )
    accept_all(person.workshop, [found])
    WorksTowardsFactory(person=person, job_type="C")
    return found


def back_at(person: Person, version: QuestionVersion, at: datetime) -> datetime:
    return comes_back(person, [question_of(version, 0)], at=at)[version.question.ident]


def first_asked(person: Person, at: datetime) -> str:
    drill = open_drill(person=person, minutes=1, at=at)
    return drill.turns.order_by("position")[0].version.question.ident


def sure_of(person: Person, version: QuestionVersion, days: tuple[int, ...] = (0, 1, 3, 7)) -> datetime:
    """Right answers on these days; returns the last instant."""
    for day in days:
        answered_turn(person, version, OPENED_AT + day * DAY)
    return OPENED_AT + days[-1] * DAY


@pytest.mark.parametrize("commitment", [ACT, ASK])
def test_a_wrong_answer_comes_back_next_day_before_other_questions(
    person: Person, version: QuestionVersion, commitment: Commitment
) -> None:
    last = sure_of(person, version) + 7 * DAY
    answered_turn(person, version, last, right=False, commitment=commitment)
    assert last + 12 * HOUR < back_at(person, version, last) < last + 13 * HOUR
    assert first_asked(person, last + DAY) == version.question.ident


def test_a_right_but_careful_answer_comes_back_one_step_sooner_than_a_sound_one(
    person: Person, version: QuestionVersion
) -> None:
    twin = PersonFactory(workshop=person.workshop)
    for day in (0, 1, 3, 7, 16):
        last = OPENED_AT + day * DAY
        for one, commitment in ((person, ASK if day == 16 else ACT), (twin, ACT)):
            answered_turn(one, version, last, commitment=commitment)
    careful, sound = (back_at(one, version, last) - last for one in (person, twin))
    assert careful < sound
    assert careful / DAY == pytest.approx(sound / DAY / STEP)


def test_commitment_moves_no_recall(person: Person, version: QuestionVersion) -> None:
    twin = PersonFactory(workshop=person.workshop)
    for one, commitment in ((person, ASK), (twin, ACT)):
        answered_turn(one, version, OPENED_AT, commitment=commitment)
    recalls = [history_of(one).recall().traces[version.question.ident] for one in (person, twin)]
    assert recalls[0] == recalls[1]


def test_a_first_careful_answer_comes_back_next_day(person: Person, version: QuestionVersion) -> None:
    answered_turn(person, version, commitment=ASK)
    assert back_at(person, version, OPENED_AT) < OPENED_AT + DAY


def test_a_sound_answer_after_the_return_ends_it(person: Person, version: QuestionVersion) -> None:
    answered_turn(person, version, right=False, commitment=ASK)
    answered_turn(person, version, OPENED_AT + DAY)
    assert last_sessions(history_of(person).answers)[version.question.ident].after is None


def test_a_right_answer_in_the_same_session_or_too_fast_does_not_end_it(
    person: Person, version: QuestionVersion
) -> None:
    answered_turn(person, version, right=False, commitment=ASK)
    answered_turn(person, version, OPENED_AT + HOUR)
    assert last_sessions(history_of(person).answers)[version.question.ident].after is After.HELD_BACK
    answered_turn(person, version, OPENED_AT + DAY, taking=timedelta(milliseconds=200))
    assert last_sessions(history_of(person).answers)[version.question.ident].after is After.HELD_BACK


def returns_of_unsafe(person: Person, version: QuestionVersion) -> int:
    """How often an unsafe answer brings its question back by rule, each time answered right the day it comes."""
    ident, at, count = version.question.ident, OPENED_AT, 0
    while (back := Returning(history_of(person)).unsafe.get(ident)) and (
        back.until_right or history_of(person).recall().traces[ident].last_at < back.at
    ):
        at = back.at + HOUR
        answered_turn(person, version, at)
        count += 1
    return count


def test_an_unsafe_answer_to_a_life_question_comes_back_as_often_as_it_is_priced(
    person: Person, version: QuestionVersion
) -> None:
    unsafe = answered_turn(person, version, right=False)
    mentor = PersonFactory(workshop=person.workshop)
    record_talk_through(person=person, answer=unsafe.record_number or 0, note="Leads.", by=mentor, at=OPENED_AT + HOUR)
    assert returns_of_unsafe(person, version) == RETURNS[After.UNSAFE] == 2


def test_one_of_lesser_consequence_comes_back_as_often_without_waiting_for_a_talk_through(
    person: Person, mild: QuestionVersion
) -> None:
    answered_turn(person, mild, right=False)
    assert returns_of_unsafe(person, mild) == RETURNS[After.UNSAFE]


def test_a_late_talk_through_brings_no_third_return_where_nobody_had_to_wait_for_it(
    person: Person, mild: QuestionVersion
) -> None:
    unsafe = answered_turn(person, mild, right=False)
    assert returns_of_unsafe(person, mild) == 2
    mentor = PersonFactory(workshop=person.workshop)
    record_talk_through(
        person=person, answer=unsafe.record_number or 0, note="Leads.", by=mentor, at=OPENED_AT + 20 * DAY
    )
    assert returns_of_unsafe(person, mild) == 0


def test_a_life_question_waits_for_its_talk_through_with_the_second_return(
    person: Person, version: QuestionVersion
) -> None:
    answered_turn(person, version, right=False)
    answered_turn(person, version, OPENED_AT + DAY)
    assert returns_of(history_of(person).unsafe()) == {}


@pytest.mark.parametrize(("commitment", "after"), [(ASK, After.HELD_BACK), (ACT, None)])
def test_held_back_comes_back_once(
    person: Person, version: QuestionVersion, commitment: Commitment, after: After | None
) -> None:
    sure_of(person, version)
    answered_turn(person, version, OPENED_AT + 14 * DAY, right=after is None, commitment=commitment)
    assert last_sessions(history_of(person).answers)[version.question.ident].after is after
    answered_turn(person, version, OPENED_AT + 15 * DAY)
    assert last_sessions(history_of(person).answers)[version.question.ident].after is None
    assert RETURNS[After.HELD_BACK] == 1


def test_the_week_is_the_one_after_which_the_watch_ends() -> None:
    assert timedelta(days=WEEK_LATER_DAYS) == SECOND_RETURN


def test_a_question_answered_three_times_takes_what_it_took_this_person(
    person: Person, version: QuestionVersion
) -> None:
    for day, seconds in enumerate((20, 50, 80)):
        assert Returning(history_of(person)).seconds(version.question.ident) is None
        answered_turn(person, version, OPENED_AT + day * DAY, taking=timedelta(seconds=seconds))
    assert Returning(history_of(person)).seconds(version.question.ident) == 50.0
