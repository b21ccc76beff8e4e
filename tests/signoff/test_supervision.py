"""How close the mentor stands: watched, beside, alone; only what was done alone is a proof."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.db import transaction

from tests.board.house import NOW, SOURCE, START, House, make_house, signed_in, two_job_types
from training.bank import actions as bank
from training.board.queries import decision_for
from training.core.permission.evidence import Supervision
from training.core.permission.practical import Judgement, StepResult
from training.people.models import Person
from training.records.actions import append
from training.signoff import actions
from training.signoff.facts import Observed
from training.signoff.models import Draft
from training.signoff.queries import evidence_of_all, next_step

pytestmark = [pytest.mark.django_db, pytest.mark.db]
HOUR = timedelta(hours=1)
DONE, PROMPTED = StepResult.DONE, StepResult.PROMPTED


@pytest.fixture
def house() -> House:
    """As ever, but the sign-off of T1 asks for one attempt with the mentor beside first."""
    made = make_house()
    book: dict[str, Any] = two_job_types(version=2)
    asked = {"task": "T1", "observations": 1, "mentors": 1, "days": 1, "valid_months": 12, "done_within_days": None}
    sign_off = {"sign_off": {**asked, "beside_first": 1}, "sentence": "Seen once at T1.", "source": SOURCE}
    book["job_types"][0]["requirements"][1] = sign_off
    bank.put_in_force(workshop=made.workshop, book=book, by=made.manager, at=NOW)
    return made


def watch(house: House, hours: int, supervision: Supervision, *steps: StepResult) -> Draft:
    """Rob at T1, begun, noted and signed by the mentor."""
    at = NOW + hours * HOUR
    draft = actions.begin(person=house.rob, task=house.tasks[0], by=house.mentor, at=at)
    number = len(draft.steps)
    results = (steps * number)[:number] if steps else (None,) * number
    judgement = None if supervision is Supervision.WATCHED else Judgement.READY
    actions.note(draft=draft, steps=results, judgement=judgement, note="", supervision=supervision)
    return actions.sign(draft=draft, by=house.mentor, at=at)


def still_missing(house: House, person: Person, hours: int) -> bool:
    gaps = decision_for(person, house.workshop, "A", NOW + hours * HOUR).gaps
    return any(gap.subject == "T1" for gap in gaps)


def observations(house: House) -> list[tuple[str, bool]]:
    found = evidence_of_all(house.workshop)[house.rob.key].observations
    return [(one.supervision.value, one.passed) for one in found]


def test_the_next_attempt_is_beside_the_mentor_until_enough_were(house: House) -> None:
    assert next_step(house.rob, "T1", NOW) is Supervision.BESIDE
    watch(house, 1, Supervision.BESIDE, DONE)
    assert next_step(house.rob, "T1", NOW + 2 * HOUR) is Supervision.ALONE
    assert next_step(house.rob, "T2", NOW) is Supervision.ALONE


def test_an_attempt_alone_counts_only_after_one_with_the_mentor_beside(house: House) -> None:
    watch(house, 1, Supervision.ALONE, DONE)
    assert still_missing(house, house.rob, 2)
    watch(house, 3, Supervision.BESIDE, DONE)
    assert still_missing(house, house.rob, 4)
    watch(house, 5, Supervision.ALONE, DONE)
    assert not still_missing(house, house.rob, 6)


def test_a_prompt_is_coaching_beside_the_mentor_and_fails_alone(house: House) -> None:
    watch(house, 1, Supervision.BESIDE, PROMPTED)
    watch(house, 2, Supervision.ALONE, PROMPTED)
    assert observations(house) == [("mentor beside", True), ("alone", False)]


def test_watching_needs_no_steps_proves_nothing_and_takes_nothing_away(house: House) -> None:
    watch(house, 1, Supervision.WATCHED)
    assert observations(house) == [("watched", True)]
    assert still_missing(house, house.rob, 2)


def test_a_word_that_nobody_knows_blocks_the_person(house: House) -> None:
    fact = Observed(
        task="T1", version=1, workshop=house.workshop.key, steps=["done", "done"], judgement="ready", passed=True,
        note="", by=house.mentor.key, supervision="from afar",
    )  # fmt: skip
    with transaction.atomic():
        record = append(fact, chain_id=house.chain_id, about=house.tina.key, at=NOW + HOUR)
    gaps = decision_for(house.tina, house.workshop, "A", NOW + 2 * HOUR).gaps
    assert any(record.number in gap.records for gap in gaps)


@pytest.mark.usefixtures("set_clock")
def test_the_page_offers_the_next_step_and_keeps_what_is_chosen(house: House) -> None:
    assert START < NOW
    client = signed_in(house.mentor)
    page = client.post("/signoff/begin/", {"person": house.rob.pk, "task": "T1"})["Location"]
    text = client.get(page).content.decode()
    assert 'value="mentor beside" checked' in text
    assert client.post(page, {"supervision": "watched", "then": "sign"}).status_code == 302
    assert "it counts for nothing" in client.get(f"{page}sign/").content.decode()
    assert client.post(page, {"supervision": "from afar"}).status_code == 400
