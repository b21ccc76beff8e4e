"""Working clearances out: the same answer by every way, stored once, swept until nothing is due."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest

from tests.board.house import NOW, House, answer, answered, observe, stand_down, talk, two_job_types, write
from tests.factories.people import PersonFactory, WorkshopFactory
from training.bank import actions as bank
from training.board import actions, queries, tasks
from training.board.models import StoredClearance
from training.board.queries import board_of, decide_one, decision_for, read_workshop, supervisors_worked_out
from training.board.stored import cells_of
from training.core.permission.decision import Decision, Ground, Mode
from training.drill.actions import refold
from training.people import standing_down
from training.people.models import Person
from training.people.queries import people_of, stand_downs_now
from training.records.models import Chain

pytestmark = [pytest.mark.django_db, pytest.mark.db]
HOUR = timedelta(hours=1)


def modes(house: House, at: datetime = NOW) -> dict[str, str]:
    """Job type A of everybody, as believed."""
    people = list(people_of(house.workshop))
    cells = cells_of(house.workshop, people, ["A", "B"], at=at)
    found = {person.given_name: cells[person.pk, "A"].decision for person in people}
    return {name: decision.mode.value if decision else "?" for name, decision in found.items()}


def grounds(decision: Decision) -> set[Ground]:
    return {gap.ground for gap in decision.gaps}


def test_what_is_stored_is_what_is_worked_out_from_the_records(house: House) -> None:
    actions.sweep(at=NOW)
    worked_out = board_of(house.workshop, at=NOW, read_at=NOW)
    people = list(people_of(house.workshop))
    for place, cell in cells_of(house.workshop, people, ["A", "B"], at=NOW).items():
        assert cell.decision == worked_out[cell.person.key][place[1]]


def test_one_person_alone_is_decided_as_among_all(house: House) -> None:
    together = board_of(house.workshop, at=NOW, read_at=NOW)
    reading = read_workshop(house.workshop, read_at=NOW)
    for person in people_of(house.workshop):
        finding = supervisors_worked_out(reading, besides=person, at=NOW)
        assert decide_one(reading, person, at=NOW, supervisors=finding) == together[person.key]
        for key in ("A", "B"):
            assert decision_for(person, house.workshop, key, NOW) == together[person.key][key]


def test_kept_recall_and_answers_folded_anew_decide_alike(house: House) -> None:
    folded = board_of(house.workshop, at=NOW, read_at=NOW)
    for person in people_of(house.workshop):
        refold(person=person)
    assert board_of(house.workshop, at=NOW, read_at=NOW) == folded


def test_kept_recall_is_not_used_for_a_moment_before_one_of_its_answers(house: House) -> None:
    """The answer written last is a late one from a phone: it happened before the one asked about."""
    answer(house, house.rob, house.questions[0], at=NOW + HOUR)
    written_at, happened_at = NOW + 2 * HOUR, NOW - timedelta(days=1)
    late = answered(house, house.questions[0], right=False, act=False)
    write(house, late, about=house.rob, at=written_at, happened_at=happened_at)
    folded = board_of(house.workshop, at=NOW, read_at=written_at)
    refold(person=house.rob)
    assert board_of(house.workshop, at=NOW, read_at=written_at) == folded


def test_without_a_rule_book_nobody_is_cleared_and_nothing_is_stored() -> None:
    person = PersonFactory()
    decision = decision_for(person, person.workshop, "A", NOW)
    assert (decision.mode, decision.until) == (Mode.NOT_CLEARED, None)
    assert grounds(decision) == {Ground.UNKNOWN_REQUIREMENT}
    assert actions.work_out(workshop=person.workshop, people=None, at=NOW) == 0
    assert actions.sweep(at=NOW) == 0


def test_a_job_type_that_the_rule_book_does_not_have_is_an_error(house: House) -> None:
    with pytest.raises(KeyError, match="no job type 'Z'"):
        decision_for(house.tina, house.workshop, "Z", NOW)


def test_a_broken_chain_clears_nobody_worked_out_or_stored(house: House) -> None:
    Chain.objects.filter(pk=house.chain_id).update(first_bad_number=7)
    for decisions in board_of(house.workshop, at=NOW, read_at=NOW).values():
        for decision in decisions.values():
            assert decision.mode is Mode.NOT_CLEARED
            assert Ground.CHAIN_BROKEN in grounds(decision)


def test_answers_move_recall_and_with_it_the_cell(house: House) -> None:
    actions.sweep(at=NOW)
    gap = board_of(house.workshop, at=NOW, read_at=NOW)[house.nina.key]["A"].gaps
    before = next(one for one in gap if one.ground is Ground.RECALL_LIFE_QUESTIONS)
    for days in (0, 1, 2, 3):
        for version in house.questions[:2]:
            answer(house, house.nina, version, at=NOW + timedelta(days=days))
    later = NOW + timedelta(days=3, hours=1)
    assert modes(house, later)["Nina"] == "?", "the mark has cut the cell"
    actions.sweep(at=later)
    after = cells_of(house.workshop, [house.nina], ["A"], at=later)[house.nina.pk, "A"].decision
    assert after is not None
    assert dict(before.facts)["questions"] == 2
    assert Ground.RECALL_LIFE_QUESTIONS not in grounds(after)


def test_an_unsafe_answer_to_a_life_question_blocks_at_once_until_both_have_come(house: House) -> None:
    unsafe = answer(house, house.tina, house.questions[0], at=NOW, right=False)
    assert grounds(decision_for(house.tina, house.workshop, "A", NOW + HOUR)) == {Ground.UNSAFE_ANSWER}
    talk(house, house.tina, unsafe, house.questions[0], at=NOW + HOUR)
    assert Ground.UNSAFE_ANSWER in grounds(decision_for(house.tina, house.workshop, "A", NOW + 2 * HOUR))
    answer(house, house.tina, house.questions[0], at=NOW + 26 * HOUR)
    assert decision_for(house.tina, house.workshop, "A", NOW + 27 * HOUR).mode is Mode.ALONE


def test_a_second_sweep_finds_nothing_to_do(house: House) -> None:
    assert actions.sweep(at=NOW) == 12
    rows = list(StoredClearance.objects.order_by("pk").values())
    assert actions.sweep(at=NOW) == 0
    assert list(StoredClearance.objects.order_by("pk").values()) == rows


def test_a_sweep_works_out_only_whoever_is_no_longer_believed(house: House) -> None:
    actions.sweep(at=NOW)
    answer(house, house.nina, house.questions[0], at=NOW + HOUR)
    assert actions.sweep(at=NOW + HOUR) == 2
    until = decision_for(house.tina, house.workshop, "A", NOW + HOUR).until
    assert until is not None
    actions.sweep(at=until - timedelta(minutes=1))
    assert actions.sweep(at=until) == 4, "Tina at her end, and Rob who worked under her"


def test_a_sweep_works_out_anew_what_is_missing_once_its_estimates_are_half_a_day_old(house: House) -> None:
    actions.sweep(at=NOW)
    assert actions.sweep(at=NOW + timedelta(hours=11, minutes=59)) == 0
    assert actions.sweep(at=NOW + timedelta(hours=12)) == 10, "everybody but Tina, who lacks nothing"


def test_who_is_newly_cleared_alone_opens_supervised_work_in_the_same_sweep(house: House) -> None:
    stood_down = stand_down(house, house.tina)
    actions.sweep(at=NOW)
    assert modes(house)["Rob"] == "not cleared"
    observe(house, house.tina, "T1", at=NOW + HOUR / 2)
    standing_down.release(
        person=house.tina, record=stood_down.number, reason="Talked.", by=house.manager, at=NOW + HOUR
    )
    actions.sweep(at=NOW + HOUR)
    assert (modes(house, NOW + HOUR)["Tina"], modes(house, NOW + HOUR)["Rob"]) == ("alone", "supervised")
    assert actions.sweep(at=NOW + HOUR) == 0


def test_a_further_supervisor_is_named_after_the_next_sweep(house: House) -> None:
    actions.sweep(at=NOW)
    stood_down = stand_downs_now(house.sam, NOW)[0].number
    observe(house, house.sam, "T1", at=NOW + HOUR / 4)
    standing_down.release(person=house.sam, record=stood_down, reason="Talked.", by=house.manager, at=NOW + HOUR / 2)
    actions.sweep(at=NOW + HOUR)
    rob = cells_of(house.workshop, list(people_of(house.workshop)), ["A"], at=NOW + HOUR)[house.rob.pk, "A"].decision
    assert rob is not None
    assert set(rob.supervisors) == {house.tina.key, house.sam.key}
    assert actions.sweep(at=NOW + HOUR) == 0


def test_a_late_worker_never_overwrites_a_newer_row(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    """A worker reads, Tina is stood down and worked out, and only then the worker stores what it had found."""
    old = read_workshop(house.workshop, read_at=NOW)
    stand_down(house, house.tina)
    actions.work_out(workshop=house.workshop, people=[house.tina], at=NOW)
    rows = list(StoredClearance.objects.order_by("pk").values())
    monkeypatch.setattr(actions, "read_workshop", lambda *_args, **_kept: old)
    actions.work_out(workshop=house.workshop, people=[house.tina], at=NOW)
    assert list(StoredClearance.objects.order_by("pk").values()) == rows
    assert modes(house)["Tina"] == "not cleared"


def test_a_workshop_that_fails_does_not_stop_the_others_and_is_told(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = PersonFactory(workshop=WorkshopFactory(slug="other"))
    bank.put_in_force(workshop=other.workshop, book=two_job_types(), by=other, at=NOW)
    plain = queries.read_workshop

    def failing(workshop: Any, **kept: Any) -> Any:
        if workshop.pk == house.workshop.pk:
            raise RuntimeError("no memory")
        return plain(workshop, **kept)

    monkeypatch.setattr(actions, "read_workshop", failing)
    with pytest.raises(actions.SweepIncomplete, match=house.workshop.slug):
        actions.sweep(at=NOW)
    assert StoredClearance.objects.filter(person=other).count() == 2
    assert not StoredClearance.objects.filter(workshop=house.workshop).exists()


def test_only_people_of_the_workshop_are_stored_for_it(house: House) -> None:
    assert actions.work_out(workshop=house.workshop, people=[house.stranger], at=NOW) == 0
    assert not StoredClearance.objects.exists()


def test_the_tasks_work_out_one_person_and_whatever_is_due(house: House, set_clock: Callable[[datetime], None]) -> None:
    set_clock(NOW)
    assert tasks.work_out_person(person_id=house.rob.pk) == 2
    assert tasks.work_out_person(person_id=0) == 0
    Person.objects.filter(pk=house.nina.pk).update(is_active=False)
    assert tasks.work_out_person(person_id=house.nina.pk) == 0
    assert tasks.sweep_clearances(not_known_yet=True) == 10
    assert tasks.sweep_clearances() == 0


def test_working_one_person_out_asks_the_database_seldom(
    house: House, django_assert_max_num_queries: Callable[..., Any]
) -> None:
    actions.sweep(at=NOW)
    with django_assert_max_num_queries(30):
        actions.work_out(workshop=house.workshop, people=[house.tina], at=NOW)
    assert StoredClearance.objects.get(person=house.tina, job_type="A").mode == "alone"
