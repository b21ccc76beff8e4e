"""The mentor's list: who waits to be watched, and whose unsafe answers wait to be talked through."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from html import unescape
from typing import Any

import pytest

from tests.board.house import NOW, House, answer, make_mentor, observe, signed_in, stand_down, talk
from tests.factories.bank import TaskVersionFactory
from tests.factories.people import PersonFactory
from tests.factories.signoff import DraftFactory
from training.board import actions
from training.board.queries import decision_for
from training.core.permission.decision import Ground
from training.drill.facts import TalkedThrough
from training.people.models import Person
from training.records.models import Record
from training.records.queries import facts_of

pytestmark = [pytest.mark.django_db, pytest.mark.db, pytest.mark.usefixtures("set_clock")]
HOUR = timedelta(hours=1)


def page(mentor: Person, path: str = "/watch/") -> str:
    response = signed_in(mentor).get(path)
    assert response.status_code == 200
    return unescape(response.content.decode()).replace("\xa0", " ")


def waits(mentor: Person) -> set[tuple[str, str]]:
    """Whom the page offers to watch, and at which task."""
    return set(re.findall(r'aria-label="Watch (\w+) [^:"]+: (Task \d)"', page(mentor)))


def test_a_mentor_sees_who_waits_for_the_tasks_that_they_may_observe(house: House) -> None:
    expected = {("Rob", "Task 1"), ("Rob", "Task 2"), ("Nina", "Task 1"), ("Sam", "Task 1"), ("Sam", "Task 2")}
    assert waits(house.mentor) == {*expected, ("Mona", "Task 1")}


def test_stored_and_worked_out_lists_are_the_same(house: House) -> None:
    before = waits(house.mentor)
    actions.sweep(at=NOW)
    assert waits(house.mentor) == before


def test_it_says_for_which_job_types(house: House) -> None:
    assert "For: Wash and move; Isolate" in page(house.mentor)


def test_a_task_outside_the_appointment_is_not_offered(house: House) -> None:
    make_mentor(house, house.tina, ["T2"], at=NOW)
    assert waits(house.tina) == {("Rob", "Task 2"), ("Sam", "Task 2")}


def test_whoever_is_no_mentor_sees_nobody(house: House) -> None:
    assert waits(house.rob) == set()
    assert "Nobody waits for a task that you may observe." in page(house.rob)


def test_a_mentor_who_is_stood_down_sees_nobody(house: House) -> None:
    stand_down(house, house.mentor)
    assert waits(house.mentor) == set()


def test_nobody_waits_for_themselves(house: House) -> None:
    make_mentor(house, house.rob, ["T1", "T2"], at=NOW)
    observe(house, house.rob, "T1", at=NOW)
    observe(house, house.rob, "T2", at=NOW)
    assert "Rob" not in {name for name, _task in waits(house.rob)}


def test_who_has_been_signed_off_waits_no_more(house: House) -> None:
    observe(house, house.rob, "T1", at=NOW)
    assert ("Rob", "Task 1") not in waits(house.mentor)
    assert ("Rob", "Task 2") in waits(house.mentor)


def test_nobody_of_another_group_waits(house: House) -> None:
    assert "Otto" not in page(house.mentor)
    assert waits(house.foreign_manager) == set()
    assert "No rule book is in force here" in page(house.foreign_manager)


def test_an_observation_that_was_begun_is_offered_to_its_mentor_alone(house: House) -> None:
    draft = DraftFactory(person=house.rob, mentor=house.mentor, task=house.tasks[0])
    assert f"/signoff/{draft.pk}/" in page(house.mentor)
    assert f"/signoff/{draft.pk}/" not in page(house.tina)


def test_the_list_asks_the_database_as_often_for_many_as_for_few(
    house: House, django_assert_max_num_queries: Callable[..., Any]
) -> None:
    for _ in range(5):
        PersonFactory(workshop=house.workshop)
    TaskVersionFactory(group=house.workshop.group, ident="T3")
    actions.sweep(at=NOW)
    client = signed_in(house.mentor)
    with django_assert_max_num_queries(30):
        client.get("/watch/")


# ---------------------------------------------------------------- talk-through
@pytest.fixture
def unsafe(house: House) -> Record:
    return answer(house, house.rob, house.questions[0], at=NOW, right=False)


def address(person: Person, record: Record) -> str:
    return f"/watch/talk/{person.pk}/{record.number}/"


def test_a_mentor_sees_whose_unsafe_answers_wait_by_topic_and_cost(house: House, unsafe: Record) -> None:
    html = page(house.mentor)
    assert address(house.rob, unsafe) in html
    assert "Rescue · a wrong act can cost: life" in html


def test_held_back_and_right_answers_do_not_wait(house: House) -> None:
    answer(house, house.rob, house.questions[0], at=NOW, right=False, act=False)
    answer(house, house.rob, house.questions[1], at=NOW)
    assert "/watch/talk/" not in page(house.mentor)


def test_the_mentor_reads_the_question_what_was_chosen_and_what_is_right(house: House, unsafe: Record) -> None:
    html = page(house.mentor, address(house.rob, unsafe))
    assert "What now, number 1?" in html
    assert re.search(r"Chosen, and would have acted:</b> Close the lid and go on", html)
    assert re.search(r"Right:</b> Stop and prove it dead", html)


def test_a_talk_through_is_recorded_once_and_leaves_the_list(house: House, unsafe: Record) -> None:
    client = signed_in(house.mentor)
    for _tap in range(2):
        assert client.post(address(house.rob, unsafe), {"note": "Said it back to me."}).status_code == 302
    talks = facts_of([TalkedThrough], chain_id=house.chain_id, about=house.rob.key)
    assert [(row.fact.answer, row.fact.note, row.fact.by) for row in talks if row.fact] == [
        (unsafe.number, "Said it back to me.", house.mentor.key)
    ]
    assert "/watch/talk/" not in page(house.mentor)


def test_it_closes_with_the_talk_through_and_a_right_answer_on_another_day(house: House, unsafe: Record) -> None:
    signed_in(house.mentor).post(address(house.rob, unsafe), {"note": "Said it back to me."})
    blocked = decision_for(house.rob, house.workshop, "A", NOW + HOUR)
    assert Ground.UNSAFE_ANSWER in {gap.ground for gap in blocked.gaps}
    answer(house, house.rob, house.questions[0], at=NOW + 25 * HOUR)
    closed = decision_for(house.rob, house.workshop, "A", NOW + 26 * HOUR)
    assert {gap.ground for gap in closed.gaps} == {Ground.SIGN_OFF}


@pytest.mark.parametrize("who", ["manager", "tina", "nina", "rob", "stranger", "foreign_manager"])
def test_nobody_but_a_mentor_who_may_observe_the_person_opens_it(house: House, unsafe: Record, who: str) -> None:
    client = signed_in(getattr(house, who))
    assert client.get(address(house.rob, unsafe)).status_code == 404
    assert client.post(address(house.rob, unsafe), {"note": "x"}).status_code == 404
    assert not facts_of([TalkedThrough], chain_id=house.chain_id, about=house.rob.key)


def test_nobody_talks_their_own_answer_through(house: House) -> None:
    own = answer(house, house.mentor, house.questions[0], at=NOW, right=False)
    assert signed_in(house.mentor).post(address(house.mentor, own), {"note": "x"}).status_code == 404
    assert address(house.mentor, own) not in page(house.mentor)


def test_an_answer_that_is_not_an_unsafe_one_of_this_person_is_404(house: House, unsafe: Record) -> None:
    right = answer(house, house.rob, house.questions[1], at=NOW)
    client = signed_in(house.mentor)
    assert client.get(address(house.rob, right)).status_code == 404
    assert client.get(address(house.nina, unsafe)).status_code == 404
    assert client.get(f"/watch/talk/{house.rob.pk}/999999/").status_code == 404


@pytest.mark.parametrize("posted", [{}, {"note": "  "}, {"note": "x" * 2001}])
def test_a_note_that_is_missing_or_too_long_is_a_400_with_a_sentence(
    house: House, unsafe: Record, posted: dict[str, str]
) -> None:
    response = signed_in(house.mentor).post(address(house.rob, unsafe), posted)
    assert response.status_code == 400
    assert re.search(r"Write a sentence|Shorten it", response.content.decode())
    assert not facts_of([TalkedThrough], chain_id=house.chain_id, about=house.rob.key)


def test_other_methods_are_refused(house: House, unsafe: Record) -> None:
    client = signed_in(house.mentor)
    assert client.put(address(house.rob, unsafe)).status_code == 405
    assert client.post("/watch/").status_code == 405


def test_a_question_that_can_no_longer_be_shown_can_still_be_talked_through(house: House, unsafe: Record) -> None:
    house.questions[0].content = {"id": "question-1"}
    house.questions[0].save()
    assert "cannot be shown any more" in page(house.mentor, address(house.rob, unsafe))
    assert signed_in(house.mentor).post(address(house.rob, unsafe), {"note": "Rescue."}).status_code == 302


def test_one_that_was_talked_through_says_so(house: House, unsafe: Record) -> None:
    talk(house, house.rob, unsafe, house.questions[0], at=NOW + timedelta(seconds=1))
    html = page(house.mentor, address(house.rob, unsafe))
    assert "This has been talked through." in html
    assert "<textarea" not in html
