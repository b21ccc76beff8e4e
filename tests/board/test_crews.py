"""Today's crews: for managers only, worked out from the records, named by one tap, refused beyond eight jobs."""

from __future__ import annotations

from html import unescape
from typing import Any

import pytest
from django.urls import reverse

from tests.board.job_cast import Clock, planned_job, read, start, started_job
from tests.board.work_cast import Bay, appointed, signed_in
from tests.factories.people import ManagerFactory, PersonFactory
from training.board.facts import CrewNamed
from training.core.trade.calendar import local_day
from training.people.actions import appoint, enter_age
from training.people.models import Person
from training.people.standing_down import stand_down
from training.records.models import Record

pytestmark = [pytest.mark.django_db, pytest.mark.db]


def there(bay: Bay) -> str:
    return reverse("board:crews", args=[bay.workshop.slug])


def shown(bay: Bay) -> Any:
    return signed_in(bay.manager).get(there(bay))


def crew_of(bay: Bay, key: str) -> Any:
    return next(row["open"] for row in shown(bay).context["rows"] if row["line"].key == key)


def named(bay: Bay, key: str, lead: str, second: str, by: Person | None = None) -> Any:
    return signed_in(by or bay.manager).post(there(bay), {"key": key, "lead": lead, "second": second})


def test_who_can_lead_and_stand_by_is_proposed_and_named_by_one_tap(bay: Bay) -> None:
    key = planned_job(bay, lead="", second_person="")
    found = crew_of(bay, key)
    assert found["may_lead"] == [bay.lead.short_name]
    assert found["may_second"] == [bay.second.short_name]
    assert "1 of 1 waiting jobs can be staffed now" in unescape(shown(bay).content.decode())
    assert named(bay, key, found["crew"].lead, found["crew"].second).status_code == 302
    assert (read(bay, key).lead, read(bay, key).second) == (bay.lead.key, bay.second.key)
    assert Record.objects.filter(kind=CrewNamed.kind, about=key).count() == 1


def test_a_crew_that_is_named_already_is_not_proposed_again_and_a_job_without_one_says_so(bay: Bay) -> None:
    key = planned_job(bay)
    page = unescape(shown(bay).content.decode())
    assert "This crew can take it, and is named." in page
    assert "No crew is left" not in page
    planned_job(bay, lead="", second_person="")
    assert read(bay, key).lead == bay.lead.key
    page = unescape(shown(bay).content.decode())
    assert "1 of 2 waiting jobs can be staffed now" in page
    assert "No crew is left for it now" in page


def test_a_second_person_is_cleared_for_that_role_and_a_lead_for_the_job_type(bay: Bay) -> None:
    only_leads = PersonFactory(workshop=bay.workshop)
    appointed(only_leads, bay.manager, "C")
    found = crew_of(bay, planned_job(bay))
    assert only_leads.short_name in found["may_lead"]
    assert only_leads.short_name not in found["may_second"]
    stand_down(person=bay.second, job_types=["second person"], reason="x", medical=False, by=bay.manager, at=bay.now)
    assert crew_of(bay, planned_job(bay))["may_second"] == []


def test_whoever_is_on_a_running_job_is_not_free(bay: Bay) -> None:
    started_job(bay)
    found = crew_of(bay, planned_job(bay, lead="", second_person=""))
    assert (found["may_lead"], found["may_second"], found["crew"]) == ([], [], None)


def test_whose_appointment_does_not_reach_the_vehicle_is_not_proposed(bay: Bay, clock: Clock) -> None:
    limited = PersonFactory(workshop=bay.workshop)
    today = local_day(clock.now, bay.workshop.zone)
    enter_age(person=limited, under_18=False, by=bay.manager, at=clock.now)
    appoint(
        person=limited, job_types=["C"], workshop=bay.workshop, from_day=today, through_day=today, reason="Vans.",
        by=bay.manager, at=clock.now, vehicle_families=["van"], may_not=["No packs"],
    )  # fmt: skip
    assert limited.short_name not in crew_of(bay, planned_job(bay, family="car"))["may_lead"]
    key = planned_job(bay, family="Van", lead=limited.pk)
    assert limited.short_name in crew_of(bay, key)["may_lead"]
    opened = signed_in(limited).get(bay.url, {"job": key, "job_type": "C"}).content.decode()
    assert "No packs" in opened, "what is left out is read before the job"
    refused = start(bay, key, limited, lead=limited.pk, family="car").content.decode()
    assert "van. This vehicle is: car." in refused


def test_the_single_gap_that_unlocks_a_job_is_said(bay: Bay) -> None:
    almost = PersonFactory(workshop=bay.workshop)
    enter_age(person=almost, under_18=False, by=bay.manager, at=bay.now)
    first = planned_job(bay)
    assert crew_of(bay, first)["crew"] is not None
    planned_job(bay, job_type="A", second_person="")
    unlocks = {one["name"]: one for one in shown(bay).context["unlocks"]}
    assert (unlocks[almost.short_name]["jobs"], unlocks[almost.short_name]["today"]) == (1, True)
    assert "What would unlock most" in shown(bay).content.decode()


def test_more_than_eight_jobs_are_refused_with_a_sentence_and_still_named_by_hand(bay: Bay) -> None:
    keys = [planned_job(bay, lead="", second_person="") for _each in range(9)]
    assert "up to 8 jobs, and 9 are planned" in unescape(shown(bay).content.decode())
    assert named(bay, keys[0], bay.lead.key, bay.second.key).status_code == 302


def test_crews_are_for_managers_of_the_group_only(bay: Bay) -> None:
    key = planned_job(bay)
    assert signed_in(bay.lead).get(there(bay)).status_code == 403
    assert named(bay, key, bay.lead.key, "", by=bay.lead).status_code == 403
    assert signed_in(ManagerFactory()).get(there(bay)).status_code == 404


def test_a_crew_that_cannot_be_meant_is_refused(bay: Bay) -> None:
    key, running = planned_job(bay), started_job(bay)
    stranger = PersonFactory()
    for job, lead, second in (
        (key, bay.lead.key, bay.lead.key),
        (key, stranger.key, ""),
        (key, "nobody", ""),
        ("no such job", bay.lead.key, ""),
        (running, bay.lead.key, bay.second.key),
    ):
        assert named(bay, job, lead, second).status_code == 400
    assert not Record.objects.filter(kind=CrewNamed.kind).exists()
