"""The second signature under a mentor's appointment: who may sign, and from when it is evidence."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import msgspec
import pytest
from django.db import transaction

from tests.factories.people import ManagerFactory, PersonFactory, WorkshopFactory
from tests.people.cast import AT, TODAY, Cast, later, make_cast, papers
from training.core.permission.evidence import MentorAppointment
from training.people import actions, facts
from training.people.mentoring import sign_second
from training.people.models import Person
from training.people.opening import Opening, Signer, open_workshop
from training.people.refusal import Refusal
from training.records.actions import append
from training.records.models import Record
from training.records.queries import marks_of

pytestmark = [pytest.mark.django_db, pytest.mark.db]


@pytest.fixture
def cast() -> Cast:
    return make_cast()


def appointed(cast: Cast, **changed: Any) -> Record:
    """The technician, named as mentor by the manager."""
    right: dict[str, Any] = {
        "person": cast.technician, "tasks": ["T1"], "workshop": cast.workshop, "from_day": TODAY,
        "through_day": date(2027, 3, 1), "reason": "Steady.", "by": cast.manager, "at": AT,
    }  # fmt: skip
    return actions.appoint_mentor(**(right | changed))


def found(cast: Cast, known_at: int | None = None) -> MentorAppointment:
    (one,) = papers(cast.technician, known_at).mentor_appointments
    return one


def test_another_manager_signs_second_and_it_is_evidence_from_that_record_on(cast: Cast) -> None:
    written = appointed(cast)
    assert (found(cast).second_by, found(cast).second_on) == ("", None)
    sign_second(person=cast.technician, record=written.number, by=cast.other_manager, at=AT + timedelta(days=2))
    assert (found(cast).second_by, found(cast).second_on) == (cast.other_manager.key, TODAY + timedelta(days=2))
    assert found(cast, known_at=written.number).second_by == ""


def test_the_second_signature_moves_the_marks_of_the_mentor_and_of_every_workshop(cast: Cast) -> None:
    second_site = WorkshopFactory(group=cast.workshop.group)
    signed = sign_second(person=cast.technician, record=appointed(cast).number, by=cast.other_manager, at=later(1))
    keys = [cast.technician.key, cast.workshop.key, second_site.key]
    assert set(marks_of(cast.workshop.group.chain_id, keys).values()) == {signed.number}


@pytest.mark.parametrize(
    ("who", "said"),
    [
        ("technician", "your own appointment"),
        ("manager", "You wrote this appointment"),
        ("apprentice", "Only another manager"),
        ("foreign_manager", "not of your workshop group"),
    ],
)
def test_whoever_may_not_sign_is_told_why_and_nothing_is_written(cast: Cast, who: str, said: str) -> None:
    written = appointed(cast)
    with pytest.raises(Refusal, match=said):
        sign_second(person=cast.technician, record=written.number, by=getattr(cast, who), at=later(1))
    assert Record.objects.count() == written.number


def test_nobody_signs_who_has_left(cast: Cast) -> None:
    written, cast.other_manager.is_active = appointed(cast), False
    with pytest.raises(Refusal):
        sign_second(person=cast.technician, record=written.number, by=cast.other_manager, at=later(1))


def test_the_second_signer_of_the_opening_may_sign_there_and_only_there() -> None:
    opening = Opening(
        group="quay", group_name="Quay", slug="one", name="One", zone="Europe/Berlin", regime="EU", opened_on=TODAY,
        manager=Signer(username="mona", given_name="Mona", family_name="Brand", tally=1),
        second=Signer(username="sven", given_name="Sven", family_name="Holt", tally=2),
    )  # fmt: skip
    workshop = open_workshop(opening, at=AT)
    mona, sven = (Person.objects.get(username=name) for name in ("mona", "sven"))
    elsewhere, mentor = WorkshopFactory(group=workshop.group), PersonFactory(workshop=workshop)
    said: dict[str, Any] = {
        "person": mentor, "from_day": TODAY, "through_day": date(2027, 3, 1), "reason": "x", "by": mona,
    }  # fmt: skip
    here = actions.appoint_mentor(tasks=["T1"], workshop=workshop, at=AT, **said)
    there = actions.appoint_mentor(tasks=["T1"], workshop=elsewhere, at=AT, **said)
    assert sign_second(person=mentor, record=here.number, by=sven, at=later(1)).about == mentor.key
    with pytest.raises(Refusal, match="Only another manager"):
        sign_second(person=mentor, record=there.number, by=sven, at=later(1))


def test_it_is_signed_once(cast: Cast) -> None:
    written, third = appointed(cast), ManagerFactory(workshop=cast.workshop)
    sign_second(person=cast.technician, record=written.number, by=cast.other_manager, at=later(1))
    for by in (cast.other_manager, third):
        with pytest.raises(Refusal, match="two people already"):
            sign_second(person=cast.technician, record=written.number, by=by, at=later(2))


def test_only_an_appointment_as_mentor_that_lasts_is_signed(cast: Cast) -> None:
    written = appointed(cast)
    with pytest.raises(Refusal, match="no such appointment"):
        sign_second(person=cast.apprentice, record=written.number, by=cast.other_manager, at=later(1))
    actions.withdraw(
        person=cast.technician, record=written.number, from_day=TODAY, reason="A slip.", by=cast.manager, at=later(1)
    )
    with pytest.raises(Refusal, match="is over"):
        sign_second(person=cast.technician, record=written.number, by=cast.other_manager, at=later(2))


def test_signatures_written_past_the_checks_by_the_mentor_or_the_appointer_are_none(cast: Cast) -> None:
    written = appointed(cast)
    for by in (cast.technician.key, cast.manager.key, ""):
        fact = facts.SecondSigned(record=written.number, signed_on=TODAY, by=by)
        with transaction.atomic():
            append(fact, chain_id=cast.workshop.group.chain_id, about=cast.technician.key, at=later(1))
    assert found(cast).second_by == ""


def test_an_appointment_written_before_there_were_outside_mentors_reads_as_one_from_here(cast: Cast) -> None:
    text = appointed(cast).body.text
    older = text.replace('"outside":false,', "")
    assert older != text
    assert msgspec.json.decode(older, type=facts.MentorAppointed).outside is False
