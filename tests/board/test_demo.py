"""The demo group loads once, in a demo only, and shows on the first board every state that there is."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import transaction
from django.test import override_settings

from training.bank.queries import accepted_in, waiting_for_acceptance
from training.board.demo.loading import Loaded, finish, load_history
from training.board.models import StoredClearance
from training.board.queries import board_of
from training.board.stored import cells_of
from training.board.waiting import waiting_for_talk, waiting_for_tasks
from training.board.work.actions import Asked, answer
from training.board.work.crews import crews_of_day
from training.board.work.jobs import jobs_of_day
from training.board.work.now import running_at
from training.core.permission.authority import Court
from training.core.permission.decision import Decision, Ground, Mode
from training.core.permission.start_of_work import Answers
from training.core.trade import fitness
from training.drill.queries import history_of, recall_of
from training.equipment.queries import kit_of
from training.people.models import Person, new_key
from training.people.queries import people_of
from training.records.models import Chain, Record
from training.records.seal import first_bad_record
from training.signoff.queries import house_of_workshop

pytestmark = pytest.mark.db
AT = datetime(2026, 11, 25, 14, 30, tzinfo=UTC)
TODAY = AT.astimezone(ZoneInfo("Europe/Berlin")).date()
Board = dict[str, dict[str, Decision]]


@pytest.fixture(scope="module")
def loaded(django_db_setup: None, django_db_blocker: object) -> Iterator[Loaded]:
    """The demo, loaded once for all tests of this file and taken back at the end."""
    with django_db_blocker.unblock():  # type: ignore[attr-defined]
        outer = transaction.atomic()
        outer.__enter__()
        try:
            found = load_history(at=AT)
            finish(found.house, at=AT)
            yield found
        finally:
            transaction.set_rollback(True)
            outer.__exit__(None, None, None)


@pytest.fixture
def board(loaded: Loaded, db: None) -> Board:
    """Every stored clearance as the board believes it, by username."""
    found: Board = {}
    for workshop in loaded.house.workshops.values():
        people = list(people_of(workshop))
        keys = sorted(set(StoredClearance.objects.filter(workshop=workshop).values_list("job_type", flat=True)))
        cells = cells_of(workshop, people, keys, at=AT)
        for person in people:
            found[person.username] = {key: cell for key in keys if (cell := cells[person.pk, key].decision)}
    return found


def gaps(decision: Decision) -> list[tuple[Ground, str]]:
    return [(gap.ground, gap.subject) for gap in decision.gaps]


def test_every_clearance_is_worked_out_and_believed(board: Board, loaded: Loaded) -> None:
    assert len(board) == len(loaded.house.people) == 18
    assert all(len(decisions) == 8 for decisions in board.values())


def test_what_is_stored_is_what_the_records_say(board: Board, loaded: Loaded) -> None:
    site = loaded.house.workshops["northgate"]
    worked_out = board_of(site, at=AT, read_at=AT)
    assert worked_out == {person.key: board[person.username] for person in people_of(site)}


def test_the_chain_verifies_and_no_record_comes_before_the_one_ahead_of_it(loaded: Loaded, db: None) -> None:
    chain_id = loaded.house.group.chain_id
    assert first_bad_record(chain_id) is None
    instants = list(Record.objects.filter(chain_id=chain_id).order_by("number").values_list("recorded_at", flat=True))
    assert instants == sorted(instants)
    assert timedelta(days=300) < instants[-1] - instants[0] < timedelta(days=340)
    assert instants[-1] <= AT


def test_there_are_months_of_history_but_pages_stay_fast(loaded: Loaded, db: None) -> None:
    assert loaded.records == Chain.objects.get(pk=loaded.house.group.chain_id).head_number
    assert 7_000 < loaded.records < 20_000
    assert loaded.kinds["signoff.observed"] > 150


@pytest.mark.parametrize("job_type", ["C", "D"])
@pytest.mark.parametrize("username", ["tomasz", "nadia", "jonas", "imogen"])
def test_mentors_are_cleared_alone(board: Board, username: str, job_type: str) -> None:
    assert board[username][job_type].mode is Mode.ALONE


def test_somebody_is_cleared_through_a_day_and_somebody_until_a_minute(board: Board) -> None:
    through, until = board["jonas"]["C"].ends_by, board["priya"]["C"].ends_by
    assert through is not None
    assert (through.because, through.by_day) == (Ground.APPOINTMENT, TODAY + timedelta(days=9))
    assert until is not None
    assert (until.because, until.by_day) == (Ground.RECALL_LIFE_QUESTIONS, None)
    assert timedelta(days=1) < until.at - AT < timedelta(days=14)


def test_somebody_may_work_under_supervision_of_named_people(board: Board, loaded: Loaded) -> None:
    decision = board["luca"]["C"]
    assert (decision.mode, gaps(decision)) == (Mode.SUPERVISED, [(Ground.SIGN_OFF, "T3")])
    assert loaded.house.people["tomasz"].key in decision.supervisors


@pytest.mark.parametrize(
    ("username", "job_type", "missing"),
    [
        ("aylin", "B", [(Ground.RECALL_LIFE_QUESTIONS, "PPE")]),
        ("mirela", "C", [(Ground.CERTIFICATE, "first aid and CPR")]),
        ("daniel", "C", [(Ground.UNSAFE_ANSWER, "isolation")]),
        ("rhian", "C", [(Ground.UNSAFE_ANSWER, "meters and proving")]),
        ("priya", "second person", [(Ground.SIGN_OFF, "T13")]),
        ("femi", "A", [(Ground.STOOD_DOWN, "A")]),
    ],
)
def test_one_thing_is_missing(board: Board, username: str, job_type: str, missing: list[tuple[Ground, str]]) -> None:
    decision = board[username][job_type]
    assert (decision.mode, gaps(decision)) == (Mode.NOT_CLEARED, missing)


def test_a_new_starter_misses_much_and_has_not_read_the_cautions(board: Board, db: None) -> None:
    assert len(board["sofia"]["A"].gaps) >= 2
    assert list(Person.objects.filter(cautions_read_at=None).values_list("username", flat=True)) == ["sofia"]


def test_an_under_18_is_held_back_by_the_young_person_column(board: Board) -> None:
    assert board["ben"]["A"].mode is Mode.ALONE
    assert gaps(board["ben"]["second person"]) == [(Ground.UNDER_18, "second person")]
    assert (Ground.UNDER_18, "C") in gaps(board["ben"]["C"])


def test_nobody_may_work_live_or_in_an_opened_pack(board: Board) -> None:
    assert {board[username][key].mode for username in board for key in ("E", "F")} == {Mode.NOT_CLEARED}


def test_two_can_be_second_person(board: Board) -> None:
    can = [username for username in board if board[username]["second person"].mode is Mode.ALONE]
    assert sorted(can) == ["jonas", "nadia"]


def test_unsafe_answers_wait_at_their_two_stages(loaded: Loaded, db: None) -> None:
    stages = {
        username: [
            (answer.talked_through, answer.right_since)
            for answer in history_of(loaded.house.people[username]).unsafe()
            if answer.closed_at is None
        ]
        for username in loaded.house.people
    }
    assert {username: found for username, found in stages.items() if found} == {
        "daniel": [(False, False)],
        "rhian": [(True, False)],
    }


def test_mentors_have_people_waiting(loaded: Loaded, db: None) -> None:
    site, mentor = loaded.house.workshops["mill-basin"], loaded.house.people["tomasz"]
    house = house_of_workshop(site)
    assert house is not None
    court = Court(house)
    tasks = {(row.person.username, row.task) for row in waiting_for_tasks(site, mentor, court, at=AT)}
    assert {("luca", "T3"), ("priya", "T13")} <= tasks
    assert [row.person.username for row in waiting_for_talk(site, mentor, court, at=AT)] == ["daniel"]


def test_some_questions_wait_for_the_checker(loaded: Loaded, db: None) -> None:
    for site in loaded.house.workshops.values():
        assert len(waiting_for_acceptance(site)) > 0
        assert len(accepted_in(site)) >= 60


def test_recall_is_the_fold_of_the_answers(loaded: Loaded, db: None) -> None:
    person = loaded.house.people["ben"]
    assert recall_of(person) == history_of(person).recall()


def test_gloves_are_in_several_states(loaded: Loaded, db: None) -> None:
    site = loaded.house.workshops["mill-basin"]
    job = fitness.Job(highest_dc_v=400.0, highest_ac_v=300.0, regime="EU", point_of_work="vehicle side")
    reasons = {
        row.item.ident: {reason.code for reason in fitness.fitness(row.kit, job, TODAY).reasons}
        for row in kit_of(site)
        if row.item.kind == "gloves"
    }
    assert reasons["MB-G01"] == set()
    assert {"glove_test_out"} <= reasons["MB-G04"]
    assert {"retest_required"} <= reasons["MB-G05"]
    assert {"glove_dates_unknown"} <= reasons["MB-G06"]
    assert {"class_too_low"} <= reasons["MB-G07"]


def test_three_jobs_of_today_one_running_one_ready_one_short(loaded: Loaded, db: None) -> None:
    site = loaded.house.workshops["mill-basin"]
    jobs = {job.said.vehicle: job for job in jobs_of_day(site, TODAY) if job.said}
    assert {vehicle: (job.is_running, job.is_waiting) for vehicle, job in jobs.items()} == {
        "QS 204": (True, False),
        "QS 377": (False, True),
        "QS 519": (False, True),
    }
    assert [one.ended for one in running_at(site, at=AT)] == [()]


def test_the_crews_page_has_something_to_say(loaded: Loaded, db: None) -> None:
    day = crews_of_day(loaded.house.workshops["mill-basin"], at=AT)
    names = {person.key: username for username, person in loaded.house.people.items()}
    assert (len(day.waiting), len(day.crews)) == (2, 1)
    assert {names[one.person] for one in day.unlocks} == {"daniel", "luca", "mirela"}


def test_the_ready_job_starts_with_the_kit_that_was_checked_today(loaded: Loaded, db: None) -> None:
    site, people = loaded.house.workshops["mill-basin"], loaded.house.people
    rows = {row.item.ident: row.item.pk for row in kit_of(site)}
    key = next(job.key for job in jobs_of_day(site, TODAY) if job.said and job.said.vehicle == "QS 377")
    asked = Asked(
        key=new_key(), workshop=site, job_type="C", lead=people["tomasz"], second=people["nadia"], supervisor=None,
        lead_kit=frozenset(rows[f"MB-{each}"] for each in ("G01", "M01", "L01", "P01", "K01", "V01", "T01")),
        second_kit=frozenset({rows["MB-G02"], rows["MB-H01"]}),
        job=fitness.Job(highest_dc_v=410.0, highest_ac_v=300.0, regime="EU", point_of_work="vehicle side"),
        answers=Answers(
            vehicle="QS 377", family="car", stands_by=True, procedure_opened_today=True, procedure_edition="12",
            cordon_up=True, planned_end=AT + timedelta(hours=4),
        ),
        on_job=key, bay="4",
    )  # fmt: skip
    assert answer(asked, by=people["tomasz"], at=AT).missing == ()


@override_settings(DEMO=True)
def test_a_second_load_is_refused(loaded: Loaded, db: None) -> None:
    with pytest.raises(CommandError, match="there already"):
        call_command("load_demo", stdout=io.StringIO())


@override_settings(DEMO=True)
def test_each_role_has_one_sign_in_that_works(loaded: Loaded, db: None) -> None:
    said = io.StringIO()
    call_command("load_demo", "--sign-ins", "--json", stdout=said)
    found = json.loads(said.getvalue())
    roles = ["apprentice", "auditor", "checker", "colleague", "manager", "mentor", "technician"]
    assert sorted(one["role"] for one in found) == roles
    assert all(Person.objects.get(username=one["username"]).check_password(one["password"]) for one in found)
