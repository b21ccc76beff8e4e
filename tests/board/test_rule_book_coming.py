"""A rule book that was confirmed for a later day, in what the board stores, shows and answers."""

from __future__ import annotations

import json
from collections.abc import Callable
from copy import deepcopy
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from tests.board.house import NOW, House, two_job_types
from tests.factories.people import ManagerFactory
from training.bank.actions import confirm_rule_book, propose_rule_book
from training.board.actions import sweep
from training.board.management.commands.clearance import Command
from training.board.models import StoredClearance
from training.board.queries import board_of, decision_for, read_workshop
from training.board.stored import cells_of
from training.core.permission.decision import Decision, Ground, Mode
from training.people.models import Person
from training.records.models import Record

pytestmark = pytest.mark.django_db

TODAY = date(2026, 3, 2)
NEXT_WEEK = TODAY + timedelta(days=7)
THAT_MIDNIGHT = datetime(2026, 3, 8, 23, tzinfo=UTC)  # Berlin
MONTHS = (0, 2)  # A's instruction
CERTIFICATE = "an HV course nobody has"


def stricter() -> dict[str, Any]:
    """A also asks for a certificate that nobody has."""
    book = deepcopy(two_job_types())
    book["job_types"][0]["requirements"].append(
        {"certificate": {"kind": CERTIFICATE, "valid_months": 12}, "sentence": "A course.", "source": "ours"}
    )
    return book


def looser() -> dict[str, Any]:
    """A asks for instruction only."""
    book = deepcopy(two_job_types())
    book["job_types"][0]["requirements"] = book["job_types"][0]["requirements"][2:]
    return book


def proposed(house: House, book: dict[str, Any], *, from_day: date = NEXT_WEEK, at: datetime = NOW) -> Record:
    return propose_rule_book(
        workshop=house.workshop, book=book, from_day=from_day, reason="Asked for.", by=house.manager, at=at
    )


def second(house: House) -> Person:
    return Person.objects.filter(username="second").first() or ManagerFactory(
        workshop=house.workshop, username="second"
    )


def confirmed(house: House, book: dict[str, Any], **how: Any) -> Record:
    proposal = proposed(house, book, **how)
    confirm_rule_book(workshop=house.workshop, proposal=proposal.number, by=second(house), at=how.get("at", NOW))
    return proposal


def a_of(house: House, person: Person, at: datetime) -> Decision:
    return decision_for(person, house.workshop, "A", at)


def test_a_proposal_alone_changes_no_answer(house: House) -> None:
    before = board_of(house.workshop, at=NOW, read_at=NOW)
    proposed(house, stricter(), from_day=TODAY)
    after = board_of(house.workshop, at=NOW, read_at=NOW)
    assert {k: {j: (d.mode, d.until) for j, d in v.items()} for k, v in before.items()} == {
        k: {j: (d.mode, d.until) for j, d in v.items()} for k, v in after.items() if k in before
    }


def test_a_stricter_book_ends_clearances_on_its_eve_and_takes_away_by_itself(house: House) -> None:
    confirmed(house, stricter())
    now = a_of(house, house.tina, NOW)
    assert (now.mode, now.until) == (Mode.ALONE, THAT_MIDNIGHT)
    assert now.ends_by is not None
    assert (now.ends_by.because, now.ends_by.by_day) == (Ground.RULE_BOOK, date(2026, 3, 8))
    then = a_of(house, house.tina, THAT_MIDNIGHT)
    assert then.mode is Mode.NOT_CLEARED
    assert (Ground.CERTIFICATE, CERTIFICATE) in {(gap.ground, gap.subject) for gap in then.gaps}


def test_a_looser_book_gives_nothing_on_its_day_until_it_is_confirmed_again(house: House) -> None:
    proposal = confirmed(house, looser())
    before = a_of(house, house.rob, NOW)
    assert before.mode is not Mode.ALONE
    on_the_day = THAT_MIDNIGHT + timedelta(hours=9)
    assert a_of(house, house.rob, on_the_day).mode is not Mode.ALONE
    confirm_rule_book(workshop=house.workshop, proposal=proposal.number, by=house.manager, at=on_the_day)
    assert a_of(house, house.rob, on_the_day).mode is Mode.ALONE


def test_stored_clearances_are_cut_by_the_record_and_end_on_the_eve(house: House) -> None:
    sweep(at=NOW)
    assert cells_of(house.workshop, [house.tina], ["A"], at=NOW)[house.tina.pk, "A"].is_alone
    confirmed(house, stricter())
    assert cells_of(house.workshop, [house.tina], ["A"], at=NOW)[house.tina.pk, "A"].decision is None
    sweep(at=NOW)
    stored = StoredClearance.objects.get(person=house.tina, job_type="A")
    assert stored.until == THAT_MIDNIGHT
    last = THAT_MIDNIGHT - timedelta(seconds=1)  # with no worker since, for a week
    assert cells_of(house.workshop, [house.tina], ["A"], at=last)[house.tina.pk, "A"].is_alone
    assert cells_of(house.workshop, [house.tina], ["A"], at=THAT_MIDNIGHT)[house.tina.pk, "A"].decision is None


def test_a_supervisor_who_falls_by_a_coming_book_supervises_no_longer_than_that(house: House) -> None:
    confirmed(house, stricter())
    board = board_of(house.workshop, at=NOW, read_at=NOW)
    assert (board[house.rob.key]["A"].mode, board[house.rob.key]["A"].until) == (Mode.SUPERVISED, THAT_MIDNIGHT)


def test_a_past_moment_is_answered_by_the_book_in_force_then(house: House) -> None:
    before = board_of(house.workshop, at=NOW, read_at=NOW)[house.tina.key]["A"]
    later = NOW + timedelta(days=1)
    confirmed(house, stricter(), from_day=TODAY + timedelta(days=1), at=later)
    assert a_of(house, house.tina, later).mode is Mode.NOT_CLEARED
    asked_back = board_of(house.workshop, at=NOW, read_at=later)[house.tina.key]["A"]
    assert (asked_back.mode, asked_back.until, asked_back.rule_book_version) == (before.mode, before.until, 1)


def test_a_machine_whose_clock_is_a_little_behind_uses_the_newest_book_all_the_same(house: House) -> None:
    confirmed(house, stricter(), from_day=TODAY)
    reading = read_workshop(house.workshop, read_at=NOW, at=NOW - timedelta(seconds=1))
    assert reading.rule_book is not None
    assert reading.rule_book.version == 2


def test_the_command_answers_a_future_day_with_the_coming_book(
    house: House, set_clock: Callable[[datetime], None], capsys: pytest.CaptureFixture[str]
) -> None:
    confirmed(house, stricter())
    set_clock(NOW)
    at = (THAT_MIDNIGHT + timedelta(hours=8)).isoformat()
    Command().execute(
        workshop=house.workshop.slug, person=house.tina.username, job_type="A", at=at, known_at=None, json=True,
        no_color=True, force_color=False, skip_checks=True, verbosity=1, traceback=False, settings=None,
        pythonpath=None,
    )  # fmt: skip
    (row,) = json.loads(capsys.readouterr().out)["people"]
    assert row["job_types"][0]["decision"]["mode"] == "not cleared"
