"""Signing an observation: with the password, once, while authority holds; and what passes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from html import unescape
from typing import Any

import pytest

from tests.board.house import NOW, House, signed_in, stand_down
from tests.factories.people import PASSWORD
from tests.factories.signoff import DraftFactory
from training.bank.queries import task_of
from training.board import actions as board
from training.board.queries import decision_for
from training.core.permission.authority import Refusal
from training.core.permission.decision import Ground, Mode
from training.core.permission.practical import Fault, Flaw, Judgement, StepResult, faults_of_attempt
from training.people.models import Person
from training.records.actions import Refused
from training.records.models import Record
from training.records.queries import Written, facts_of, marks_of
from training.signoff import actions
from training.signoff.facts import Observed
from training.signoff.labels import FLAWS, REFUSALS, fault_words
from training.signoff.models import Draft

pytestmark = [pytest.mark.django_db, pytest.mark.db, pytest.mark.usefixtures("set_clock")]
AT = NOW + timedelta(minutes=1)  # where the clock of set_clock stands
DONE, PROMPTED, MISSED, UNSEEN = StepResult
READY, NOT_YET = Judgement


@pytest.fixture
def draft(house: House) -> Draft:
    return noted(house, [DONE, DONE])


def noted(house: House, steps: Sequence[StepResult | None], judgement: Judgement | None = READY) -> Draft:
    """Begun and noted; the first step of the task is not critical, the second is."""
    draft: Draft = DraftFactory(person=house.rob, mentor=house.mentor, task=house.tasks[0], started_at=NOW)
    actions.note(draft=draft, steps=steps, judgement=judgement, note="Sure hands.")
    return draft


def observed(person: Person) -> list[Written[Observed]]:
    return facts_of([Observed], chain_id=person.group.chain_id, about=person.key)


def post_signature(draft: Draft, by: Person, password: str = PASSWORD) -> Any:
    return signed_in(by).post(f"/signoff/{draft.pk}/sign/", {"password": password})


def page(draft: Draft, by: Person) -> str:
    response = signed_in(by).get(f"/signoff/{draft.pk}/sign/")
    assert response.status_code == 200
    return unescape(response.content.decode()).replace("\xa0", " ")


def test_the_right_password_signs_it_into_the_record(house: House, draft: Draft) -> None:
    assert post_signature(draft, house.mentor).url == f"/signoff/{draft.pk}/sign/"
    [row] = observed(house.rob)
    assert row.fact == Observed(
        task="T1", version=1, workshop=house.workshop.key, steps=["done", "done"], judgement="ready", passed=True,
        note="Sure hands.", by=house.mentor.key,
    )  # fmt: skip
    draft.refresh_from_db()
    assert (draft.record_number, draft.signed_at) == (row.number, AT)
    assert f"Record {row.number}, signed by Max Ruth." in page(draft, house.mentor)
    marks = marks_of(house.chain_id, [house.rob.key, house.mentor.key])
    assert set(marks.values()) == {row.number}


def test_the_sign_off_shows_on_the_board_with_the_same_request(house: House, draft: Draft) -> None:
    board.sweep(at=NOW)
    assert decision_for(house.rob, house.workshop, "A", AT).mode is Mode.SUPERVISED
    post_signature(draft, house.mentor)
    html = unescape(signed_in(house.manager).get(f"/board/{house.workshop.slug}/").content.decode())
    row = html.replace("\xa0", " ").partition("Rob H.")[2].partition("</tr>")[0]
    assert "may take until 26 Mar 10:31" in row


@pytest.mark.parametrize("password", ["", "wrong", PASSWORD.upper(), PASSWORD + " "])
def test_a_wrong_password_signs_nothing(house: House, draft: Draft, password: str) -> None:
    before = Record.objects.count()
    response = post_signature(draft, house.mentor, password)
    assert response.status_code == 400
    assert "That is not your password. Nothing was signed." in unescape(response.content.decode()).replace("\xa0", " ")
    draft.refresh_from_db()
    assert (draft.signed_at, Record.objects.count()) == (None, before)


def test_the_password_of_the_person_observed_signs_nothing(house: House, draft: Draft) -> None:
    house.rob.set_password("another kettle of fish")
    house.rob.save()
    assert post_signature(draft, house.mentor, "another kettle of fish").status_code == 400
    assert not observed(house.rob)


def test_a_second_tap_signs_once(house: House, draft: Draft) -> None:
    first, second = post_signature(draft, house.mentor), post_signature(draft, house.mentor)
    assert (first.status_code, second.status_code) == (302, 200)
    again = actions.sign(draft=draft, by=house.mentor, at=AT)
    assert [row.number for row in observed(house.rob)] == [again.record_number]


def test_what_is_signed_is_never_changed(house: House, draft: Draft) -> None:
    post_signature(draft, house.mentor)
    response = signed_in(house.mentor).post(f"/signoff/{draft.pk}/", {"step-1": "missed"})
    assert response.status_code == 400
    signed_in(house.mentor).post(f"/signoff/{draft.pk}/leave/")
    draft.refresh_from_db()
    assert (draft.steps, draft.left_at) == (["done", "done"], None)
    assert "<form" not in signed_in(house.mentor).get(f"/signoff/{draft.pk}/").content.decode().partition("<main")[2]


@pytest.mark.parametrize(
    ("steps", "judgement", "sentences"),
    [
        ([DONE, DONE], READY, []),
        ([PROMPTED, DONE], READY, []),
        ([MISSED, DONE], READY, []),
        ([DONE, PROMPTED], READY, ["Critical step 2 was prompted."]),
        ([DONE, MISSED], READY, ["Critical step 2 was missed."]),
        ([UNSEEN, DONE], READY, ["Step 1 was not observed."]),
        ([DONE, UNSEEN], READY, ["Step 2 was not observed."]),
        ([DONE, DONE], NOT_YET, ["The overall judgement is not yet."]),
        ([UNSEEN, MISSED], NOT_YET, [
            "Step 1 was not observed.", "Critical step 2 was missed.", "The overall judgement is not yet.",
        ]),
    ],
)  # fmt: skip
def test_what_passes_and_why_not(
    house: House, steps: list[StepResult], judgement: Judgement, sentences: list[str]
) -> None:
    draft = noted(house, steps, judgement)
    html = page(draft, house.mentor)
    assert ("This attempt passes" in html) == (not sentences)
    assert ("This attempt does not pass" in html) == bool(sentences)
    for sentence in sentences:
        assert f"<li>{sentence}</li>" in html
    post_signature(draft, house.mentor)
    [row] = observed(house.rob)
    assert row.fact is not None
    assert row.fact.passed == (not sentences)


def test_an_attempt_that_failed_is_on_record_and_clears_nobody(house: House) -> None:
    post_signature(noted(house, [DONE, PROMPTED]), house.mentor)
    assert Ground.SIGN_OFF in {gap.ground for gap in decision_for(house.rob, house.workshop, "A", AT).gaps}


def test_a_failed_attempt_takes_an_earlier_sign_off_away(house: House) -> None:
    assert decision_for(house.tina, house.workshop, "A", AT).mode is Mode.ALONE
    draft: Draft = DraftFactory(person=house.tina, mentor=house.mentor, task=house.tasks[0], started_at=NOW)
    actions.note(draft=draft, steps=[DONE, MISSED], judgement=NOT_YET, note="")
    post_signature(draft, house.mentor)
    after = decision_for(house.tina, house.workshop, "A", AT + timedelta(minutes=1))
    assert Ground.SIGN_OFF in {gap.ground for gap in after.gaps}


@pytest.mark.parametrize(("steps", "judgement"), [([DONE, None], READY), ([DONE, DONE], None)])
def test_what_is_still_open_cannot_be_signed(
    house: House, steps: list[StepResult | None], judgement: Judgement | None
) -> None:
    draft = noted(house, steps, judgement)
    html = page(draft, house.mentor)
    assert "still open" in html
    assert 'name="password"' not in html
    response = post_signature(draft, house.mentor)
    assert response.status_code == 400
    assert "still open" in response.content.decode()
    assert not observed(house.rob)


def test_signing_after_the_authority_fell_is_refused(house: House, draft: Draft) -> None:
    stand_down(house, house.mentor)
    response = post_signature(draft, house.mentor)
    assert response.status_code == 400
    assert "The mentor is stood down" in unescape(response.content.decode()).replace("\xa0", " ")
    draft.refresh_from_db()
    assert (draft.signed_at, observed(house.rob)) == (None, [])


def test_signing_for_somebody_who_has_left_is_refused(house: House, draft: Draft) -> None:
    Person.objects.filter(pk=house.rob.pk).update(is_active=False)
    assert post_signature(draft, house.mentor).status_code == 400
    assert not observed(house.rob)


def test_what_was_begun_a_shift_ago_is_watched_again(
    house: House, draft: Draft, set_clock: Callable[[datetime], None]
) -> None:
    set_clock(NOW + timedelta(hours=12, minutes=1))
    response = post_signature(draft, house.mentor)
    assert response.status_code == 400
    assert "more than half a day ago" in response.content.decode()
    set_clock(NOW + timedelta(hours=12))
    assert post_signature(draft, house.mentor).status_code == 302


def test_nobody_signs_another_mentors_observation_below_the_page(house: House, draft: Draft) -> None:
    with pytest.raises(Refused, match="not open for you"):
        actions.sign(draft=draft, by=house.tina, at=AT)
    actions.leave(draft=draft, by=house.mentor, at=AT)
    with pytest.raises(Refused, match="not open for you"):
        actions.sign(draft=draft, by=house.mentor, at=AT)
    assert not observed(house.rob)


def test_if_the_record_cannot_be_written_the_observation_stays_open(house: House, draft: Draft) -> None:
    with pytest.raises(Refused, match="clock"):
        actions.sign(draft=draft, by=house.mentor, at=NOW - timedelta(days=2))
    draft.refresh_from_db()
    assert (draft.signed_at, draft.record_number) == (None, None)


def test_steps_that_do_not_belong_to_the_task_never_pass(house: House) -> None:
    task = task_of(house.tasks[0])
    assert faults_of_attempt(task, [DONE], READY) == (Fault(flaw=Flaw.OTHER_STEPS),)
    assert faults_of_attempt(task, [DONE, DONE, DONE], READY) == (Fault(flaw=Flaw.OTHER_STEPS),)
    assert faults_of_attempt(task, [None, DONE], None) == (
        Fault(flaw=Flaw.NOT_OBSERVED, step=1), Fault(flaw=Flaw.NOT_JUDGED),
    )  # fmt: skip


def test_every_flaw_and_every_refusal_has_its_sentence() -> None:
    assert set(FLAWS) == set(Flaw)
    assert set(REFUSALS) == set(Refusal)
    for flaw in Flaw:
        assert "%(" not in fault_words(Fault(flaw=flaw, step=3, result=StepResult.MISSED))
