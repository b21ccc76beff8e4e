"""A roster file is taken whole or refused whole, and a password is set by hand."""

from __future__ import annotations

import io
from collections.abc import Callable
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from tests.factories.people import PersonFactory, WorkshopFactory
from tests.people.cast import papers
from training.people import offers
from training.people.models import Person, Workshop
from training.people.roster import RosterRefused, read_roster
from training.records.models import Record

pytestmark = [pytest.mark.django_db, pytest.mark.db]

HEAD = "username,given_name,family_name,tally,contract,roles,works_towards,under_18"
MIRA = "mira,Mira,Lindqvist,7,technician,,A;B,no"
JON = "jon,Jon,Abara,8,apprentice,,,yes"
PAT = "pat,Pat,Osei,9,office,manager;checker,,no"


@pytest.fixture
def workshop() -> Workshop:
    return WorkshopFactory()


@pytest.fixture
def write(tmp_path: Path) -> Callable[..., Path]:
    def written(*lines: str, head: str = HEAD) -> Path:
        path = tmp_path / "roster.csv"
        path.write_text("\n".join([head, *lines]) + "\n", encoding="utf-8")
        return path

    return written


def load(path: Path, workshop: Workshop) -> str:
    out = StringIO()
    call_command("load_roster", str(path), workshop=workshop.slug, stdout=out)
    return out.getvalue()


def test_everybody_is_added_with_roles_aims_and_age(workshop: Workshop, write: Callable[..., Path]) -> None:
    said = load(write(MIRA, JON, PAT), workshop)
    assert said.startswith(f"3 people added to {workshop.name}.")
    people = {person.username: person for person in Person.objects.all()}
    assert [(p.full_name, p.tally, p.contract, p.group) for p in people.values()] == [
        ("Mira Lindqvist", 7, "technician", workshop.group),
        ("Jon Abara", 8, "apprentice", workshop.group),
        ("Pat Osei", 9, "office", workshop.group),
    ]
    assert set(people["pat"].roles.values_list("role", flat=True)) == {"manager", "checker"}
    assert set(people["mira"].works_towards.values_list("job_type", flat=True)) == {"A", "B"}
    assert [papers(people[name]).ages[0].under_18 for name in ("mira", "jon", "pat")] == [False, True, False]


def test_nobody_of_a_roster_can_sign_in_before_a_password_is_set(
    workshop: Workshop, write: Callable[..., Path]
) -> None:
    load(write(MIRA), workshop)
    assert not Person.objects.get().has_usable_password()


@pytest.mark.parametrize(
    ("lines", "faults"),
    [
        ([MIRA, MIRA.replace("7", "17")], ["line 3: username mira stands in line 2 too"]),
        ([MIRA, MIRA.replace("mira", "MIRA").replace("7", "17")], ["line 3: username MIRA stands in line 2 too"]),
        ([MIRA, JON.replace("8", "007")], ["line 3: tally 007 stands in line 2 too"]),
        (["mira,,Lindqvist,7,technician,,,no"], ["line 2: given_name is missing"]),
        (
            [",,,,,,,"[:-1] + ",x"],
            [
                "line 2: username is missing",
                "line 2: given_name is missing",
                "line 2: family_name is missing",
                "line 2: tally is missing",
                "line 2: contract is missing",
                "line 2: under_18 'x' is none of yes, no",
            ],
        ),
        (["mira,Mira,Lindqvist,7,technician,,"], ["line 2: under_18 is missing"]),
        ([MIRA + ",more"], ["line 2: there are more fields than columns: more"]),
        ([MIRA.replace("7", "0")], ["line 2: tally '0' is no whole number from 1 to 99999"]),
        ([MIRA.replace("7", "seven")], ["line 2: tally 'seven' is no whole number from 1 to 99999"]),
        ([MIRA.replace("7", "\u0667")], ["line 2: tally '\u0667' is no whole number from 1 to 99999"]),
        (
            [MIRA.replace("technician", "wizard")],
            ["line 2: contract 'wizard' is none of apprentice, technician, office"],
        ),
        (
            [PAT.replace("checker", "boss")],
            ["line 2: roles 'boss' is none of manager, author, checker, auditor"],
        ),
        ([MIRA.replace("Mira", "M" * 61)], ["line 2: given_name is longer than 60 letters"]),
        ([MIRA.replace("mira", "mira x")], ["line 2: username 'mira x' may hold letters, digits and . @ + - _ only"]),
        ([], ["line 1: there is nobody in this file"]),
        (['mira,"Mi"ra,Lindqvist,7,technician,,,no'], ["""line 2: cannot be read: ',' expected after '"'"""]),
    ],
)
def test_one_fault_refuses_the_whole_file_with_a_list(
    workshop: Workshop, write: Callable[..., Path], lines: list[str], faults: list[str]
) -> None:
    with pytest.raises(CommandError) as refused:
        load(write(*lines), workshop)
    assert str(refused.value).splitlines()[1:] == faults
    assert str(refused.value).startswith(f"Nobody was added. {len(faults)} fault")
    assert (Person.objects.count(), Record.objects.count()) == (0, 0)


