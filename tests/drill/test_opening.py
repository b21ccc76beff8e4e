"""Opening a drill: what it asks, when it goes on, when it is over."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest

from tests.factories.bank import (
    QuestionFactory,
    QuestionVersionFactory,
    WorkedOutVersionFactory,
    accept_all,
    pick_one,
    put_book_in_force,
    ready_workshop,
)
from tests.factories.drill import OPENED_AT, answered_turn, asked_turn, response_to
from tests.factories.people import PersonFactory, WorkshopFactory, WorksTowardsFactory
from training.bank.models import QuestionVersion
from training.bank.queries import question_of
from training.core.questions.kinds import Commitment, Kind, Topic
from training.drill.actions import Reply, fresh_seed, open_drill, record_answer, record_talk_through, show_turn
from training.drill.models import Drill, Turn
from training.drill.queries import next_turn, spent_seconds
from training.people.actions import appoint
from training.people.models import Person
from training.records.actions import Refused

pytestmark = [pytest.mark.django_db, pytest.mark.db]
DAY = timedelta(days=1)


def asked_by(drill: Drill) -> list[str]:
    return [turn.version.question.ident for turn in drill.turns.order_by("position")]


@pytest.fixture
def person() -> Person:
    return PersonFactory()


def test_a_drill_asks_what_is_accepted_and_no_more_than_fits_but_for_one_to_spare(person: Person) -> None:
    versions = ready_workshop(person.workshop, [Kind.PICK_ONE] * 12)
    drill = open_drill(person=person, minutes=2, at=OPENED_AT)
    assert set(asked_by(drill)) < {version.question.ident for version in versions}
    assert (drill.turns.count() - 1) * drill.seconds_each <= 120


def answer_next(drill: Drill, at: datetime, taking: timedelta) -> Turn:
    turn = next_turn(drill)
    assert turn is not None
    show_turn(turn=turn, at=at)
    response = response_to(question_of(turn.version, turn.seed))
    reply = Reply(response=response, commitment=Commitment.ACT)
    return record_answer(turn=turn, reply=reply, by=drill.person, at=at + taking)


@pytest.mark.parametrize(("taking_s", "answers"), [(60, 2), (53, 2), (51, 3)])
def test_a_drill_ends_when_its_minutes_are_up_and_the_rest_waits(person: Person, taking_s: int, answers: int) -> None:
    ready_workshop(person.workshop, [Kind.PICK_ONE] * 12)
    drill = open_drill(person=person, minutes=2, at=OPENED_AT)
    for number in range(answers):
        answer_next(drill, OPENED_AT + number * timedelta(minutes=5), timedelta(seconds=taking_s))
        drill.refresh_from_db()
        assert (drill.closed_at is not None) == (number + 1 == answers)
    assert drill.turns.filter(answered_at=None).count() == drill.turns.count() - answers


def test_a_phone_put_away_costs_two_minutes_and_not_the_drill(person: Person) -> None:
    ready_workshop(person.workshop, [Kind.PICK_ONE] * 12)
    drill = open_drill(person=person, minutes=5, at=OPENED_AT)
    answer_next(drill, OPENED_AT, timedelta(minutes=50))
    drill.refresh_from_db()
    assert (drill.closed_at, spent_seconds(drill)) == (None, 120)


def test_a_second_tap_and_coming_back_go_on_with_the_same_drill(person: Person) -> None:
    ready_workshop(person.workshop)
    drill = open_drill(person=person, minutes=5, at=OPENED_AT)
    assert open_drill(person=person, minutes=10, at=OPENED_AT + timedelta(hours=11)) == drill
    assert Drill.objects.count() == 1


def test_after_a_shift_the_old_drill_is_closed_and_a_new_one_opens(person: Person) -> None:
    ready_workshop(person.workshop)
    old = open_drill(person=person, minutes=5, at=OPENED_AT)
    new = open_drill(person=person, minutes=5, at=OPENED_AT + timedelta(hours=12))
    old.refresh_from_db()
    assert (old.closed_at, new.closed_at) == (OPENED_AT + timedelta(hours=12), None)


def test_without_a_rule_book_or_an_accepted_question_there_is_nothing_to_drill(person: Person) -> None:
    for make_ready in (lambda: None, lambda: put_book_in_force(person.workshop)):
        make_ready()
        with pytest.raises(Refused, match="a checker accepts"):
            open_drill(person=person, minutes=5, at=OPENED_AT)
    assert not Drill.objects.exists()


def test_when_all_was_answered_this_shift_the_answer_is_to_come_back_tomorrow(person: Person) -> None:
    (version,) = ready_workshop(person.workshop)
    answered_turn(person, version)
    with pytest.raises(Refused, match="Come back tomorrow"):
        open_drill(person=person, minutes=5, at=OPENED_AT + timedelta(hours=1))
    assert asked_by(open_drill(person=person, minutes=5, at=OPENED_AT + DAY)) == [version.question.ident]


def test_what_is_due_comes_before_what_is_not(person: Person) -> None:
    known, lapsed = ready_workshop(person.workshop, [Kind.PICK_ONE] * 2)
    answered_turn(person, lapsed, OPENED_AT, right=False, commitment=Commitment.ASK)
    for day in (0, 1, 3, 7, 14, 30, 60):
        answered_turn(person, known, OPENED_AT + day * DAY)
    assert asked_by(open_drill(person=person, minutes=5, at=OPENED_AT + 61 * DAY))[0] == lapsed.question.ident


def test_an_unsafe_answer_comes_back_the_next_day_before_anything_else(person: Person) -> None:
    versions = ready_workshop(person.workshop, [Kind.PICK_ONE] * 4)
    answered_turn(person, versions[2], right=False)
    assert asked_by(open_drill(person=person, minutes=5, at=OPENED_AT + DAY))[0] == versions[2].question.ident


def test_an_unsafe_answer_is_asked_again_until_right_and_about_a_week_after_it_was_closed(person: Person) -> None:
    unsafe, *_rest = ready_workshop(person.workshop, [Kind.PICK_ONE] * 4)
    first = answered_turn(person, unsafe, right=False)
    answered_turn(person, unsafe, OPENED_AT + DAY)
    record_talk_through(
        person=person, answer=first.record_number or 0, note="Leads.", by=PersonFactory(), at=OPENED_AT + DAY
    )
    week = open_drill(person=person, minutes=1, at=OPENED_AT + 8 * DAY)
    assert asked_by(week)[0] == unsafe.question.ident


def test_a_wrong_answer_between_the_two_returns_comes_back_the_next_day(person: Person) -> None:
    unsafe, *_rest = ready_workshop(person.workshop, [Kind.PICK_ONE] * 4)
    first = answered_turn(person, unsafe, right=False)
    answered_turn(person, unsafe, OPENED_AT + DAY)
    record_talk_through(
        person=person, answer=first.record_number or 0, note="Leads.", by=PersonFactory(), at=OPENED_AT + DAY
    )
    answered_turn(person, unsafe, OPENED_AT + 3 * DAY, right=False, commitment=Commitment.ASK)
    assert asked_by(open_drill(person=person, minutes=1, at=OPENED_AT + 4 * DAY))[0] == unsafe.question.ident


def test_only_life_questions_of_the_lowest_job_type_are_asked_of_somebody_new(person: Person) -> None:
    (asked,) = ready_workshop(person.workshop)
    mild = QuestionFactory(group=person.group)
    other = [
        QuestionVersionFactory(question=mild, content=pick_one(mild.ident, consequence="damage")),
        QuestionVersionFactory(question__group=person.group, topic=Topic.ISOLATION),
    ]
    accept_all(person.workshop, other)
    assert asked_by(open_drill(person=person, minutes=5, at=OPENED_AT)) == [asked.question.ident]


def test_what_counts_for_nothing_is_asked_for_practice_once_all_that_counts_holds(person: Person) -> None:
    """Of the lowest job type three life questions a topic count, those with the first ids of one day."""
    counted, rest = six_of_a_topic(person)
    assert set(asked_by(open_drill(person=person, minutes=5, at=OPENED_AT))) <= {ident_of(one) for one in counted}
    answered_for_two_months(person, counted)
    asked = asked_by(open_drill(person=person, minutes=5, at=OPENED_AT + 61 * DAY))
    assert asked[-3:] == [ident_of(one) for one in rest]
    assert set(asked[:-3]) <= {ident_of(one) for one in counted}


def test_practice_too_asks_nothing_twice_in_a_session(person: Person) -> None:
    counted, rest = six_of_a_topic(person)
    answered_for_two_months(person, counted)
    answered_turn(person, rest[0], OPENED_AT + 61 * DAY)
    asked = asked_by(open_drill(person=person, minutes=5, at=OPENED_AT + 61 * DAY + timedelta(hours=1)))
    assert asked[-2:] == [ident_of(one) for one in rest[1:]]
    assert ident_of(rest[0]) not in asked


def six_of_a_topic(person: Person) -> tuple[list[QuestionVersion], list[QuestionVersion]]:
    """The three that count and the three that do not."""
    versions = sorted(ready_workshop(person.workshop, [Kind.PICK_ONE] * 6), key=ident_of)
    return versions[:3], versions[3:]


def answered_for_two_months(person: Person, versions: list[QuestionVersion]) -> None:
    for day in (1, 3, 7, 14, 30, 60):
        for version in versions:
            answered_turn(person, version, OPENED_AT + day * DAY)


def ident_of(version: QuestionVersion) -> str:
    return version.question.ident


def test_what_one_works_towards_and_is_appointed_for_is_asked_too(person: Person) -> None:
    ready_workshop(person.workshop)
    meters = QuestionVersionFactory(question__group=person.group, topic=Topic.METERS)
    accept_all(person.workshop, [meters])
    appointed = PersonFactory(workshop=person.workshop)
    WorksTowardsFactory(person=person, job_type="C")
    _appoint(appointed)
    for one in (person, appointed):
        assert meters.question.ident in asked_by(open_drill(person=one, minutes=5, at=OPENED_AT))


def _appoint(person: Person) -> None:
    from tests.factories.people import ManagerFactory

    appoint(
        person=person,
        workshop=person.workshop,
        job_types=["C"],
        from_day=date(2026, 2, 1),
        through_day=date(2026, 12, 31),
        reason="Course passed.",
        by=ManagerFactory(workshop=person.workshop),
        at=OPENED_AT - DAY,
    )


def test_the_same_numbers_never_come_twice(person: Person) -> None:
    version = WorkedOutVersionFactory(question__group=person.group)
    put_book_in_force(person.workshop)
    accept_all(person.workshop, [version])
    seen = []
    for day in range(12):
        drill = open_drill(person=person, minutes=5, at=OPENED_AT + day * DAY)
        turn = drill.turns.get()
        seen.append(question_of(turn.version, turn.seed).situation)
    assert len(set(seen)) == len(seen)


def test_a_seed_from_the_records_counts_as_asked_too(person: Person) -> None:
    version = WorkedOutVersionFactory(question__group=person.group)
    first = fresh_seed(person.key, version, set())
    assert first is not None
    later = {fresh_seed(person.key, version, {first}), fresh_seed(person.key, version, {first, 5})}
    assert first not in later
    assert None not in later


def test_a_question_that_can_no_longer_be_shown_is_left_out(person: Person) -> None:
    (sound,) = ready_workshop(person.workshop)
    content = {"id": "gone", "generator": "gone_since", "review_by": "2027-11-30"}
    accept_all(person.workshop, [WorkedOutVersionFactory(question__group=person.group, content=content)])
    assert asked_by(open_drill(person=person, minutes=5, at=OPENED_AT)) == [sound.question.ident]


def test_a_question_of_another_workshop_is_not_asked(person: Person) -> None:
    ready_workshop(WorkshopFactory(group=person.group))
    put_book_in_force(person.workshop)
    with pytest.raises(Refused):
        open_drill(person=person, minutes=5, at=OPENED_AT)


def test_an_answer_too_fast_leaves_an_unsafe_one_open(person: Person) -> None:
    unsafe, *_rest = ready_workshop(person.workshop, [Kind.PICK_ONE] * 4)
    answered_turn(person, unsafe, right=False)
    answered_turn(person, unsafe, OPENED_AT + DAY, taking=timedelta(milliseconds=200))
    assert asked_by(open_drill(person=person, minutes=1, at=OPENED_AT + 2 * DAY))[0] == unsafe.question.ident


def test_a_turn_shown_keeps_its_first_moment_and_its_order(person: Person) -> None:
    turn = asked_turn(person, QuestionVersionFactory(question__group=person.group, kind=Kind.PUT_IN_ORDER))
    before = (turn.shown_at, turn.order)
    turn.refresh_from_db()
    assert (turn.shown_at, turn.order) == before == (OPENED_AT, turn.order)
    assert sorted(turn.order) == ["a", "b", "c", "d"] != turn.order
