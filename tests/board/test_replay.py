"""The same question gives the same bytes: in other time zones, under other hash seeds, on either database."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from datetime import datetime, timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from tests.board.house import NOW, House, make_house, observe, stand_down, write
from tests.board.replaying import digest
from tests.board.test_erasing_people import decide
from training.board.actions import sweep, work_out
from training.board.facts import WorkStarted
from training.board.models import StoredClearance
from training.board.privacy.erasing import erase_person
from training.board.privacy.retention import ANSWERS, kept_of
from training.board.queries import board_of, decision_for
from training.board.replaying import replay
from training.board.tasks import DecisionsDiffer, replay_decisions
from training.core.permission.mapping import as_mapping
from training.people.facts import AgeEntered
from training.people.models import Person
from training.records.canonical import canonical_text

pytestmark = [pytest.mark.django_db, pytest.mark.db]
ROOT = Path(__file__).parents[2]


def elsewhere(zone: str, hash_seed: str) -> str:
    """The digest that a process of its own finds on SQLite, in another zone and under another hash seed."""
    environ = {
        **os.environ,
        "TZ": zone,
        "PYTHONHASHSEED": hash_seed,
        "DJANGO_SETTINGS_MODULE": "training.config.settings_test",
        "HOOKSIDE_TEST_DATABASE_URL": "",
    }
    ended = subprocess.run(
        [sys.executable, "-m", "tests.board.replaying"],
        cwd=ROOT,
        env=environ,
        capture_output=True,
        text=True,
        check=True,
    )
    return ended.stdout.strip()


def test_every_decision_is_the_same_byte_for_byte_wherever_it_is_worked_out() -> None:
    """The first is worked out here: on SQLite, or on PostgreSQL where these tests run on it."""
    assert digest() == elsewhere("UTC", "0") == elsewhere("Asia/Kolkata", "1")


@pytest.fixture
def house() -> House:
    return make_house()


def test_what_is_stored_is_worked_out_again_to_the_byte_as_known_then(house: House) -> None:
    sweep(at=NOW)
    rows = list(StoredClearance.objects.select_related("person", "workshop__group"))
    again = board_of(house.workshop, at=NOW, read_at=NOW, known_at=rows[0].computed_number)
    assert len(rows) == sum(len(by_type) for by_type in again.values())
    for row in rows:
        replayed = as_mapping(again[row.person.key][row.job_type])
        assert canonical_text(replayed) == canonical_text(row.decision)


def start_of_work(house: House) -> None:
    """A start of work as it is recorded, with the answers about both on it."""
    decided = {role: decision_for(person, house.workshop, "A", NOW) for role, person in
               (("lead", house.tina), ("second_person", house.nina))}  # fmt: skip
    people = {"lead": house.tina.key, "second_person": house.nina.key}
    told = {role: {"person": people[role], "decision": as_mapping(one)} for role, one in decided.items()}
    fact = WorkStarted(
        workshop=house.workshop.key, job_type="A", vehicle="Bay 2", lead=house.tina.key, second_person=house.nina.key,
        kit=[], planned_end=NOW + timedelta(hours=3), decision=json.dumps(told), by=house.tina.key,
    )  # fmt: skip
    write(house, fact, about=house.workshop, at=NOW)


def test_every_stored_decision_comes_out_the_same_weeks_and_records_later(
    house: House, set_clock: Callable[[datetime], None]
) -> None:
    sweep(at=NOW)
    start_of_work(house)
    work_out(workshop=house.workshop, people=[house.rob], at=NOW + timedelta(minutes=5))
    observe(house, house.rob, "T1", at=NOW + timedelta(days=1))
    stand_down(house, house.tina, at=NOW + timedelta(days=2))
    set_clock(NOW + timedelta(days=40))
    found = list(replay(house.workshop, read_at=NOW + timedelta(days=40)))
    assert len(found) == StoredClearance.objects.count() + 2
    assert {one.stored.plain["mode"] for one in found} == {"alone", "not cleared"}
    assert [one.stored.where for one in found if not one.same] == []
    out = StringIO()
    call_command("replay_decisions", stdout=out)
    assert f"{len(found)} come out the same, 0 different, 0 not answerable" in out.getvalue()
    assert replay_decisions() == len(found)


def test_supervised_decisions_come_out_the_same(house: House) -> None:
    fact = AgeEntered(under_18=True, entered_on=NOW.date(), by=house.manager.key)
    observe(house, house.rob, "T1", at=NOW - timedelta(minutes=5))
    write(house, fact, about=house.rob, at=NOW - timedelta(minutes=4))
    sweep(at=NOW)
    found = {(one.stored.person, one.stored.plain["job_type"]): one for one in replay(house.workshop, read_at=NOW)}
    assert found[house.rob.key, "A"].stored.plain["mode"] == "supervised"
    assert all(one.same for one in found.values())


def test_a_stored_decision_that_was_changed_is_found_and_alarms(
    house: House, set_clock: Callable[[datetime], None], mailoutbox: list[Any], settings: Any
) -> None:
    settings.ADMINS = [("safety", "safety@firm.example")]
    sweep(at=NOW)
    set_clock(NOW + timedelta(days=1))
    row = StoredClearance.objects.get(person=house.nina, job_type="A")
    StoredClearance.objects.filter(pk=row.pk).update(decision=row.decision | {"gaps": []})
    with pytest.raises(DecisionsDiffer, match=f"clearance {row.pk}"):
        replay_decisions()
    assert "come out otherwise" in mailoutbox[0].subject
    out = StringIO()
    with pytest.raises(SystemExit):
        call_command("replay_decisions", stdout=out)
    assert f"clearance {row.pk}, A: different" in out.getvalue()
    StoredClearance.objects.filter(pk=row.pk).update(decision={"mode": "?"})
    assert [one.same for one in replay(house.workshop, read_at=NOW)].count(False) == 1


def test_a_decision_whose_records_were_erased_is_not_answerable_which_is_no_alarm(
    house: House, set_clock: Callable[[datetime], None]
) -> None:
    start_of_work(house)
    Person.objects.filter(pk=house.tina.pk).update(is_active=False)
    house.tina.refresh_from_db()
    later = NOW + timedelta(days=30)
    numbers = [row.number for row in kept_of(house.tina, today=later.date()) if row.kind in ANSWERS]
    decide(house.tina, numbers, at=later)
    erase_person(person=house.tina, numbers=numbers, why="Asked for.", by="m" * 32, at=later)
    set_clock(later)
    found = list(replay(house.workshop, read_at=later))
    assert [(one.same, one.erased) for one in found] == [(False, True), (True, False)]
    assert replay_decisions() == 2