def test_all_faults_of_all_lines_are_listed_in_order(workshop: Workshop, write: Callable[..., Path]) -> None:
    with pytest.raises(RosterRefused) as refused:
        read_roster(write(MIRA, MIRA, JON.replace("yes", "maybe")), workshop)
    assert [fault.line for fault in refused.value.faults] == [3, 3, 4]


def test_somebody_who_is_there_already_is_a_duplicate(workshop: Workshop, write: Callable[..., Path]) -> None:
    there = PersonFactory(workshop=workshop, username="Mira", tally=8)
    with pytest.raises(RosterRefused) as refused:
        read_roster(write(MIRA, JON), workshop)
    assert str(refused.value).splitlines() == [
        "line 2: username mira belongs to somebody already",
        f"line 3: tally 8 belongs to {there.full_name} already",
    ]


def test_a_tally_of_another_group_is_free_but_a_username_is_not(workshop: Workshop, write: Callable[..., Path]) -> None:
    PersonFactory(username="somebody", tally=7)
    assert [entry.username for entry in read_roster(write(MIRA), workshop)] == ["mira"]


def test_job_types_are_checked_where_the_workshop_has_a_rule_book(
    workshop: Workshop, write: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(offers._offerings, offers.JOB_TYPES, lambda _workshop: [offers.Offer(key="A", title="A")])
    with pytest.raises(RosterRefused, match="works_towards 'B' is none of A"):
        read_roster(write(MIRA), workshop)


@pytest.mark.parametrize("head", [HEAD.replace(",tally", ""), HEAD + ",salary", "", HEAD.replace("roles", "role")])
def test_wrong_columns_refuse_the_file(workshop: Workshop, write: Callable[..., Path], head: str) -> None:
    with pytest.raises(RosterRefused, match="line 1: the columns must be username"):
        read_roster(write(MIRA, head=head), workshop)


def test_columns_may_stand_in_any_order_and_a_byte_order_mark_is_no_letter(workshop: Workshop, tmp_path: Path) -> None:
    path = tmp_path / "roster.csv"
    columns = HEAD.split(",")[::-1]
    path.write_text("\ufeff" + ",".join(columns) + "\n" + ",".join(MIRA.split(",")[::-1]) + "\n", encoding="utf-8")
    assert read_roster(path, workshop)[0].username == "mira"


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", None], ids=["not UTF-8", "no file"])
def test_a_file_that_cannot_be_read_is_refused(workshop: Workshop, tmp_path: Path, content: bytes | None) -> None:
    path = tmp_path / "roster.csv"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(CommandError, match="cannot be read"):
        load(path, workshop)


def test_an_unknown_workshop_is_refused(write: Callable[..., Path]) -> None:
    with pytest.raises(CommandError, match="no workshop"):
        call_command("load_roster", str(write(MIRA)), workshop="nowhere")


def set_password(monkeypatch: pytest.MonkeyPatch, username: str, password: str) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(password + "\n"))
    call_command("set_password", username, password_from_stdin=True, stdout=StringIO())


def test_a_password_is_set_from_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    person: Any = PersonFactory()
    set_password(monkeypatch, person.username, "two grey herons")
    person.refresh_from_db()
    assert person.check_password("two grey herons")


@pytest.mark.parametrize("password", ["", "short", "password123", "given-family"])
def test_a_weak_password_is_refused_and_nothing_changes(monkeypatch: pytest.MonkeyPatch, password: str) -> None:
    person: Any = PersonFactory(username="given-family")
    before = person.password
    with pytest.raises(CommandError, match="Nothing was changed"):
        set_password(monkeypatch, person.username, password)
    person.refresh_from_db()
    assert person.password == before


def test_a_password_asked_for_twice_must_be_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    person: Any = PersonFactory()
    answers = iter(["two grey herons", "three grey herons"])
    monkeypatch.setattr("getpass.getpass", lambda _prompt: next(answers))
    with pytest.raises(CommandError, match="do not match"):
        call_command("set_password", person.username)


def test_nobody_gets_a_password_by_a_wrong_name() -> None:
    with pytest.raises(CommandError, match="nobody"):
        call_command("set_password", "nobody-here")
