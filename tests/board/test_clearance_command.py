"""manage.py clearance: the board as of an instant, as known at a record."""

from __future__ import annotations

import json
import re
from datetime import timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from tests.board.house import NOW, WATCHED, House, stand_down
from training.board.queries import board_of
from training.core.permission.mapping import from_mapping
from training.records.queries import head_of, number_at

pytestmark = [pytest.mark.django_db, pytest.mark.db, pytest.mark.usefixtures("set_clock")]


def printed(house: House, *options: str) -> str:
    out = StringIO()
    call_command("clearance", "--workshop", house.workshop.slug, *options, stdout=out)
    return out.getvalue()


def board(house: House, *options: str) -> dict[str, Any]:
    read: dict[str, Any] = json.loads(printed(house, "--json", *options))
    return read


def words(house: House, *options: str) -> dict[str, list[str]]:
    return {row["name"]: [cell["words"] for cell in row["job_types"]] for row in board(house, *options)["people"]}


def test_it_prints_everybody_and_every_job_type(house: House) -> None:
    found = words(house)
    assert found["Tina O."] == [
        "may take until 26 Mar 10:30, recall: rescue",
        "may take through 20 Mar, first aid and CPR ends",
    ]
    assert found["Sam P."][0].startswith("stood down")
    assert len(found) == 6


def test_what_it_prints_is_the_decision(house: House) -> None:
    worked_out = board_of(house.workshop, at=NOW, read_at=NOW)
    for row in board(house, "--at", NOW.isoformat())["people"]:
        for cell in row["job_types"]:
            decision = from_mapping(cell["decision"])
            assert decision in [of[decision.job_type] for of in worked_out.values()]
            assert len(cell["missing"]) == len(decision.gaps)


def test_one_person_and_one_job_type(house: House) -> None:
    found = board(house, "--person", house.rob.username, "--job-type", "B")["people"]
    assert [(row["person"], [cell["job_type"] for cell in row["job_types"]]) for row in found] == [
        (house.rob.username, ["B"])
    ]


def test_as_of_an_instant_without_an_offset_means_the_workshops_clock(house: House) -> None:
    assert board(house, "--at", "2026-03-02T10:00")["at"] == "2026-03-02T10:00:00+01:00"


def test_as_of_a_moment_in_the_past_only_what_had_happened_by_then_counts(house: House) -> None:
    """A day after the observations two answers to each question were given, and nobody was stood down yet."""
    found = words(house, "--at", (WATCHED + timedelta(days=1)).isoformat())
    assert re.match(r"\d missing", found["Tina O."][0])
    assert re.match(r"\d missing", found["Sam P."][0])
    assert found["Nina V."][0].startswith("4 missing")


def test_as_known_at_a_record_or_at_an_instant(house: House) -> None:
    before = head_of(house.chain_id).number
    stand_down(house, house.tina, at=NOW)
    assert words(house)["Tina O."][0].startswith("stood down")
    assert words(house, "--known-at", str(before))["Tina O."][0].startswith("may take until")
    an_hour_before = (NOW - timedelta(hours=1)).isoformat()
    found = board(house, "--known-at", an_hour_before)
    assert found["known_at"] == number_at(house.chain_id, NOW - timedelta(hours=1)) == before


def test_without_json_it_prints_a_line_per_cell(house: House) -> None:
    lines = printed(house).splitlines()
    assert lines[0].startswith(house.workshop.slug)
    assert sum(line.startswith("  A ") for line in lines) == 6


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--at", "yesterday"], "is not an instant"),
        (["--at", "2026-02-30T10:00"], "is not an instant"),
        (["--known-at", "soon"], "is not an instant"),
        (["--known-at", "99999"], "There is no record 99999 yet"),
        (["--job-type", "Z"], "There are: A, B"),
        (["--person", "nobody"], "Nobody called 'nobody'"),
        (["--known-at", "0"], "No rule book is in force"),
    ],
)
def test_bad_input_is_an_error_that_says_what_to_do(house: House, options: list[str], says: str) -> None:
    with pytest.raises(CommandError, match=says):
        printed(house, *options)


def test_a_workshop_that_there_is_not_is_answered_with_those_that_there_are(house: House) -> None:
    with pytest.raises(CommandError, match=house.workshop.slug):
        call_command("clearance", "--workshop", "nowhere")
