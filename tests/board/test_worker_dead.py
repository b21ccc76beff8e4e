"""With no worker for a month, and after a restore: nobody is shown as cleared who would not be cleared if asked now."""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import datetime, timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.db import connection
from django.urls import reverse

from tests.board.house import NOW, House, observe, signed_in, stand_down
from training.board.actions import sweep
from training.board.queries import board_of, decision_for
from training.board.stored import cells_of
from training.core.permission.decision import Ground, Mode
from training.people.queries import people_of
from training.records.actions import keep_head, reconcile
from training.records.heads import make_key
from training.records.models import Body, Chain, Mark, Record
from training.records.queries import head_of
from training.records.triggers import away

pytestmark = [pytest.mark.django_db, pytest.mark.db]
DAYS, JOB_TYPES = 35, ("A", "B")
HAPPENS = {  # after so many days, in the order of time; the last of these comes while nobody sweeps, as all of them do
    3: lambda house, at: observe(house, house.rob, "T1", at=at),
    9: lambda house, at: stand_down(house, house.tina, at=at, job_types=["B"]),
    21: lambda house, at: stand_down(house, house.tina, at=at),
}


def believed(house: House, at: datetime) -> dict[tuple[str, str], Mode]:
    people = list(people_of(house.workshop))
    cells = cells_of(house.workshop, people, JOB_TYPES, at=at)
    return {
        (cell.person.key, job_type): cell.decision.mode
        for (_person, job_type), cell in cells.items()
        if cell.decision is not None and cell.decision.mode is not Mode.NOT_CLEARED
    }


def worked_out(house: House, at: datetime) -> dict[tuple[str, str], Mode]:
    board = board_of(house.workshop, at=at, read_at=at)
    return {
        (key, job_type): decision.mode
        for key, by_type in board.items()
        for job_type, decision in by_type.items()
        if decision.mode is not Mode.NOT_CLEARED
    }


def test_with_the_worker_dead_for_a_month_nobody_stays_cleared_who_should_not_be(house: House) -> None:
    """The board is worked out once; after that only time passes and facts are entered."""
    sweep(at=NOW)
    seen = set()
    for hours in range(0, DAYS * 24, 9):
        at = NOW + timedelta(hours=hours, minutes=1)
        for day in [day for day in HAPPENS if hours // 24 >= day and day not in seen]:
            HAPPENS[day](house, at)
            seen.add(day)
        shown, true = believed(house, at), worked_out(house, at)
        assert shown.items() <= true.items(), f"after {hours} hours"
    assert seen == set(HAPPENS)
    assert believed(house, NOW + timedelta(minutes=1)) == {}, "a clock set back clears nobody either"


def test_the_pages_say_so_too(house: House, set_clock: Callable[[datetime], None]) -> None:
    sweep(at=NOW)
    set_clock(NOW + timedelta(minutes=1))
    client, board = signed_in(house.tina), reverse("board:board", args=[house.workshop.slug])
    assert 'class="safe"' in client.get(board).content.decode()
    assert "may take" in client.get(reverse("board:card")).content.decode()
    at = NOW + timedelta(days=DAYS)
    set_clock(at)
    client = signed_in(house.tina)
    assert decision_for(house.tina, house.workshop, "B", at).mode is Mode.NOT_CLEARED, "first aid ended on 20 March"
    cell = client.get(reverse("board:cell", args=[house.workshop.slug, house.tina.pk, "B"])).content.decode()
    assert "may not take" in cell.casefold()
    assert 'data-job="Isolate" data-tally' in client.get(board).content.decode()
    assert (house.tina.key, "B") not in believed(house, at)


# ---------------------------------------------------------------- restored from an older copy
@pytest.fixture
def kept(tmp_path: Path, settings: Any) -> Path:
    make_key(tmp_path / "key.pem")
    settings.HEADS_DIR, settings.SIGNING_KEY = tmp_path, tmp_path / "key.pem"
    return tmp_path


def restore_to(chain_id: int, number: int) -> None:
    """What a restore of an older copy comes to: records, bodies, head and marks as they were at a number."""
    head = Record.objects.get(chain_id=chain_id, number=number)
    with away(connection):
        Body.objects.filter(record__chain_id=chain_id, record__number__gt=number)._raw_delete(using="default")
        Record.objects.filter(chain_id=chain_id, number__gt=number)._raw_delete(using="default")
    Mark.objects.filter(chain_id=chain_id, number__gt=number).update(number=number)
    Chain.objects.filter(pk=chain_id).update(
        head_number=number, head_hash=head.hash, newest_recorded_at=head.recorded_at, first_bad_number=None
    )


@pytest.mark.parametrize("seed", range(10))
def test_a_restored_copy_that_forgot_a_stand_down_clears_nobody(house: House, kept: Path, seed: int) -> None:
    """Ten drills of ten restores each, to any record before the stand-down."""
    chance, chain_id = random.Random(seed), house.chain_id
    stand_down(house, house.tina, at=NOW + timedelta(minutes=5))
    sweep(at=NOW + timedelta(minutes=6))
    keep_head(chain_id=chain_id, at=NOW + timedelta(minutes=7))
    at, newest = NOW + timedelta(minutes=20), head_of(chain_id).number
    places = sorted(chance.sample(range(newest - 40, newest), 10), reverse=True)
    for place in places:
        restore_to(chain_id, place)
        assert worked_out(house, at) == {}
        assert believed(house, at) == {}
        assert not head_of(chain_id).is_sound
    grounds = {gap.ground for gap in decision_for(house.tina, house.workshop, "A", at).gaps}
    assert Ground.CHAIN_BROKEN in grounds


def test_once_the_stand_down_is_entered_again_and_somebody_answers_for_it_the_others_are_cleared(
    house: House, kept: Path, set_clock: Callable[[datetime], None]
) -> None:
    before = head_of(house.chain_id).number
    stand_down(house, house.tina, at=NOW + timedelta(minutes=5))
    observe(house, house.rob, "T1", at=NOW + timedelta(minutes=6))
    keep_head(chain_id=house.chain_id, at=NOW + timedelta(minutes=7))
    restore_to(house.chain_id, before)
    at = NOW + timedelta(minutes=30)
    stand_down(house, house.tina, at=at)
    observe(house, house.rob, "T1", at=at)
    assert worked_out(house, at) == {}
    set_clock(at)
    board = signed_in(house.manager).get(reverse("board:board", args=[house.workshop.slug])).content.decode()
    assert "Nobody is cleared until that is put right" in board
    reconcile(chain_id=house.chain_id, why="From the paper list.", by="Mona", at=at)
    later = at + timedelta(minutes=1)
    assert worked_out(house, later) == {(house.rob.key, "A"): Mode.ALONE}
    out = StringIO()
    call_command("verify_seal", stdout=out)
    assert f"chain {house.chain_id}: all" in out.getvalue()


@pytest.mark.parametrize(
    "back", [timedelta(seconds=3), timedelta(hours=1), timedelta(days=1), NOW - datetime(1970, 1, 2, tzinfo=NOW.tzinfo)]
)
def test_a_clock_that_went_back_clears_nobody(house: House, back: timedelta) -> None:
    """Reads as it was written: the newest record is later than the clock."""
    sweep(at=NOW)
    observe(house, house.nina, "T1", at=NOW)
    assert worked_out(house, NOW) != {}
    assert worked_out(house, NOW - back) == {}
    assert believed(house, NOW - back) == {}
