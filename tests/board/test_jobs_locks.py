"""Own locks, hand-over, the lock of somebody absent, and how a job ends."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from tests.board.job_cast import (
    Clock,
    another_lead,
    count,
    handed_back,
    insulation,
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
from tests.factories.people import ManagerFactory, PersonFactory
from training.board.facts import TaskDone
from training.board.queries import read_workshop
from training.equipment.models import KitItem
from training.records.models import Record

pytestmark = [pytest.mark.django_db, pytest.mark.db]


# ---------------------------------------------------------------- locks and hand-over
def test_everybody_has_only_their_own_lock_and_the_leads_comes_off_last(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    proved(bay, key, clock)
    refused(bay, key, "lock_on", "on already", number="18")
    refused(bay, key, "lock_off", "no lock on this job", by=bay.second)
    wrote(bay, key, "lock_on", by=bay.second, number="21")
    count(bay, key)
    insulation(bay, key)
    wrote(bay, key, "warned", says="All")
    refused(bay, key, "lock_off", "comes off last")
    wrote(bay, key, "lock_off", by=bay.second)
    wrote(bay, key, "lock_off")
    assert read(bay, key).state.locks == ()


def test_the_last_lock_waits_for_counting_insulation_and_warning(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    proved(bay, key, clock)
    for words in ("not counted", "insulation value is not typed", "has been warned"):
        refused(bay, key, "lock_off", words)
    refused(bay, key, "count", "find the rest first", tools_out=12, tools_back=11, people_clear=2, refitted="Covers")
    refused(bay, key, "count", "are on the job", tools_out=1, tools_back=1, people_clear=1, refitted="Covers")
    refused(bay, key, "energise", "Locks are still on", says="Edition 12")
    refused(bay, key, "label_off", "comes off last")
    refused(bay, key, "close", "Re-energise first", handed_to="M.")


def test_a_low_insulation_value_stops_the_work(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    proved(bay, key, clock)
    insulation(bay, key, measured="0.25")
    assert "below the maker's figure" in said(bay, key)
    below = {"measured_0": "-1", "measured_1": "1", "maker_0": "5", "maker_1": "1", "instrument": "R-1"}
    refused(bay, key, "insulation", "not below 0", **below)


def test_a_shift_hands_over_lock_for_lock_and_proves_anew(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    proved(bay, key, clock)
    other, kit = another_lead(bay, clock)
    early = start(bay, key, other, lead=other.pk, lead_kit=kit)
    assert early.status_code == 200
    assert "A hand-over needs both" in early.content.decode()
    wrote(bay, key, "offer", person=other.key)
    by_another = start(bay, key, bay.lead, lead=other.pk, lead_kit=kit)
    assert by_another.status_code == 200, "the new lead asks, so that both are there"
    assert start(bay, key, other, lead=other.pk, lead_kit=kit).status_code == 302
    assert "Prove dead again" in said(bay, key)
    meter = next(one.ident for one in KitItem.objects.filter(pk__in=kit, kind="meter"))
    refused(bay, key, "lock_off", "Lock for lock")
    refused(bay, key, "measure", "Only the person in control", **readings(bay, instrument=meter))
    wrote(bay, key, "lock_on", by=other, number="31")
    wrote(bay, key, "lock_off")
    clock.passes(6)
    wrote(bay, key, "measure", by=other, **readings(bay, instrument=meter))
    assert read(bay, key).state.proof is not None
    assert bay.lead.key not in read(bay, key).state.busy, "whose lock is off is free"


def test_an_absent_persons_lock_comes_off_by_the_written_rule_only(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    proved(bay, key, clock)
    wrote(bay, key, "away", person=bay.lead.key)
    rule = {"certain": "Gate log 16:02", "tried": "Rang twice", "tells": "The manager, at the gate"}
    refused(bay, key, "remove", "The person in control or a manager", by=bay.second, person=bay.lead.key, **rule)
    refused(bay, key, "remove", "required", by=bay.manager, person=bay.lead.key, **rule | {"tried": ""})
    wrote(bay, key, "remove", by=bay.manager, person=bay.lead.key, **rule)
    for who in (bay.manager, bay.lead):
        refused(bay, key, "agree", "A second person agrees", by=who)
    wrote(bay, key, "agree", by=bay.second)
    assert "to be told: lock taken off" in said(bay, key)
    refused(bay, key, "lock_on", "taken off while you were away", number="17")
    assert "nobody has told them yet" in start(bay, key).content.decode()
    refused(bay, key, "told", "Somebody else tells them", person=bay.lead.key)
    wrote(bay, key, "told", by=bay.second, person=bay.lead.key)
    assert start(bay, key).status_code == 302
    assert "Prove dead again" in said(bay, key)


# ---------------------------------------------------------------- the end
def test_a_closed_jobs_task_counts_as_last_done_when_somebody_else_on_it_confirms(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    proved(bay, key, clock)
    done = reverse("board:job_done", args=[bay.workshop.slug, key])
    asked = {"person": bay.lead.key, "task": "T3"}
    assert signed_in(bay.second).post(done, asked).status_code == 400, "the job is not closed"
    handed_back(bay, key)
    for who in (bay.lead, bay.manager, PersonFactory(workshop=bay.workshop)):
        assert signed_in(who).post(done, asked).status_code == 400
    for wrong in ({"person": bay.second.key, "task": "T3"}, {"person": bay.lead.key, "task": "T1"}, {}):
        assert signed_in(bay.second).post(done, wrong).status_code == 400
    assert "Confirm: " in said(bay, key, by=bay.second)
    assert signed_in(bay.second).post(done, asked).status_code == 302
    assert signed_in(bay.second).post(done, asked).status_code == 400, "once"
    of_lead = read_workshop(bay.workshop, read_at=clock.now).everybody[bay.lead.key].observations
    assert [(one.task, one.done_only, one.observer, one.passed) for one in of_lead] == [
        ("T3", True, bay.second.key, True)
    ]
    assert Record.objects.filter(kind=TaskDone.kind, about=bay.lead.key).count() == 1


def test_a_started_job_is_called_off_only_while_nothing_was_locked_off(bay: Bay) -> None:
    key = started_job(bay)
    refused(bay, key, "call_off", "A manager calls a job off", why="Fetched.")
    wrote(bay, key, "lock_on", number="17")
    refused(bay, key, "call_off", "ends by handing back", by=bay.manager, why="Fetched.")


def test_a_job_of_another_group_or_workshop_is_404(bay: Bay) -> None:
    key = started_job(bay)
    stranger = signed_in(ManagerFactory())
    assert stranger.get(url(bay, key)).status_code == 404
    assert stranger.post(url(bay, key), {"form": "stop", "stop-says": "x"}).status_code == 404
    assert stranger.post(reverse("board:job_done", args=[bay.workshop.slug, key])).status_code == 404
    assert stranger.get(reverse("board:plan_job", args=[bay.workshop.slug])).status_code == 404
    assert signed_in(bay.lead).get(url(bay, "no-such-job")).status_code == 404


@pytest.mark.parametrize("form", ["", "no such form", "fold"])
def test_a_form_that_nobody_knows_is_a_400(bay: Bay, form: str) -> None:
    key = started_job(bay)
    assert signed_in(bay.lead).post(url(bay, key), {"form": form}).status_code == 400


def test_where_a_job_stood_is_told_for_any_moment(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)
    clock.passes(1)
    wrote(bay, key, "lock_on", number="17")
    locked_at = clock.now
    clock.passes(6)
    wrote(bay, key, "measure", **readings(bay))
    job = read(bay, key)
    assert job.stood_at(locked_at).proof is None
    assert [lock.number for lock in job.stood_at(locked_at).locks] == ["17"]
    assert job.stood_at(locked_at - timedelta(seconds=30)).locks == ()
    assert job.stood_at(clock.now) == job.state
