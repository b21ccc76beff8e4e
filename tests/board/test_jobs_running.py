"""Readings, stops, absences, clearances and kit that fall while a job runs."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from tests.board.job_cast import (
    C_KINDS,
    Clock,
    proved,
    read,
    readings,
    refused,
    said,
    start,
    started_job,
    url,
    write,
    wrote,
)
from tests.board.work_cast import Bay, checked, signed_in
from tests.factories.equipment import in_service
from tests.factories.people import PersonFactory
from training.board.facts import PointsMeasured
from training.board.tasks import watch_jobs
from training.core.trade.calendar import local_day
from training.equipment.actions import note_something, pre_use_check
from training.people.standing_down import stand_down
from training.records.models import Record
from training.records.queries import facts_of

pytestmark = [pytest.mark.django_db, pytest.mark.db]


# ---------------------------------------------------------------- readings
def test_readings_need_the_leads_own_lock_first(bay: Bay) -> None:
    key = started_job(bay)
    refused(bay, key, "measure", "Your own lock goes on the disconnect first", **readings(bay))
    refused(bay, key, "measure", "Only the person in control", by=bay.second, **readings(bay))


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"before_DC": ""}, "not proved before and after"),
        ({"after_AC": ""}, "not proved before and after"),
        ({"after_DC": "0"}, "on a source of 500 V"),
        ({"pair_2": ""}, "was not measured"),
        ({"maker_DC": ""}, "no dead value for DC"),
        ({"maker_wait_min": ""}, "no wait for this vehicle"),
        ({"maker_wait_min": "30"}, "wait is not over"),
        ({"source": "self-test"}, "does not prove"),
        ({"pair_0": "38"}, "not dead yet"),
        ({"pair_0": ("0.038", "1000")}, "not dead yet"),
        ({"maker_DC": "100"}, "class B"),
    ],
)
def test_a_round_that_proves_nothing_is_on_record_and_says_why(
    bay: Bay, clock: Clock, changed: dict[str, Any], words: str
) -> None:
    key = started_job(bay)
    wrote(bay, key, "lock_on", number="17")
    clock.passes(6)
    wrote(bay, key, "measure", **readings(bay, **changed))
    assert read(bay, key).state.proof is None
    page = said(bay, key)
    assert "Not yet proved dead" in page
    assert words in page
    refused(bay, key, "count", "Prove first", tools_out=1, tools_back=1, people_clear=2, refitted="Covers")


def test_a_figure_in_another_unit_is_the_same_figure(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    wrote(bay, key, "lock_on", number="17")
    clock.passes(6)
    wrote(bay, key, "measure", **readings(bay, pair_0=("400", "0.001"), pair_1="0,4", pair_2="-0.4"))
    row = facts_of([PointsMeasured], chain_id=bay.workshop.group.chain_id, about=key)[0]
    assert row.fact is not None
    assert [pair.read_v for pair in row.fact.pairs[:3]] == ["0.4", "0.4", "-0.4"]
    assert read(bay, key).state.proof is not None


def test_text_that_is_no_figure_is_kept_on_the_page_and_records_nothing(bay: Bay) -> None:
    key = started_job(bay)
    wrote(bay, key, "lock_on", number="17")
    before = Record.objects.count()
    for wrong in ("ok", "inf", "nan", "1e999"):
        answer = write(bay, key, "measure", **readings(bay, pair_0=wrong))
        assert answer.status_code == 400
        assert "Give a number" in answer.content.decode()
        assert 'value="498"' in answer.content.decode(), "what was typed is still there"
    assert Record.objects.count() == before


@pytest.mark.parametrize("rounds", [["400"], ["38", "38"]])
def test_an_unexpected_reading_stops_the_work_until_a_new_start(bay: Bay, clock: Clock, rounds: list[str]) -> None:
    key = started_job(bay)
    wrote(bay, key, "lock_on", number="17")
    clock.passes(6)
    for volts in rounds:
        wrote(bay, key, "measure", **readings(bay, pair_0=volts))
    assert "Nobody works on before a new start of work says yes" in said(bay, key)
    refused(bay, key, "measure", "reads", **readings(bay))
    assert start(bay, key).status_code == 302
    assert "Not yet proved dead" in said(bay, key)


def test_the_makers_values_stand_in_the_next_round_and_no_reading_does(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    proved(bay, key, clock)
    shown = dict(signed_in(bay.lead).get(url(bay, key)).context["more"])["measure"]
    assert (shown["maker_DC"].initial, shown["maker_wait_min"].initial) == (["5", "1"], 5.0)
    typed = {name for name, field in shown.fields.items() if field.initial is not None}
    assert typed == {"maker_DC", "maker_AC", "maker_wait_min"}


# ---------------------------------------------------------------- stop, absence, clearance, kit
def test_anybody_stops_and_only_a_new_start_of_work_goes_on(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    proved(bay, key, clock)
    wrote(bay, key, "stop", by=PersonFactory(workshop=bay.workshop), says="Smell at the inverter")
    page = said(bay, key)
    assert "Smell at the inverter" in page
    assert "label and cordon stay" in page
    refused(bay, key, "count", "Smell at the inverter", tools_out=1, tools_back=1, people_clear=2, refitted="Covers")
    assert start(bay, key).status_code == 302
    assert "Prove dead again" in said(bay, key)


def test_after_an_absence_nothing_goes_on_before_readings_are_taken_again(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    proved(bay, key, clock)
    wrote(bay, key, "away", person=bay.lead.key)
    assert "Work rests" in said(bay, key)
    refused(bay, key, "measure", "is away", **readings(bay))
    wrote(bay, key, "back", person=bay.lead.key)
    assert "Prove dead again" in said(bay, key)
    refused(bay, key, "warned", "Prove first", says="All")
    proved(bay, key, clock)
    wrote(bay, key, "warned", says="All")


def test_the_second_person_leaving_stops_the_work_until_it_is_proved_dead(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    wrote(bay, key, "away", person=bay.second.key)
    assert "The second person left" in said(bay, key)
    wrote(bay, key, "back", person=bay.second.key)
    assert "The second person left" in said(bay, key), "being back is no new decision"
    assert start(bay, key).status_code == 302
    proved(bay, key, clock)
    wrote(bay, key, "away", person=bay.second.key)
    assert "Under way" in said(bay, key), "this job type asks for them until it is proved dead"


def test_a_stand_down_shows_at_the_next_look_and_a_look_writes_nothing(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    proved(bay, key, clock)
    assert watch_jobs() == 0
    stand_down(person=bay.lead, job_types=None, reason="Hot smell.", medical=False, by=bay.manager, at=clock.now)
    before = Record.objects.count()
    assert watch_jobs() == 1
    page = said(bay, key, by=bay.second)
    assert "Hands off and back off" in page
    assert bay.lead.short_name in page
    assert "Hot smell" not in page, "a reason is for those who may see it"
    assert "Stop" in signed_in(bay.lead).get(reverse("board:home")).content.decode()
    assert "Stop" in signed_in(bay.manager).get(reverse("board:home")).content.decode()
    assert Record.objects.count() == before
    assert read(bay, key).is_running, "it is never closed by itself"
    refused(bay, key, "warned", "may not take this any more", says="All")


def test_the_second_persons_clearance_falls_and_the_page_says_stop(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    stand_down(person=bay.second, job_types=None, reason="Tired.", medical=False, by=bay.manager, at=clock.now)
    assert "Hands off and back off" in said(bay, key)


def test_a_glove_event_takes_the_pair_out_and_stops_the_work(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    proved(bay, key, clock)
    gloves = bay.lead_kit["gloves"]
    today = local_day(clock.now, bay.workshop.zone)
    note_something(item=gloves, what="oil", noted_on=today, by=bay.second, at=clock.now)
    page = said(bay, key)
    assert f"{gloves.ident} is out" in page
    assert "Hands off and back off" in page
    assert start(bay, key).status_code == 200, "the same pair does not start again"
    spare = checked({"gloves": in_service(bay.workshop, "gloves", by=bay.manager, at=clock.now)}, bay.lead, clock.now)
    kit = [(bay.lead_kit | spare)[kind].pk for kind in C_KINDS]
    assert start(bay, key, lead_kit=kit).status_code == 302
    assert "Prove dead again" in said(bay, key)


def test_a_failed_check_of_kit_in_hand_stops_the_work(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    pre_use_check(item=bay.lead_kit["visor"], passed=False, by=bay.lead, at=clock.now)
    assert f"{bay.lead_kit['visor'].ident} is out" in said(bay, key)


def test_a_job_past_its_planned_end_says_so_and_after_ten_hours_it_stops(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    clock.passes(4 * 60 + 1)
    assert "The planned end is past" in said(bay, key)
    assert "running past its planned end" in signed_in(bay.lead).get(bay.url).content.decode()
    clock.passes(6 * 60)
    assert "More than 10 hours since the start of work" in said(bay, key)
    assert read(bay, key).is_running
