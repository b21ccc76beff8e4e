"""Mentors from outside and second signatures on the pages: what is missing, who may sign, and who reads what."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from tests.factories.people import PASSWORD, PersonFactory, WorkshopFactory
from tests.people.cast import Cast, make_cast, papers, signed_in
from training.people import actions, offers
from training.people.facts import WorkshopOpened
from training.people.mentoring import sign_second
from training.people.models import Person
from training.people.refusal import Refusal
from training.records.actions import append
from training.records.models import Record

pytestmark = [pytest.mark.django_db, pytest.mark.db]
TODAY = timezone.now().date()
SIGNING = {"password": PASSWORD}
LAST = TODAY + timedelta(days=300)


@pytest.fixture
def cast(monkeypatch: pytest.MonkeyPatch) -> Cast:
    """The cast, at a workshop with two tasks, whose first months are long over."""
    tasks = [offers.Offer(key=key, title=f"About {key}") for key in ("T1", "T2")]
    monkeypatch.setitem(offers._offerings, offers.TASKS, lambda _workshop: tasks)
    first = [offers.Offer(key="x", title="x", at_most_months=12)]
    monkeypatch.setitem(offers._offerings, offers.FIRST_MENTORS, lambda _workshop: first)
    return make_cast()


@pytest.fixture
def olga(cast: Cast) -> Person:
    return PersonFactory(workshop=cast.workshop, given_name="Olga", family_name="Fern")


def appointed(cast: Cast, person: Person, **changed: Any) -> Record:
    right: dict[str, Any] = {
        "person": person, "tasks": ["T1"], "workshop": cast.workshop, "from_day": TODAY, "through_day": LAST,
        "reason": "Works at the institute.", "by": cast.manager, "at": timezone.now(), "outside": True,
    }  # fmt: skip
    return actions.appoint_mentor(**(right | changed))


def certified(cast: Cast, person: Person, *tasks: str, issued_on: date = TODAY - timedelta(days=30)) -> None:
    actions.enter_certificate(
        person=person, certificate="HV course", issuer="An institute", issued_on=issued_on, through_day=None,
        tasks=tasks, by=cast.manager, at=timezone.now(),
    )  # fmt: skip


def url(name: str, *args: Any) -> str:
    return reverse(f"people:{name}", args=args)


def page(viewer: Person, name: str, *args: Any) -> str:
    return signed_in(viewer).get(url(name, *args)).content.decode()


# --------------------------------------------------------------------------------------------------------- appointing


def test_the_form_appoints_a_mentor_from_outside(cast: Cast, olga: Person) -> None:
    posted = {
        "tasks": ["T1"], "from_day": TODAY.isoformat(), "through_day": LAST.isoformat(), "outside": "on",
        "reason": "Institute.",
    }  # fmt: skip
    assert signed_in(cast.manager).post(url("appoint_mentor", olga.pk), posted).status_code == 302
    (one,) = papers(olga).mentor_appointments
    assert (one.outside, one.second_by) == (True, "")


def test_whoever_takes_jobs_here_is_no_mentor_from_outside(cast: Cast, olga: Person) -> None:
    said: dict[str, Any] = {
        "person": olga, "workshop": cast.workshop, "from_day": TODAY, "through_day": LAST, "reason": "x",
        "by": cast.manager, "at": timezone.now(), "job_types": ["A"],
    }  # fmt: skip
    elsewhere = WorkshopFactory(group=cast.workshop.group)
    actions.appoint(**(said | {"workshop": elsewhere}))
    appointed(cast, olga)
    with pytest.raises(Refusal, match="mentor from outside here") as refused:
        actions.appoint(**said)
    assert refused.value.field == "job_types"
    with pytest.raises(Refusal, match="so is no mentor from outside"):
        appointed(cast, olga, workshop=elsewhere)
    assert appointed(cast, olga, workshop=elsewhere, outside=False).number == 3


# ---------------------------------------------------------------------------------------------------- what is missing


def test_the_persons_page_says_what_a_mentor_from_outside_lacks_until_nothing_does(cast: Cast, olga: Person) -> None:
    record = appointed(cast, olga, tasks=["T1", "T2"]).number
    shown = page(cast.manager, "person", olga.pk)
    assert "Mentor from outside at" in shown
    assert "names T1, T2, not older than 36 months" in shown
    assert "The second signature" in shown
    certified(cast, olga, "T1")
    assert "names T2, not older" in page(cast.manager, "person", olga.pk)
    certified(cast, olga, "T2")
    sign_second(person=olga, record=record, by=cast.other_manager, at=timezone.now())
    shown = page(cast.manager, "person", olga.pk)
    assert "Missing:" not in shown
    assert "signed by two people" in shown


def test_a_certificate_that_is_too_old_is_missing(cast: Cast, olga: Person) -> None:
    appointed(cast, olga)
    certified(cast, olga, "T1", issued_on=TODAY - timedelta(days=37 * 31))
    assert "names T1, not older" in page(cast.manager, "person", olga.pk)


def test_an_ordinary_mentor_waits_for_a_second_signature_only_in_the_first_months_and_with_a_certificate(
    cast: Cast, olga: Person
) -> None:
    appointed(cast, olga, outside=False)
    certified(cast, olga, "T1")
    assert "Missing:" not in page(cast.manager, "person", olga.pk)
    cast.workshop.opened_on = TODAY - timedelta(days=30)
    cast.workshop.save()
    assert "The second signature" in page(cast.manager, "person", olga.pk)


def test_an_appointment_that_is_over_is_not_listed(cast: Cast, olga: Person) -> None:
    record = appointed(cast, olga).number
    actions.withdraw(person=olga, record=record, from_day=TODAY, reason="Moves.", by=cast.manager, at=timezone.now())
    assert "Mentor from outside at" not in page(cast.manager, "person", olga.pk)
    assert signed_in(cast.other_manager).get(url("sign_second", olga.pk, record)).status_code == 404


def test_the_list_of_people_names_mentors_and_those_from_outside(cast: Cast, olga: Person) -> None:
    appointed(cast, cast.technician, outside=False)
    appointed(cast, olga)
    shown = page(cast.apprentice, "everyone")
    assert shown.count("mentor from outside") == 1
    assert shown.count("technician · mentor") == 1


# ------------------------------------------------------------------------------------------------------- signing second


def test_another_manager_finds_the_appointment_reads_what_it_rests_on_and_signs(cast: Cast, olga: Person) -> None:
    record = appointed(cast, olga).number
    certified(cast, olga, "T1")
    address = url("sign_second", olga.pk, record)
    assert address in page(cast.other_manager, "everyone")
    assert address in page(cast.other_manager, "person", olga.pk)
    assert address not in page(cast.manager, "everyone")
    shown = signed_in(cast.other_manager).get(address).content.decode()
    assert "Works at the institute." in shown
    assert "issued by An institute" in shown
    answer = signed_in(cast.other_manager).post(address, SIGNING, follow=True)
    assert "Signed." in answer.content.decode()
    assert papers(olga).mentor_appointments[0].second_by == cast.other_manager.key
    assert address not in page(cast.other_manager, "everyone")
    assert "Two people have signed" in signed_in(cast.other_manager).get(address).content.decode()
    assert signed_in(cast.other_manager).post(address, SIGNING).status_code == 400


@pytest.mark.parametrize("said", [{}, {"password": ""}, {"password": "not it"}])
def test_without_the_right_password_nothing_is_signed(cast: Cast, olga: Person, said: dict[str, str]) -> None:
    record = appointed(cast, olga).number
    answer = signed_in(cast.other_manager).post(url("sign_second", olga.pk, record), said)
    assert answer.status_code == 400
    assert "That is not your password. Nothing was signed." in answer.content.decode()
    assert papers(olga).mentor_appointments[0].second_by == ""


def test_without_a_certificate_the_page_says_that_the_signature_gives_nothing_yet(cast: Cast, olga: Person) -> None:
    record = appointed(cast, olga).number
    assert "gives nothing yet" in page(cast.other_manager, "sign_second", olga.pk, record)


def test_whoever_wrote_it_reads_that_somebody_else_signs(cast: Cast, olga: Person) -> None:
    record = appointed(cast, olga).number
    shown = page(cast.manager, "sign_second", olga.pk, record)
    assert "Somebody else signs second" in shown
    assert "Sign as the second person" not in shown
    assert signed_in(cast.manager).post(url("sign_second", olga.pk, record), SIGNING).status_code == 400


def test_the_second_signer_of_the_workshop_signs_without_being_a_manager(cast: Cast, olga: Person) -> None:
    record = appointed(cast, olga).number
    fact = WorkshopOpened(
        name="x", zone="Europe/Berlin", regime="EU", opened_on=TODAY, by=cast.manager.key, second=cast.apprentice.key
    )
    append(fact, chain_id=cast.workshop.group.chain_id, about=cast.workshop.key, at=timezone.now())
    assert url("sign_second", olga.pk, record) in page(cast.apprentice, "everyone")
    assert "Works at the institute." in page(cast.apprentice, "sign_second", olga.pk, record)
    answer = signed_in(cast.apprentice).post(url("sign_second", olga.pk, record), SIGNING, follow=True)
    assert answer.redirect_chain[-1][0] == url("everyone")
    assert papers(olga).mentor_appointments[0].second_by == cast.apprentice.key


def test_nobody_else_opens_the_page_and_another_group_finds_nothing(cast: Cast, olga: Person) -> None:
    record = appointed(cast, olga).number
    statuses = {
        who: [
            getattr(signed_in(getattr(cast, who)), ask)(url("sign_second", olga.pk, record), SIGNING).status_code
            for ask in ("get", "post")
        ]
        for who in ("technician", "apprentice", "stranger", "foreign_manager")
    }
    assert statuses == {
        "technician": [403, 403], "apprentice": [403, 403], "stranger": [403, 403], "foreign_manager": [404, 404]
    }  # fmt: skip
    assert papers(olga).mentor_appointments[0].second_by == ""


def test_the_written_form_names_both_signers_and_says_that_the_mentor_works_elsewhere(cast: Cast, olga: Person) -> None:
    record = appointed(cast, olga).number
    shown = page(olga, "appointment", olga.pk, record)
    assert "as mentor from outside" in shown
    assert "No second person has signed it yet." in shown
    sign_second(person=olga, record=record, by=cast.other_manager, at=timezone.now())
    assert f"Signed by a second person, {cast.other_manager.full_name}." in page(olga, "appointment", olga.pk, record)
    assert "signed by a second person" in page(olga, "mine")
