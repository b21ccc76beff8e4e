"""One job from plan to hand-back through its page: what may be written when, and what is refused with a sentence."""

from __future__ import annotations

from datetime import datetime, timedelta
from html import unescape
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from tests.board.work_cast import Bay, appointed, checked, make_bay, signed_in
from tests.factories.bank import TaskVersionFactory
from tests.factories.equipment import in_service
from tests.factories.people import ManagerFactory, PersonFactory
from training.board.facts import JobCalledOff, JobStep, PointsMeasured, TaskDone, WorkStarted
from training.board.models import Job
from training.board.queries import read_workshop
from training.board.tasks import watch_jobs
from training.board.work.jobs import JobRead, job_on_record
from training.core.trade.calendar import local_day
from training.equipment.actions import note_something, pre_use_check
from training.people.actions import stand_down
from training.people.models import Person
from training.records.models import Record
from training.records.queries import facts_of

pytestmark = [pytest.mark.django_db, pytest.mark.db]

C_KINDS = ("gloves", "meter", "leads", "proving unit", "lock", "visor", "mat")


class Clock:
    """What everything reads as now."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.now = timezone.now()
        monkeypatch.setattr(timezone, "now", lambda: self.now)

    def passes(self, minutes: float) -> None:
        self.now += timedelta(minutes=minutes)


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    return Clock(monkeypatch)


@pytest.fixture
def bay(clock: Clock) -> Bay:
    made = make_bay()
    TaskVersionFactory(group=made.workshop.group, ident="T3", title="Isolate and prove dead")
    return made


def plan_form(bay: Bay, /, **changed: Any) -> dict[str, Any]:
    """A plan for job type C with everything said, some of it changed; None leaves one out."""
    right: dict[str, Any] = {
        "job_type": "C",
        "vehicle": "QF 417",
        "family": "car",
        "bay": "2",
        "highest_dc_v_0": "450",
        "highest_dc_v_1": "1",
        "highest_ac_v_0": "300",
        "highest_ac_v_1": "1",
        "mass_kg": "2100",
        "starts": bay.local(0),
        "planned_end": bay.local(4),
        "lead": bay.lead.pk,
        "second_person": bay.second.pk,
        "tasks": ["T3"],
    }
    return {name: value for name, value in (right | changed).items() if value is not None}


def plan(bay: Bay, by: Person | None = None, /, **changed: Any) -> Any:
    there = reverse("board:plan_job", args=[bay.workshop.slug])
    return signed_in(by or bay.manager).post(there, plan_form(bay, **changed))


def planned_job(bay: Bay, /, **changed: Any) -> str:
    answer = plan(bay, **changed)
    assert answer.status_code == 302, unescape(answer.content.decode())
    return str(Job.objects.order_by("-pk").values_list("key", flat=True)[0])


def start(bay: Bay, key: str, by: Person | None = None, **changed: Any) -> Any:
    """The start of work of a planned job, asked with everything there."""
    client = signed_in(by or bay.lead)
    kit = [bay.lead_kit[kind].pk for kind in C_KINDS]
    form = bay.form(client, **{"job_type": "C", "job": key, "lead_kit": kit} | changed)
    return client.post(bay.url, form)


def started_job(bay: Bay, **changed: Any) -> str:
    key = planned_job(bay, **changed)
    answer = start(bay, key)
    assert answer.status_code == 302, unescape(answer.content.decode())
    return key


def url(bay: Bay, key: str) -> str:
    return reverse("board:job", args=[bay.workshop.slug, key])


def said(bay: Bay, key: str, by: Person | None = None) -> str:
    return unescape(signed_in(by or bay.lead).get(url(bay, key)).content.decode())


def write(bay: Bay, key: str, form: str, by: Person | None = None, **values: Any) -> Any:
    posted = {f"{form}-{name}": value for name, value in values.items()}
    return signed_in(by or bay.lead).post(url(bay, key), {"form": form, **posted})


def wrote(bay: Bay, key: str, form: str, by: Person | None = None, **values: Any) -> None:
    answer = write(bay, key, form, by, **values)
    assert answer.status_code == 302, unescape(answer.content.decode())


def refused(bay: Bay, key: str, form: str, words: str, by: Person | None = None, **values: Any) -> None:
    before = Record.objects.count()
    answer = write(bay, key, form, by, **values)
    assert answer.status_code in (400, 409)
    assert words in unescape(answer.content.decode())
    assert Record.objects.count() == before


def read(bay: Bay, key: str) -> JobRead:
    found = job_on_record(bay.workshop, key)
    assert found is not None
    return found


def readings(bay: Bay, *, volts: str = "0.4", **changed: Any) -> dict[str, Any]:
    """A round of readings on the vehicle side, DC and AC."""
    typed: dict[str, Any] = {"instrument": bay.lead_kit["meter"].ident, "source": "proving unit", "maker_wait_min": "5"}
    figures = {"maker_DC": "5", "maker_AC": "5"}
    for current in ("DC", "AC"):
        figures |= {f"source_{current}": "500", f"before_{current}": "498", f"after_{current}": "501"}
    figures |= {f"pair_{number}": volts for number in range(9)}
    for name, figure in (figures | changed).items():
        typed |= (
            {f"{name}_0": figure, f"{name}_1": "1"}
            if not isinstance(figure, tuple)
            else dict(zip((f"{name}_0", f"{name}_1"), figure, strict=True))
        )
    return typed


def proved(bay: Bay, key: str, clock: Clock) -> None:
    """The lead's lock on, the maker's wait over, proved dead."""
    if read(bay, key).state.lock_of(bay.lead.key) is None:
        wrote(bay, key, "lock_on", number="17")
        clock.passes(6)
    wrote(bay, key, "measure", **readings(bay))
    assert read(bay, key).state.proof is not None


def handed_back(bay: Bay, key: str) -> None:
    count(bay, key)
    insulation(bay, key)
    wrote(bay, key, "warned", says="Both neighbours and the counter")
    wrote(bay, key, "lock_off")
    wrote(bay, key, "energise", says="Edition 12, no warning shown")
    wrote(bay, key, "label_off")
    wrote(bay, key, "close", handed_to="M. Counter: no fault shown")


def count(bay: Bay, key: str, **changed: Any) -> None:
    wrote(
        bay,
        key,
        "count",
        **{"tools_out": 12, "tools_back": 12, "people_clear": 2, "refitted": "Covers, seals"} | changed,
    )


def insulation(bay: Bay, key: str, measured: str = "12") -> None:
    unit = "1000000"
    wrote(bay, key, "insulation", measured_0=measured, measured_1=unit, maker_0="5", maker_1=unit, instrument="R-1")


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
    handed_back(bay, key)
    assert "Closed" in said(bay, key)
    assert read(bay, key).state.over is not None
    assert start(bay, key).status_code == 400, "a job that is over is over"


def test_the_page_offers_the_next_step_only(bay: Bay, clock: Clock) -> None:
    key = started_job(bay)

    def offered(by: Person) -> set[str]:
        context = signed_in(by).get(url(bay, key)).context
        return {name for name, _form in context["next"]}

    assert offered(bay.lead) == {"lock_on", "count"}
    assert offered(bay.second) == {"lock_on"}
    proved(bay, key, clock)
    assert {"measure", "count", "insulation", "warned"} <= offered(bay.lead)
    assert "lock_off" not in offered(bay.lead)
