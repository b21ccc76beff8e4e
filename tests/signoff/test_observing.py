"""Watching a task: begun only with authority, noted step by step, shown to its mentor alone."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import datetime, timedelta
from html import unescape
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client

from tests.board.house import NOW, START, House, make_mentor, observe, signed_in, stand_down
from tests.factories.bank import TaskVersionFactory
from tests.factories.people import PASSWORD
from tests.factories.signoff import DraftFactory
from training.core.permission.practical import Judgement, StepResult
from training.people.models import Person
from training.records.actions import Refused
from training.records.models import Record
from training.signoff import actions
from training.signoff.models import Draft
from training.signoff.queries import refusals_to_observe

pytestmark = [pytest.mark.django_db, pytest.mark.db, pytest.mark.usefixtures("set_clock")]


def begin(by: Person, person: object, task: str = "T1") -> Any:
    return signed_in(by).post("/signoff/begin/", {"person": getattr(person, "pk", person), "task": task})


@pytest.fixture
def draft(house: House) -> Draft:
    found: Draft = DraftFactory(person=house.rob, mentor=house.mentor, task=house.tasks[0], started_at=NOW)
    return found


def page(draft: Draft, by: Person) -> str:
    response = signed_in(by).get(f"/signoff/{draft.pk}/")
    assert response.status_code == 200
    return unescape(response.content.decode()).replace("\xa0", " ")


def sentence(response: Any) -> str:
    """The sentence of a refusal, which is a 400."""
    assert response.status_code == 400
    return unescape(" ".join(re.sub(r"<[^>]+>", " ", response.content.decode()).split()))


# ---------------------------------------------------------------- begin
def test_a_mentor_begins_and_comes_to_the_steps(house: House) -> None:
    response = begin(house.mentor, house.rob)
    draft = Draft.objects.get()
    assert response.url == f"/signoff/{draft.pk}/"
    assert (draft.person, draft.mentor, draft.task, draft.steps) == (house.rob, house.mentor, house.tasks[0], ["", ""])
    assert draft.started_at == NOW + timedelta(minutes=1)


def test_beginning_again_goes_on_with_the_open_one(house: House) -> None:
    urls = {begin(house.mentor, house.rob).url for _ in range(2)}
    assert len(urls) == Draft.objects.count() == 1


def test_one_open_observation_per_person_mentor_and_task_is_kept_by_the_database(house: House, draft: Draft) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        DraftFactory(person=house.rob, mentor=house.mentor, task=house.tasks[0])
    actions.leave(draft=draft, by=house.mentor, at=NOW)
    DraftFactory(person=house.rob, mentor=house.mentor, task=house.tasks[0])
    assert Draft.objects.count() == 2


def test_another_version_of_a_task_is_observed_anew(house: House, draft: Draft) -> None:
    TaskVersionFactory(group=house.workshop.group, ident="T1", number=2)
    begin(house.mentor, house.rob)
    assert Draft.objects.count() == 2


@pytest.mark.parametrize("who", ["tina", "rob", "manager", "foreign_manager"])
def test_without_authority_it_is_refused_with_a_sentence(house: House, who: str) -> None:
    by = getattr(house, who)
    person = house.nina if who != "foreign_manager" else house.stranger
    TaskVersionFactory(group=house.foreign_manager.group, ident="T1")
    assert re.search("Not appointed as mentor|No rule book", sentence(begin(by, person)))
    assert not Draft.objects.exists()


def test_nobody_observes_themselves(house: House) -> None:
    assert "Nobody signs for themselves" in sentence(begin(house.mentor, house.mentor))


def test_a_mentor_who_is_stood_down_is_refused(house: House) -> None:
    stand_down(house, house.mentor)
    assert "The mentor is stood down" in sentence(begin(house.mentor, house.rob))


def test_a_task_outside_the_appointment_is_refused(house: House) -> None:
    make_mentor(house, house.tina, ["T2"], at=NOW)
    assert "Not appointed as mentor for this task" in sentence(begin(house.tina, house.rob))
    assert begin(house.tina, house.rob, "T2").status_code == 302


def test_a_mentor_without_a_sign_off_of_their_own_is_refused(house: House) -> None:
    make_mentor(house, house.nina, ["T1"], at=NOW)
    assert "own sign-off for this task is not valid" in sentence(begin(house.nina, house.rob))


def test_two_who_signed_only_each_other_off_are_refused(house: House) -> None:
    """Outside the workshop's first months: neither certificate nor a third mentor stands behind them."""
    for person in (house.nina, house.rob):
        make_mentor(house, person, ["T1"], at=NOW)
    observe(house, house.nina, "T1", at=NOW, by=house.rob)
    observe(house, house.rob, "T1", at=NOW, by=house.nina)
    assert refusals_to_observe(house.rob, mentor=house.nina, task="T1", at=NOW + timedelta(hours=1))


def test_people_of_another_group_are_not_there(house: House) -> None:
    assert begin(house.mentor, house.stranger).status_code == 404
    assert begin(house.mentor, 999_999).status_code == 404
    Person.objects.filter(pk=house.rob.pk).update(is_active=False)
    assert begin(house.mentor, house.rob).status_code == 404


def test_a_task_of_another_group_is_refused_even_below_the_page(house: House) -> None:
    foreign = TaskVersionFactory(group=house.stranger.group, ident="T1")
    with pytest.raises(Refused, match="another workshop group"):
        actions.begin(person=house.rob, task=foreign, by=house.mentor, at=NOW)


@pytest.mark.parametrize(
    "posted", [{}, {"person": "x", "task": "T1"}, {"person": "²", "task": "T1"}, {"person": "-1", "task": "T1"}]
)
def test_a_post_that_says_nobody_is_a_400(house: House, posted: dict[str, str]) -> None:
    assert "Say whom" in sentence(signed_in(house.mentor).post("/signoff/begin/", posted))


