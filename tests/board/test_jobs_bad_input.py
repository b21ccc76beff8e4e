"""What cannot be meant about a job: each a clear refusal, nothing half-written; a second tap writes nothing twice."""

from __future__ import annotations

from html import unescape
from typing import Any

import pytest
from django.urls import reverse

from tests.board.job_cast import (
    C_KINDS,
    Clock,
    handed_back,
    plan,
    plan_form,
    planned_job,
    proved,
    read,
    readings,
    refused,
    start,
    started_job,
    url,
    write,
    wrote,
)
from tests.board.work_cast import Bay, signed_in
from training.board.facts import JobPlanned, WorkStarted
from training.board.models import Job
from training.records.models import Record

pytestmark = [pytest.mark.django_db, pytest.mark.db]


# ---------------------------------------------------------------- the start of work
@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"highest_dc_v": "-1"}, "greater than or equal to 0"),
        ({"highest_dc_v": "nan"}, "Enter a number"),
        ({"highest_ac_v": "inf"}, "Enter a number"),
        ({"highest_dc_v": "450000"}, "cannot be meant"),
        ({"highest_dc_v": "0.45"}, "cannot be meant"),
        ({"highest_dc_v": "0", "highest_ac_v": "0"}, "that is no HV vehicle"),
        ({"highest_dc_v": ""}, "Unknown counts as no"),
        ({"planned_end": "9999-12-31T23:59"}, "more than 10 hours"),
        ({"planned_end": "0001-01-01T00:00"}, "Give day and time"),
        ({"planned_end": "soon"}, "Give day and time"),
        ({"planned_end": ""}, "not said when"),
        ({"lead": ""}, "Nobody is named to lead"),
        ({"lead": "99999999"}, "not one of the available choices"),
        ({"lead_kit": ["99999999"]}, "not one of the available choices"),
        ({"lead_kit": ["x"]}, "not one of the available choices"),
        ({"job_type": "Z"}, "no such job type"),
        ({"job_type": "second person"}, "no such job type"),
        ({"job": "no-such-job"}, "no such job"),
        ({"token": "forged"}, "too old"),
    ],
)
def test_a_start_that_cannot_be_meant_is_refused_with_a_sentence_and_starts_nothing(
    bay: Bay, changed: dict[str, Any], words: str
) -> None:
    key = planned_job(bay)
    client = signed_in(bay.lead)
    form = bay.form(client, job_type="C", lead_kit=[bay.lead_kit[kind].pk for kind in C_KINDS], bay="2", family="car")
    answer = client.post(bay.url, form | {"job": key} | changed)
    assert answer.status_code in (200, 400)
    assert words in unescape(answer.content.decode())
    assert not Record.objects.filter(kind=WorkStarted.kind).exists()
    assert Job.objects.count() == 1


def test_nobody_leads_and_stands_by(bay: Bay) -> None:
    key = planned_job(bay)
    answer = start(bay, key, second_person=bay.lead.pk)
    assert answer.status_code == 200
    assert "Cannot lead and be second person" in unescape(answer.content.decode())
    assert plan(bay, second_person=bay.lead.pk).status_code == 409
    assert read(bay, key).is_waiting


def test_one_form_of_a_start_sent_twice_starts_once(bay: Bay) -> None:
    key = planned_job(bay)
    client = signed_in(bay.lead)
    kit = [bay.lead_kit[kind].pk for kind in C_KINDS]
    form = bay.form(client, job_type="C", job=key, lead_kit=kit, bay="2", family="car")
    first, second = client.post(bay.url, form), client.post(bay.url, form)
    assert (first.status_code, second.status_code) == (302, 302)
    assert first["Location"] == second["Location"]
    assert Record.objects.filter(kind=WorkStarted.kind, about=key).count() == 1


def test_one_form_of_a_plan_sent_twice_plans_once_and_a_forged_one_plans_nothing(bay: Bay) -> None:
    there = reverse("board:plan_job", args=[bay.workshop.slug])
    client = signed_in(bay.manager)
    form = plan_form(bay, token=client.get(there).context["form"]["token"].value())
    first, second = client.post(there, form), client.post(there, form)
    assert (first.status_code, second.status_code) == (302, 302)
    assert first["Location"] == second["Location"]
    assert Job.objects.count() == Record.objects.filter(kind=JobPlanned.kind).count() == 1
    for token in ("forged", "", None):
        answer = plan(bay, token=token)
        assert answer.status_code == 400
    assert Job.objects.count() == 1


