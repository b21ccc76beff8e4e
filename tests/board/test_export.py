"""A copy of one's records: all of them, for oneself, or on request by a manager, which is on record."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from datetime import timedelta
from typing import Any

import pytest
from django.http import HttpResponse
from django.urls import reverse

from tests.board.house import NOW, House, signed_in, stand_down, write
from training.board.facts import WorkStarted
from training.board.privacy.copying import copy_of
from training.board.privacy.facts import CopyGiven
from training.board.privacy.retention import ANSWERS, kept_of
from training.people.models import Person
from training.records.erasing import erase_bodies
from training.records.models import Record
from training.records.queries import facts_of

pytestmark = [pytest.mark.django_db, pytest.mark.db, pytest.mark.usefixtures("set_clock")]
PASSWORD = "a long word for tests"


def files(content: bytes) -> tuple[dict[str, Any], list[list[str]], str]:
    with zipfile.ZipFile(io.BytesIO(content)) as file:
        assert file.namelist() == ["README.txt", "records.json", "records.csv"]
        read = {name: file.read(name).decode() for name in file.namelist()}
    return json.loads(read["records.json"]), list(csv.reader(io.StringIO(read["records.csv"]))), read["README.txt"]


def ask(viewer: Person, person: Person, **posted: str) -> HttpResponse:
    viewer.set_password(PASSWORD)
    viewer.save()
    return signed_in(viewer).post(reverse("board:copy", args=[person.pk]), {"password": PASSWORD, **posted})


def test_the_copy_holds_every_record_about_the_person_in_words_as_table_and_as_data(house: House) -> None:
    answered = ask(house.tina, house.tina)
    assert (answered.status_code, answered["Content-Type"]) == (200, "application/zip")
    assert "no-store" in answered["Cache-Control"]
    plain, table, readme = files(answered.content)
    numbers = list(Record.objects.filter(about=house.tina.key).values_list("number", flat=True))
    assert [row["record"] for row in plain["records"]] == numbers
    assert [int(row[0]) for row in table[1:]] == numbers
    assert plain["person"]["family_name"] == "Olsen"
    assert all(row["says"] for row in plain["records"])
    assert f"{len(numbers)} records" in readme
    assert not Record.objects.filter(kind=CopyGiven.kind).exists()


def test_a_start_of_work_is_in_the_copy_of_whoever_it_names_without_the_answers_about_others(house: House) -> None:
    start = WorkStarted(
        workshop=house.workshop.key, job_type="A", vehicle="Bay 2", lead=house.tina.key, second_person=house.rob.key,
        kit=[], planned_end=NOW + timedelta(hours=3), decision='{"lead": "secret"}', by=house.tina.key,
    )  # fmt: skip
    write(house, start, about=house.workshop, at=NOW)
    for person, there in ((house.tina, True), (house.rob, True), (house.nina, False)):
        plain = files(copy_of(person, at=NOW))[0]
        found = [row["says"] for row in plain["records"] if row["kind"] == "board.work_started"]
        assert [says["vehicle"] for says in found] == (["Bay 2"] if there else [])
        assert "secret" not in json.dumps(plain)


def test_a_medical_reason_is_nobodys(house: House) -> None:
    stand_down(house, house.rob, medical=True, reason="")
    says = files(copy_of(house.rob, at=NOW))[0]["records"][-1]["says"]
    assert says["medical"] is True
    assert "reason" not in says


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t"])
def test_a_cell_that_a_spreadsheet_would_work_out_is_quoted(house: House, start: str) -> None:
    """The usual signs of formula injection (OWASP: CSV Injection)."""
    Person.objects.filter(pk=house.manager.pk).update(given_name=f"{start}SUM(A1)")
    table = files(copy_of(house.tina, at=NOW))[1]
    column = table[0].index("entered_by")
    cells = {row[column] for row in table[1:]}
    assert f"'{start}SUM(A1) Brand" in cells
    assert not [cell for row in table for cell in row if cell.startswith(start)]


def test_what_was_erased_says_so_and_nothing_else(house: House) -> None:
    Person.objects.filter(pk=house.tina.pk).update(is_active=False)
    house.tina.refresh_from_db()
    numbers = [row.number for row in kept_of(house.tina, today=NOW.date()) if row.kind in ANSWERS]
    erase_bodies(
        chain_id=house.chain_id, numbers=numbers, about=house.tina.key, counts=[], why="Asked for.", on=NOW.date(),
        by="m" * 32, at=NOW,
    )  # fmt: skip
    rows = {row["record"]: row for row in files(copy_of(house.tina, at=NOW))[0]["records"]}
    assert all(rows[number]["says"] is None for number in numbers)
    assert rows[numbers[0]]["in_words"].startswith("Erased on 2 Mar 2026")


def test_without_the_right_password_nothing_is_given_out(house: House) -> None:
    answered = ask(house.tina, house.tina, password="not it")
    assert answered.status_code == 400
    assert "This is not your password" in answered.content.decode()
    page = signed_in(house.tina).get(reverse("board:copy", args=[house.tina.pk]))
    assert page.status_code == 200
    assert 'type="password"' in page.content.decode()


def test_another_persons_copy_is_for_managers_with_a_reason_and_is_on_record(house: House) -> None:
    assert ask(house.manager, house.tina).status_code == 400
    answered = ask(house.manager, house.tina, why="Letter of 1 March.")
    assert answered.status_code == 200
    (given,) = facts_of([CopyGiven], chain_id=house.chain_id)
    assert (given.about, given.fact) == (house.tina.key, CopyGiven(why="Letter of 1 March.", by=house.manager.key))
    mine = signed_in(house.tina).get(reverse("people:mine")).content.decode()
    assert "Mona Brand gave out a copy of all records: Letter of 1 March." in mine
    assert reverse("board:copy", args=[house.tina.pk]) in mine


def test_nobody_else_gets_it(house: House) -> None:
    for viewer, status in ((house.rob, 403), (house.mentor, 403), (house.foreign_manager, 404), (house.stranger, 404)):
        assert ask(viewer, house.tina, why="Curious.").status_code == status
    assert not Record.objects.filter(kind=CopyGiven.kind).exists()
