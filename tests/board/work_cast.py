"""A bay ready to start: people appointed and of known age, fit kit checked by its wearers today, a form filled in."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from tests.factories.equipment import in_service
from tests.factories.people import ManagerFactory, PersonFactory, WorkshopFactory
from tests.factories.second import signed_second
from training.bank.actions import put_in_force
from training.bank.rule_books import starting_book
from training.core.trade.calendar import local_day
from training.equipment.actions import pre_use_check
from training.equipment.models import KitItem
from training.people.actions import appoint, appoint_mentor, enter_age, enter_certificate
from training.people.models import Person, Workshop
from training.records.actions import append
from training.signoff.facts import Observed

ASKED = {"appointed": {"valid_months": 12}, "sentence": "Appointed by name.", "source": "common practice, no source"}
SEEN = {
    "sign_off": {
        "task": "T1",
        "observations": 1,
        "mentors": 1,
        "days": 1,
        "valid_months": 12,
        "done_within_days": None,
    },
    "sentence": "Seen once.",
    "source": "common practice, no source",
}
LEAD_KINDS = ("gloves", "meter", "leads", "proving unit", "lock", "visor", "mat", "insulated tools")
SECOND_KINDS = ("gloves", "hook")


def short_book(*, seen: tuple[str, ...] = ()) -> dict[str, Any]:
    """The starting rule book with its own starts of work, each job type asking only for an appointment.

    ``seen`` are job types that also ask for a sign-off, so that an appointment alone gives no more than supervised.
    """
    book = deepcopy(starting_book())
    for job_type in book["job_types"]:
        job_type["requirements"] = [ASKED, *([SEEN] if job_type["key"] in seen else [])]
    return book


@dataclass
class Bay:
    """One workshop with everything there for job type E, and the form that asks for it."""

    workshop: Workshop
    manager: Person
    lead: Person
    second: Person
    now: datetime
    lead_kit: dict[str, KitItem] = field(default_factory=dict)
    second_kit: dict[str, KitItem] = field(default_factory=dict)

    @property
    def url(self) -> str:
        return reverse("board:start_of_work", args=[self.workshop.slug])

    def local(self, hours: float) -> str:
        """So many hours from now, as the workshop's clock shows it."""
        return (self.now + timedelta(hours=hours)).astimezone(ZoneInfo(self.workshop.zone)).strftime("%Y-%m-%dT%H:%M")

    def form(self, client: Client, **changed: Any) -> dict[str, Any]:
        """A form for job type E with every answer given, some of them changed; None leaves one out."""
        job_type = changed.get("job_type", "E")
        shown = client.get(self.url, {"job_type": job_type})
        right: dict[str, Any] = {
            "job_type": job_type,
            "token": shown.context["form"]["token"].value(),
            "vehicle": "QF 417",
            "highest_dc_v": "450",
            "highest_ac_v": "300",
            "lead": self.lead.pk,
            "second_person": self.second.pk,
            "stands_by": "on",
            "point_of_work": "vehicle side",
            "ac_points": "yes",
            "lead_kit": [item.pk for item in self.lead_kit.values()],
            "second_kit": [item.pk for item in self.second_kit.values()],
            "procedure_opened_today": "on",
            "procedure_edition": "edition 12",
            "ordered_by": "R. Manager",
            "why_not_dead": "The fault shows only under voltage.",
            "cordon_up": "on",
            "planned_end": self.local(4),
        }
        return {name: value for name, value in (right | changed).items() if value is not None}

    def ask(self, client: Client, **changed: Any) -> Any:
        return client.post(self.url, self.form(client, **changed))


def appointed(person: Person, manager: Person, *job_types: str, under_18: bool = False, hours: float = 0) -> None:
    """Of known age, and appointed for a year."""
    now = timezone.now()
    today = local_day(now, person.workshop.zone)
    enter_age(person=person, under_18=under_18, by=manager, at=now)
    appoint(
        person=person,
        job_types=job_types,
        workshop=person.workshop,
        from_day=today,
        through_day=today + timedelta(days=300),
        reason="Course and observations seen.",
        by=manager,
        at=now,
    )


def watched(person: Person, task: str, manager: Person) -> None:
    """Signed off for a task by a mentor with an outside certificate that names it, who is made for the purpose."""
    workshop, now = person.workshop, timezone.now()
    today = local_day(now, workshop.zone)
    mentor = PersonFactory(workshop=workshop)
    enter_certificate(
        person=mentor,
        certificate="HV course with assessed practical",
        issuer="Town school",
        issued_on=today - timedelta(days=30),
        through_day=None,
        tasks=[task],
        by=manager,
        at=now,
    )
    written = appoint_mentor(
        person=mentor,
        tasks=[task],
        workshop=workshop,
        from_day=today,
        through_day=today + timedelta(days=300),
        reason="Course.",
        by=manager,
        at=now,
    )
    signed_second(mentor, written, at=now)
    fact = Observed(
        task=task,
        version=1,
        workshop=workshop.key,
        steps=["done"],
        judgement="ready",
        passed=True,
        note="",
        by=mentor.key,
    )
    with transaction.atomic():
        append(fact, chain_id=workshop.group.chain_id, about=person.key, at=timezone.now(), names=[mentor.key])


def checked(kit: dict[str, KitItem], by: Person, at: datetime) -> dict[str, KitItem]:
    for item in kit.values():
        pre_use_check(item=item, passed=True, by=by, at=at)
    return kit


def make_bay(**book: Any) -> Bay:
    """Everything there for job type E: a start of work is answered yes."""
    now = timezone.now()
    workshop = WorkshopFactory(opened_on=now.date() - timedelta(days=60))  # mentors may stand on certificates
    manager = ManagerFactory(workshop=workshop)
    lead, second = PersonFactory(workshop=workshop), PersonFactory(workshop=workshop)
    put_in_force(workshop=workshop, book=short_book(**book), by=manager, at=now)
    appointed(lead, manager, "A", "B", "C", "D", "E")
    appointed(second, manager, "A", "second person")
    bay = Bay(workshop=workshop, manager=manager, lead=lead, second=second, now=now)
    made = {kind: in_service(workshop, kind, by=manager, at=now) for kind in LEAD_KINDS}
    bay.lead_kit = checked(made, lead, now)
    held = {kind: in_service(workshop, kind, by=manager, at=now) for kind in SECOND_KINDS}
    bay.second_kit = checked(held, second, now)
    return bay


def signed_in(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client
