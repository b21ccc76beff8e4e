"""One job from plan to hand-back through its page, its readings, and whose it is."""

from __future__ import annotations

from html import unescape
from typing import Any

import pytest

from tests.board.job_cast import (
    Clock,
    count,
    handed_back,
    insulation,
    plan,
    planned_job,
    proved,
    read,
    readings,
    refused,
    said,
    start,
    started_job,
    url,
    wrote,
)
from tests.board.work_cast import Bay, signed_in
from training.board.facts import WorkStarted
from training.board.models import Job
from training.people.models import Person
from training.records.queries import facts_of

pytestmark = [pytest.mark.django_db, pytest.mark.db]


# ---------------------------------------------------------------- planning
BAD_PLANS: list[tuple[dict[str, Any], str]] = [
    ({"highest_dc_v_0": "-450"}, "of 0 V or more"),
    ({"highest_dc_v_0": "450", "highest_dc_v_1": "1000"}, "not in kV or mV"),
    ({"highest_dc_v_0": "0.45", "highest_dc_v_1": "1"}, "not in kV or mV"),
    ({"highest_ac_v_0": "300", "highest_ac_v_1": "0.001"}, "not in kV or mV"),
    ({"highest_dc_v_0": ""}, "Unknown counts as no"),
    ({"highest_dc_v_0": "0", "highest_ac_v_0": "0"}, "that is no HV vehicle"),
    ({"highest_dc_v_0": "many"}, "Give a number"),
    ({"highest_dc_v_0": "nan"}, "Give a number"),
    ({"mass_kg": "2.1"}, "not in tonnes"),
    ({"mass_kg": ""}, "not in tonnes"),
    ({"mass_kg": "-5"}, "not in tonnes"),
    ({"mass_kg": "0"}, "not in tonnes"),
    ({"mass_kg": "1e9"}, "not in tonnes"),
    ({"mass_kg": "nan"}, "Enter a number"),
    ({"highest_dc_v_0": "1e999"}, "Give a number"),
    ({"highest_ac_v_0": "-inf"}, "Give a number"),
    ({"highest_dc_v_0": "99999"}, "cannot be meant"),
    ({"highest_dc_v_1": "7"}, "7 is not one of the available choices"),
    ({"planned_end": "9999-12-31T23:59"}, "more than 10 hours"),
    ({"starts": "9999-12-31T20:00", "planned_end": "9999-12-31T23:00"}, "more than 366 days ahead"),
    ({"starts": "0002-01-01T00:00"}, "more than 10 hours"),
    ({"starts": "0002-01-01T00:00", "planned_end": "0002-01-01T04:00"}, "already past"),
    ({"starts": "0000-00-00T00:00"}, "Give day and time"),
    ({"starts": "10000-01-01T00:00"}, "Give day and time"),
    ({"starts": ""}, "required"),
    ({"lead": "99999999"}, "not one of the available choices"),
    ({"lead": "x"}, "not one of the available choices"),
    ({"bay": None}, "required"),
    ({"planned_end": "tomorrow"}, "Give day and time"),
    ({"job_type": "Z"}, "Z"),
    ({"job_type": "second person"}, "second person"),
    ({"tasks": ["T99"]}, "T99"),
]


@pytest.mark.parametrize(("changed", "words"), BAD_PLANS)
def test_a_plan_that_cannot_be_meant_is_refused_with_a_sentence(bay: Bay, changed: dict[str, Any], words: str) -> None:
    answer = plan(bay, **changed)
    assert answer.status_code in (400, 409)
    assert words in unescape(answer.content.decode())
    assert not Job.objects.exists()


def test_a_plan_ends_in_time_and_names_nobody_twice(bay: Bay) -> None:
    for changed, words in (
        ({"planned_end": bay.local(-1)}, "already past"),
        ({"planned_end": bay.local(-0.5), "starts": bay.local(1)}, "not after the planned start"),
        ({"planned_end": bay.local(10.1)}, "more than 10 hours"),
        ({"second_person": bay.lead.pk}, "Cannot lead and be second person"),
    ):
        answer = plan(bay, **changed)
        assert answer.status_code == 409
        assert words in unescape(answer.content.decode())
    assert not Job.objects.exists()