# ---------------------------------------------------------------- steps
def test_a_step_sent_twice_is_refused_the_second_time_or_changes_nothing(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    wrote(bay, key, "lock_on", number="17")
    refused(bay, key, "lock_on", "on already", number="17")
    wrote(bay, key, "away", person=bay.second.key)
    refused(bay, key, "away", "not one of the available choices", person=bay.second.key)
    wrote(bay, key, "back", person=bay.second.key)
    refused(bay, key, "back", "not one of the available choices", person=bay.second.key)
    assert start(bay, key).status_code == 302
    clock.passes(6)
    proved(bay, key, clock)
    handed_back(bay, key)
    for form, values in (("label_off", {}), ("close", {"handed_to": "M."}), ("count", counted()), ("lock_off", {})):
        refused(bay, key, form, "over", **values)


@pytest.mark.parametrize(
    ("form", "values", "words"),
    [
        ("lock_on", {"number": "17"}, "not been started"),
        ("count", {"tools_out": "1", "tools_back": "1", "people_clear": "2", "refitted": "-"}, "not been started"),
        ("warned", {"says": "All"}, "not been started"),
        ("energise", {"says": "Edition 12"}, "not been started"),
        ("label_off", {}, "not been started"),
        ("close", {"handed_to": "M."}, "not been started"),
        ("stop", {"says": "Smell"}, "not running"),
    ],
)
def test_nothing_is_stepped_before_the_start(bay: Bay, form: str, values: dict[str, str], words: str) -> None:
    refused(bay, planned_job(bay), form, words, **values)


def test_steps_out_of_order_are_refused_with_what_comes_first(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    refused(bay, key, "measure", "Your own lock goes on", **readings(bay))
    refused(bay, key, "insulation", "Nothing was locked off", **resistance())
    wrote(bay, key, "lock_on", number="17")
    clock.passes(6)
    for form, values in (("count", counted()), ("insulation", resistance()), ("warned", {"says": "All"})):
        refused(bay, key, form, "Prove first", **values)
    proved(bay, key, clock)
    refused(bay, key, "energise", "Locks are still on", says="Edition 12")
    refused(bay, key, "label_off", "comes off last")
    refused(bay, key, "close", "Re-energise first", handed_to="M.")
    refused(bay, key, "lock_off", "not counted")


@pytest.mark.parametrize(
    ("form", "values", "words"),
    [
        ("count", {"tools_out": "-1"}, "greater than or equal to 0"),
        ("count", {"tools_out": "1.5"}, "whole number"),
        ("count", {"tools_out": "1e9"}, "whole number"),
        ("count", {"tools_out": "1000"}, "less than or equal to 999"),
        ("count", {"people_clear": ""}, "required"),
        ("insulation", {"measured_0": "-1"}, "not below 0"),
        ("insulation", {"measured_0": "nan"}, "Give a number"),
        ("insulation", {"maker_0": "0"}, "above 0"),
        ("insulation", {"maker_0": "inf"}, "Give a number"),
        ("insulation", {"maker_0": ""}, "required"),
        ("measure", {"pair_0_0": "nan"}, "Give a number"),
        ("measure", {"source_DC_0": "-inf"}, "Give a number"),
        ("measure", {"maker_wait_min": "-1"}, "greater than or equal to 0"),
        ("measure", {"maker_wait_min": "9999"}, "less than or equal to 600"),
        ("measure", {"instrument": "K-0"}, "not one of the available choices"),
        ("measure", {"source": "a battery"}, "not one of the available choices"),
        ("lock_on", {"number": "x" * 41}, "at most 40 characters"),
        ("stop", {"says": " "}, "required"),
        ("away", {"person": "nobody"}, "not one of the available choices"),
    ],
)
def test_a_figure_or_word_that_cannot_be_meant_is_kept_on_the_page_and_records_nothing(
    bay: Bay, clock: Clock, form: str, values: dict[str, str], words: str
) -> None:
    key = started_job(bay)
    right = {"count": counted(), "insulation": resistance(), "measure": readings(bay)}.get(form, {})
    refused(bay, key, form, words, **right | values)


@pytest.mark.parametrize("volts", ["-450", "99999", "1e12"])
def test_a_reading_that_is_no_dead_one_never_proves_anything(bay: Bay, clock: Clock, volts: str) -> None:
    key = started_job(bay)
    wrote(bay, key, "lock_on", number="17")
    clock.passes(6)
    wrote(bay, key, "measure", **readings(bay, pair_0=volts))
    assert read(bay, key).state.proof is None
    assert read(bay, key).state.stops, "it is unexpected, whatever its sign"


def test_what_is_no_form_of_the_page_is_refused(bay: Bay) -> None:
    key = started_job(bay)
    before = Record.objects.count()
    for form in ("", "measure2", "__class__"):
        assert write(bay, key, form).status_code == 400
    assert signed_in(bay.lead).delete(url(bay, key)).status_code == 405
    assert signed_in(bay.lead).get(reverse("board:stop_read", args=[bay.workshop.slug, key])).status_code == 405
    assert Record.objects.count() == before


def counted() -> dict[str, str]:
    return {"tools_out": "12", "tools_back": "12", "people_clear": "2", "refitted": "Covers, seals"}


def resistance() -> dict[str, str]:
    mega = "1000000"
    return {"measured_0": "12", "measured_1": mega, "maker_0": "5", "maker_1": mega, "instrument": "R-1"}
