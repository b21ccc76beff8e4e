"""Certificates, instruction and age, and papers that cannot be read."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.db import connection

from tests.factories.people import PersonFactory, RoleHeldFactory
from tests.people.cast import AT, TODAY, Cast, appoint, later, make_cast, papers
from tests.records.noted import note
from training.core.permission.evidence import AgeEntry, Instruction, OutsideCertificate, PersonEvidence
from training.people import actions, queries
from training.people.models import RoleHeld
from training.people.refusal import Refusal
from training.records.models import Chain, Record
from training.records.queries import marks_of
from training.records.triggers import away

pytestmark = [pytest.mark.django_db, pytest.mark.db]


@pytest.fixture
def cast() -> Cast:
    return make_cast()


def enter_certificate(cast: Cast, **changed: Any) -> Record:
    right: dict[str, Any] = {
        "person": cast.technician,
        "certificate": "first aid and CPR",
        "issuer": "Town first aid school",
        "issued_on": date(2026, 2, 3),
        "through_day": date(2028, 2, 3),
        "by": cast.manager,
        "at": AT,
    }
    return actions.enter_certificate(**(right | changed))


def instruct(cast: Cast, **changed: Any) -> Record:
    right: dict[str, Any] = {
        "person": cast.technician,
        "workshop": cast.workshop,
        "given_on": TODAY,
        "about_what": "Alarm and meeting point",
        "by": cast.manager,
        "at": AT,
    }
    return actions.instruct(**(right | changed))


def test_a_certificate_is_read_back(cast: Cast) -> None:
    enter_certificate(cast)
    assert papers(cast.technician).certificates == (
        OutsideCertificate(
            record=1,
            kind="first aid and CPR",
            issued_on=date(2026, 2, 3),
            through_day=date(2028, 2, 3),
            entered_on=TODAY,
        ),
    )


def test_a_certificate_may_have_no_last_day_and_may_name_tasks(cast: Cast) -> None:
    enter_certificate(cast, through_day=None, tasks=["T3", "T2", "T3"])
    found = papers(cast.technician).certificates[0]
    assert (found.through_day, found.tasks) == (None, frozenset({"T2", "T3"}))
    assert marks_of(cast.workshop.group.chain_id, [cast.workshop.key]) == {cast.workshop.key: 1}


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"certificate": ""}, "certificate"),
        ({"issuer": " "}, "issuer"),
        ({"issued_on": date(2026, 3, 3)}, "issued_on"),
        ({"issued_on": date(1, 1, 1), "through_day": None}, "issued_on"),
        ({"through_day": date(2026, 2, 2)}, "through_day"),
        ({"through_day": date.max}, "through_day"),
    ],
)
def test_a_certificate_that_cannot_be_meant_is_refused(cast: Cast, changed: dict[str, Any], field: str) -> None:
    with pytest.raises(Refusal) as refused:
        enter_certificate(cast, **changed)
    assert refused.value.field == field


def test_instruction_is_read_back(cast: Cast) -> None:
    instruct(cast)
    assert papers(cast.technician).instructions == (Instruction(record=1, given_on=TODAY, workshop=cast.workshop.key),)


@pytest.mark.parametrize("given_on", [date(2026, 3, 3), date(2024, 3, 1), date.min, date.max])
def test_instruction_on_a_day_to_come_or_long_ago_is_refused(cast: Cast, given_on: date) -> None:
    with pytest.raises(Refusal) as refused:
        instruct(cast, given_on=given_on)
    assert refused.value.field == "given_on"


def test_age_is_entered_and_entered_again(cast: Cast) -> None:
    for minutes, under_18 in enumerate([True, False, True]):
        actions.enter_age(person=cast.apprentice, under_18=under_18, by=cast.manager, at=later(minutes))
    assert papers(cast.apprentice).ages == tuple(
        AgeEntry(record=n, entered_on=TODAY, under_18=under) for n, under in [(1, True), (2, False), (3, True)]
    )


@pytest.mark.parametrize("enter", [enter_certificate, instruct])
def test_ones_own_word_never_counts(cast: Cast, enter: Any) -> None:
    with pytest.raises(Refusal, match="about yourself"):
        enter(cast, person=cast.manager)
    with pytest.raises(Refusal, match="Only a manager"):
        enter(cast, person=cast.apprentice, by=cast.technician)


def test_nobody_enters_their_own_age(cast: Cast) -> None:
    with pytest.raises(Refusal, match="about yourself"):
        actions.enter_age(person=cast.manager, under_18=False, by=cast.manager, at=AT)


def test_of_somebody_without_papers_nothing_is_proved(cast: Cast) -> None:
    assert papers(cast.technician) == PersonEvidence(person=cast.technician.key)


def test_papers_of_several_people_are_kept_apart_and_unrelated_records_do_not_matter(cast: Cast) -> None:
    appoint(cast)
    instruct(cast, person=cast.apprentice, at=later(1))
    both = queries.papers_of(
        [cast.technician.key, cast.apprentice.key, "nobody"], chain_id=cast.workshop.group.chain_id
    )
    assert (len(both[cast.technician.key].appointments), len(both[cast.technician.key].instructions)) == (1, 0)
    assert (len(both[cast.apprentice.key].appointments), len(both[cast.apprentice.key].instructions)) == (0, 1)
    assert both["nobody"] == PersonEvidence(person="nobody")


def test_the_number_of_queries_does_not_grow_with_the_people(cast: Cast, django_assert_num_queries: Any) -> None:
    appoint(cast)
    keys = [cast.technician.key, cast.apprentice.key, cast.manager.key]
    chain_id = cast.workshop.group.chain_id
    with django_assert_num_queries(2):
        queries.papers_of(keys, chain_id=chain_id)


def test_a_paper_that_cannot_be_read_is_named_and_proves_nothing(cast: Cast) -> None:
    appoint(cast)
    instruct(cast, at=later(1))
    with away(connection), connection.cursor() as cursor:
        cursor.execute("UPDATE records_body SET text = '{}' WHERE text LIKE %s", ["%job_types%"])
    found = papers(cast.technician)
    assert (found.appointments, found.unreadable, len(found.instructions)) == ((), (1,), 1)


def test_a_record_of_an_unknown_kind_blocks_the_person_it_is_about(cast: Cast) -> None:
    chain = Chain.objects.get(pk=cast.workshop.group.chain_id)
    note(chain.pk, about=cast.apprentice.key)
    row = Record.objects.get()
    Record.objects.create(
        chain=chain, number=2, kind="later.withdrawn", about=cast.technician.key, happened_at=row.happened_at,
        recorded_at=row.recorded_at, digest="", previous="", hash="",
    )  # fmt: skip
    assert papers(cast.technician).unreadable == (2,)
    assert papers(cast.apprentice).unreadable == ()


def test_roles_are_read_and_a_manager_who_left_is_none(cast: Cast) -> None:
    RoleHeldFactory(person=cast.manager, role=RoleHeld.Role.CHECKER)
    assert queries.roles_of(cast.manager) == {"manager", "checker"}
    assert queries.is_manager(cast.manager)
    assert not queries.is_manager(cast.technician)
    cast.manager.is_active = False
    assert not queries.is_manager(cast.manager)


def test_people_of_a_workshop_are_those_still_there_by_tally(cast: Cast) -> None:
    PersonFactory(workshop=cast.workshop, is_active=False)
    here = [cast.manager, cast.other_manager, cast.technician, cast.apprentice]
    assert list(queries.people_of(cast.workshop)) == here
    assert list(queries.people_of_group(cast.workshop.group_id)) == here