def test_everybody_plans_the_jobs_that_they_lead_and_a_manager_any(bay: Bay) -> None:
    assert plan(bay, bay.second).status_code == 400
    assert plan(bay, bay.lead).status_code == 302
    assert plan(bay, bay.manager).status_code == 302
    assert Job.objects.count() == 2


def test_a_job_of_today_stands_on_the_list_and_opens_the_start_of_work_filled_in(bay: Bay) -> None:
    key = planned_job(bay)
    client = signed_in(bay.lead)
    listed = client.get(bay.url).content.decode()
    assert "QF 417" in listed
    assert url(bay, key) in listed
    initial = client.get(bay.url, {"job_type": "C", "job": key}).context["form"].initial
    assert (initial["vehicle"], initial["family"], initial["bay"]) == ("QF 417", "car", "2")
    assert (initial["lead"], initial["second_person"]) == (bay.lead.pk, bay.second.pk)


def test_a_planned_job_is_called_off_by_a_manager_or_its_lead_and_does_not_start_any_more(bay: Bay) -> None:
    key = planned_job(bay)
    refused(bay, key, "call_off", "A manager calls a job off", by=bay.second, why="Not here.")
    wrote(bay, key, "call_off", why="Not here.")
    assert "Called off" in said(bay, key)
    client = signed_in(bay.lead)
    assert client.get(bay.url, {"job_type": "C", "job": key}).status_code == 400


# ---------------------------------------------------------------- start to hand-back
def test_a_job_runs_from_plan_to_hand_back(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    assert "Not yet proved dead" in said(bay, key)
    wrote(bay, key, "lock_on", number="17")
    clock.passes(6)
    wrote(bay, key, "measure", **readings(bay))
    page = said(bay, key)
    assert "Under way" in page
    assert "0.4 V" in page
    assert "is safe" not in page.replace("never says that a vehicle is safe", "")
    assert "On record, at these points and this time only" in page
    handed_back(bay, key)
    assert "Closed" in said(bay, key)
    assert "treat as live" in said(bay, key), "what was read before the disconnect was closed holds no more"
    assert read(bay, key).state.over is not None
    assert start(bay, key).status_code == 400, "a job that is over is over"


def test_the_page_offers_the_next_step_only(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)

    def offered(by: Person, where: str = "next") -> list[str]:
        context = signed_in(by).get(url(bay, key)).context
        assert context["stop"] is not None, "anybody may stop the work, at any time"
        return [name for name, _form in context[where]]

    assert offered(bay.lead) == ["lock_on"]
    assert offered(bay.second) == ["lock_on"]
    wrote(bay, key, "lock_on", number="17")
    assert offered(bay.lead) == ["measure"]
    clock.passes(6)
    proved(bay, key, clock)
    assert offered(bay.lead) == ["count"]
    assert {"measure", "insulation", "warned", "away"} <= set(offered(bay.lead, "more"))
    count(bay, key)
    assert offered(bay.lead) == ["insulation"]
    insulation(bay, key)
    assert offered(bay.lead) == ["warned"]
    assert "lock_off" not in offered(bay.lead, "more")
    wrote(bay, key, "warned", says="All")
    assert offered(bay.lead) == ["lock_off"]


def test_the_record_of_a_start_holds_what_the_rule_book_asked_then(bay: Bay) -> None:
    key = started_job(bay)
    row = facts_of([WorkStarted], chain_id=bay.workshop.group.chain_id, about=key)[0]
    assert row.fact is not None
    assert (row.fact.second_rule, row.fact.proving) == ("until proved dead", "dead")
    assert (row.fact.bay, row.fact.family, row.fact.tasks) == ("2", "car", ["T3"])
    assert (row.fact.ac_points, row.fact.pack_work) == (True, False)
