"""A release stands on what was really seen since: an attempt alone, watched by somebody who might watch it."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.board.house import NOW, House, make_house, observe, stand_down
from training.board.queries import decision_for
from training.core.permission.decision import Ground, Mode
from training.people import standing_down
from training.people.refusal import Refusal

pytestmark = [pytest.mark.django_db, pytest.mark.db]
HOUR = timedelta(hours=1)


@pytest.fixture
def house() -> House:
    return make_house()


def release(house: House, number: int, hours: int) -> int:
    ended = standing_down.release(
        person=house.tina, record=number, reason="Seen again.", by=house.manager, at=NOW + hours * HOUR
    )
    return ended.number


def test_an_observation_since_then_carries_a_release_and_the_answer_names_it(house: House) -> None:
    down = stand_down(house, house.tina, at=NOW)
    observe(house, house.tina, "T1", at=NOW + HOUR)
    ended = release(house, down.number, 2)
    answer = decision_for(house.tina, house.workshop, "A", NOW + 3 * HOUR)
    assert (answer.mode, ended in answer.proofs) == (Mode.ALONE, True)


@pytest.mark.parametrize("how", ["failed", "by nobody who may", "before it"])
def test_what_shows_nothing_new_carries_none(house: House, how: str) -> None:
    if how == "before it":
        observe(house, house.tina, "T1", at=NOW - HOUR)
    down = stand_down(house, house.tina, at=NOW)
    if how != "before it":
        by = house.rob if how == "by nobody who may" else house.mentor
        observe(house, house.tina, "T1", at=NOW + HOUR, by=by, passed=how != "failed")
    with pytest.raises(Refusal, match="Nothing was seen of Tina"):
        release(house, down.number, 2)


def test_when_the_mentors_authority_falls_the_release_falls_with_it(house: House) -> None:
    down = stand_down(house, house.tina, at=NOW)
    observe(house, house.tina, "T1", at=NOW + HOUR)
    release(house, down.number, 2)
    standing_down.stand_down(
        person=house.mentor, job_types=None, reason="Authority had lapsed.", medical=False, by=house.manager,
        at=NOW + 3 * HOUR, happened_at=NOW + HOUR / 2,
    )  # fmt: skip
    answer = decision_for(house.tina, house.workshop, "A", NOW + 4 * HOUR)
    assert Ground.STOOD_DOWN in {gap.ground for gap in answer.gaps}
