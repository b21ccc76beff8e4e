"""What a record changes on the very next request, and what the writer's own request works out."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import transaction

from tests.board.house import NOW, House, observe, signed_in, stand_down, two_job_types
from training.bank import actions as bank
from training.board import actions, middleware
from training.board.models import StoredClearance
from training.board.stored import cells_of
from training.core.permission.decision import Mode
from training.people.actions import instruct
from training.people.models import Person
from training.people.queries import people_of
from training.records import written

pytestmark = [pytest.mark.django_db, pytest.mark.db, pytest.mark.usefixtures("set_clock")]
LATER = NOW + timedelta(minutes=1)  # where the clock of set_clock stands


@pytest.fixture
def swept(house: House) -> House:
    actions.sweep(at=NOW)
    return house


def mode(house: House, person: Person, at: datetime = LATER) -> str:
    found = cells_of(house.workshop, list(people_of(house.workshop)), ["A", "B"], at=at)[person.pk, "A"].decision
    return found.mode.value if found else "?"


def post_stand_down(house: House, person: Person, by: Person) -> None:
    posted = {"cause": "deviation seen", "reason": "Cut corners."}
    response = signed_in(by).post(f"/people/{person.pk}/stand-down/", posted)
    assert response.status_code == 302, response.content.decode()


def test_a_stand_down_shows_on_the_next_request(swept: House) -> None:
    assert mode(swept, swept.tina) == Mode.ALONE
    post_stand_down(swept, swept.tina, by=swept.nina)
    board = signed_in(swept.nina).get(f"/board/{swept.workshop.slug}/").content.decode()
    assert "may take" not in board.partition("<tbody>")[2]
    assert mode(swept, swept.tina) == Mode.NOT_CLEARED, "the writer's own request worked it out"


def test_a_stand_down_cuts_even_when_nothing_can_be_worked_out(
    swept: House, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def failing(**_kept: Any) -> None:
        raise RuntimeError("no memory")

    monkeypatch.setattr(middleware, "work_out_named", failing)
    post_stand_down(swept, swept.tina, by=swept.nina)
    assert (mode(swept, swept.tina), mode(swept, swept.rob)) == ("?", "?"), "Rob worked under Tina"
    assert "could not be worked out" in caplog.text
    board = signed_in(swept.nina).get(f"/board/{swept.workshop.slug}/").content.decode()
    assert "may take" not in board.partition("<tbody>")[2]


def test_a_workshop_that_fails_is_logged_and_the_write_stands(
    swept: House, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def failing(**_kept: Any) -> int:
        raise RuntimeError("no memory")

    monkeypatch.setattr(actions, "work_out", failing)
    stand_down(swept, swept.tina, at=LATER)
    actions.work_out_named(keys={swept.tina.key}, at=LATER)
    assert swept.workshop.slug in caplog.text
    assert mode(swept, swept.tina) == "?"


def test_a_release_restores(swept: House) -> None:
    record = stand_down(swept, swept.tina).number
    actions.sweep(at=NOW)
    assert mode(swept, swept.tina) == Mode.NOT_CLEARED
    observe(swept, swept.tina, "T1", at=NOW + timedelta(seconds=30))
    response = signed_in(swept.manager).post(f"/people/{swept.tina.pk}/release/{record}/", {"reason": "Talked."})
    assert response.status_code == 302, response.content.decode()
    assert mode(swept, swept.tina) == Mode.ALONE


def test_the_writers_request_works_out_only_whom_it_named(swept: House) -> None:
    before = dict(StoredClearance.objects.values_list("pk", "computed_at"))
    post_stand_down(swept, swept.nina, by=swept.rob)
    moved = [row.person_id for row in StoredClearance.objects.all() if row.computed_at != before[row.pk]]
    assert set(moved) == {swept.nina.pk}


def test_keys_of_a_transaction_that_was_rolled_back_work_nothing_out(swept: House) -> None:
    before = list(StoredClearance.objects.order_by("pk").values())

    def rolled_back(_request: Any) -> Any:
        with transaction.atomic():
            instruct(
                person=swept.tina, workshop=swept.workshop, given_on=LATER.date(), about_what="x", by=swept.manager,
                at=LATER,
            )  # fmt: skip
            transaction.set_rollback(True)

    middleware.RecomputeWritten(rolled_back)(None)  # type: ignore[arg-type]
    assert list(StoredClearance.objects.order_by("pk").values()) == before
    assert mode(swept, swept.tina) == Mode.ALONE


def test_what_an_earlier_request_noted_is_not_taken_up_by_the_next(swept: House) -> None:
    written.note(swept.chain_id, frozenset({swept.tina.key}))
    signed_in(swept.nina).get("/cautions/")
    assert written.take() == frozenset()


def test_a_mark_on_the_workshop_leaves_the_work_to_the_worker(swept: House) -> None:
    written.take()
    bank.put_in_force(workshop=swept.workshop, book=two_job_types(version=2), by=swept.manager, at=LATER)
    actions.work_out_named(keys={key for _chain, key in written.take()}, at=LATER)
    assert mode(swept, swept.tina) == "?"
    actions.sweep(at=LATER)
    assert mode(swept, swept.tina) == Mode.ALONE


def test_a_drill_answer_is_worked_out_with_its_own_request(swept: House, set_clock: Callable[[datetime], None]) -> None:
    client = signed_in(swept.nina)
    opened = client.post("/drill/start/")
    assert opened.status_code == 302
    client.get(opened.url)  # type: ignore[attr-defined]
    drill_id = int(opened.url.strip("/").split("/")[-1])  # type: ignore[attr-defined]
    set_clock(LATER + timedelta(seconds=30))
    answered = client.post(f"/drill/{drill_id}/1/answer/", {"choice": "a", "commitment": "act"})
    assert answered.status_code == 302, answered.content.decode()
    row = StoredClearance.objects.get(person=swept.nina, job_type="A")
    assert row.computed_at == LATER + timedelta(seconds=30)
    assert mode(swept, swept.nina, LATER + timedelta(seconds=30)) == Mode.NOT_CLEARED