@pytest.mark.parametrize("task", ["", "T99", "t1"])
def test_a_post_with_no_such_task_is_a_400(house: House, task: str) -> None:
    assert "There is no such practical task" in sentence(begin(house.mentor, house.rob, task))


# ---------------------------------------------------------------- steps
def test_the_steps_stand_with_what_to_look_for_and_critical_ones_are_marked(house: House, draft: Draft) -> None:
    html = page(draft, house.mentor)
    assert html.count("Look for:") == 2
    assert html.count(">Critical step<") == 1
    assert re.findall(r'name="step-1" value="([^"]+)"', html) == [result.value for result in StepResult]


def test_what_was_noted_is_kept_and_shown_again(house: House, draft: Draft) -> None:
    posted = {"step-1": "done", "step-2": "prompted", "judgement": "not yet", "note": " Slow hands. ", "then": "keep"}
    response = signed_in(house.mentor).post(f"/signoff/{draft.pk}/", posted)
    assert response.status_code == 302
    draft.refresh_from_db()
    assert (draft.steps, draft.judgement, draft.note) == (["done", "prompted"], "not yet", "Slow hands.")
    html = page(draft, house.mentor)
    assert re.findall(r'value="([^"]+)" checked', html) == ["alone", "done", "prompted", "not yet"]
    assert Record.objects.filter(kind="signoff.observed", about=house.rob.key).count() == 0


def test_going_on_leads_to_the_signing_page(house: House, draft: Draft) -> None:
    response = signed_in(house.mentor).post(f"/signoff/{draft.pk}/", {"step-1": "done", "then": "sign"})
    assert response.url == f"/signoff/{draft.pk}/sign/"  # type: ignore[attr-defined]
    draft.refresh_from_db()
    assert draft.steps == ["done", ""]


@pytest.mark.parametrize(
    ("posted", "says"),
    [
        ({"step-1": "well done"}, "not on the form"),
        ({"judgement": "perhaps"}, "not on the form"),
        ({"step-1": "done", "note": "x" * 2001}, "Shorten it"),
    ],
)
def test_what_the_form_does_not_offer_is_a_400_and_changes_nothing(
    house: House, draft: Draft, posted: dict[str, str], says: str
) -> None:
    assert says in sentence(signed_in(house.mentor).post(f"/signoff/{draft.pk}/", posted))
    draft.refresh_from_db()
    assert (draft.steps, draft.judgement, draft.note) == (["", ""], "", "")


def test_fields_that_are_not_on_the_form_are_ignored(house: House, draft: Draft) -> None:
    posted = {"step-1": "done", "step-3": "done", "passed": "1", "mentor": house.tina.pk, "record_number": 1}
    signed_in(house.mentor).post(f"/signoff/{draft.pk}/", posted)
    draft.refresh_from_db()
    assert (draft.steps, draft.mentor, draft.record_number) == (["done", ""], house.mentor, None)


@pytest.mark.parametrize("who", ["rob", "tina", "manager", "stranger", "foreign_manager"])
@pytest.mark.parametrize("end", ["", "sign/", "leave/"])
def test_an_observation_of_another_mentor_is_404(house: House, draft: Draft, who: str, end: str) -> None:
    client = signed_in(getattr(house, who))
    posted = {"step-1": "done", "password": PASSWORD}
    assert client.post(f"/signoff/{draft.pk}/{end}", posted).status_code == 404
    if end != "leave/":
        assert client.get(f"/signoff/{draft.pk}/{end}").status_code == 404
    draft.refresh_from_db()
    assert (draft.steps, draft.signed_at, draft.left_at) == (["", ""], None, None)


def test_a_stranger_is_sent_to_sign_in(draft: Draft) -> None:
    assert Client().get(f"/signoff/{draft.pk}/").status_code == 302


def test_wrong_methods_are_405(house: House, draft: Draft) -> None:
    client = signed_in(house.mentor)
    assert client.get("/signoff/begin/").status_code == 405
    assert client.get(f"/signoff/{draft.pk}/leave/").status_code == 405
    assert client.delete(f"/signoff/{draft.pk}/").status_code == 405
    assert client.put(f"/signoff/{draft.pk}/sign/").status_code == 405


# ---------------------------------------------------------------- leave
def test_leaving_records_nothing_and_closes_it(house: House, draft: Draft) -> None:
    client = signed_in(house.mentor)
    before = Record.objects.count()
    assert client.post(f"/signoff/{draft.pk}/leave/").status_code == 302
    draft.refresh_from_db()
    assert draft.left_at == NOW + timedelta(minutes=1)
    assert Record.objects.count() == before
    assert client.get(f"/signoff/{draft.pk}/").status_code == 404
    with pytest.raises(Refused, match="was left"):
        actions.note(draft=draft, steps=[StepResult.DONE, StepResult.DONE], judgement=Judgement.READY, note="")


def test_the_steps_ask_the_database_seldom(
    house: House, draft: Draft, django_assert_max_num_queries: Callable[..., Any]
) -> None:
    client = signed_in(house.mentor)
    with django_assert_max_num_queries(10):  # of every page: who has left, and which job has to stop
        client.get(f"/signoff/{draft.pk}/")


def test_authority_is_asked_at_the_moment_and_not_at_the_start(house: House) -> None:
    assert refusals_to_observe(house.rob, mentor=house.mentor, task="T1", at=NOW) == ()
    assert refusals_to_observe(house.rob, mentor=house.mentor, task="T1", at=START - timedelta(days=1))
    long_after = datetime(2027, 1, 1, tzinfo=NOW.tzinfo)
    assert refusals_to_observe(house.rob, mentor=house.mentor, task="T1", at=long_after)
