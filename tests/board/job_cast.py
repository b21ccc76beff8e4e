"""A job in a bay: planned, started, locked off, proved dead and handed back through its page, and its clock."""

from __future__ import annotations

from datetime import timedelta
from html import unescape
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from tests.board.work_cast import Bay, appointed, checked, make_bay, signed_in
from tests.factories.bank import TaskVersionFactory
from tests.factories.equipment import in_service
from tests.factories.people import PersonFactory
from training.board.models import Job
from training.board.work.jobs import JobRead, job_on_record
from training.people.models import Person
from training.records.models import Record

C_KINDS = ("gloves", "meter", "leads", "proving unit", "lock", "visor", "mat")


class Clock:
    """What everything reads as now."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.now = timezone.now()
        monkeypatch.setattr(timezone, "now", lambda: self.now)

    def passes(self, minutes: float) -> None:
        self.now += timedelta(minutes=minutes)


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
    client = signed_in(by or bay.manager)
    token = client.get(there).context["form"]["token"].value()
    return client.post(there, plan_form(bay, **{"token": token} | changed))


def planned_job(bay: Bay, /, **changed: Any) -> str:
    answer = plan(bay, **changed)
    assert answer.status_code == 302, unescape(answer.content.decode())
    return str(Job.objects.order_by("-pk").values_list("key", flat=True)[0])


def start(bay: Bay, key: str, by: Person | None = None, **changed: Any) -> Any:
    """The start of work of a planned job, asked with everything there."""
    client = signed_in(by or bay.lead)
    kit = [bay.lead_kit[kind].pk for kind in C_KINDS]
    form = bay.form(client, **{"job_type": "C", "job": key, "lead_kit": kit, "bay": "2", "family": "car"} | changed)
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
    typed |= {name: changed.pop(name) for name in list(changed) if name in typed}
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


def another_lead(bay: Bay, clock: Clock) -> tuple[Person, list[int]]:
    """Somebody else who may lead job type C, with kit of their own checked today."""
    person = PersonFactory(workshop=bay.workshop)
    appointed(person, bay.manager, "C")
    kit = {kind: in_service(bay.workshop, kind, by=bay.manager, at=clock.now) for kind in C_KINDS}
    return person, [item.pk for item in checked(kit, person, clock.now).values()]


def job_bay() -> Bay:
    """Everything there for a job, and a task that it practises."""
    made = make_bay()
    TaskVersionFactory(group=made.workshop.group, ident="T3", title="Isolate and prove dead")
    return made
