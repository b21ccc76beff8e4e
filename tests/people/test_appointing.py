"""Appointing people for job types and as mentors, and putting into force what was written for a later day."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from tests.factories.people import WorkshopFactory
from tests.people.cast import AT, TODAY, Cast, appoint, later, make_cast, papers
from training.core.permission.evidence import Appointment, MentorAppointment
from training.people import actions
from training.people.refusal import Refusal
from training.records.models import Record
from training.records.queries import marks_of

pytestmark = [pytest.mark.django_db, pytest.mark.db]


@pytest.fixture
def cast() -> Cast:
    return make_cast()


def test_an_appointment_is_read_back_as_it_was_entered(cast: Cast) -> None:
    record = appoint(cast)
    assert papers(cast.technician).appointments == (
        Appointment(
            record=record.number,
            job_types=frozenset({"A", "B"}),
            workshop=cast.workshop.key,
            from_day=TODAY,
            through_day=date(2027, 3, 1),
            entered_on=TODAY,
            by=cast.manager.key,
        ),
    )


def test_it_is_entered_on_the_local_day_of_the_workshop(cast: Cast) -> None:
    cast.workshop.zone = "Asia/Tokyo"
    appoint(cast, at=datetime(2026, 3, 1, 20, tzinfo=UTC))
    assert papers(cast.technician).appointments[0].entered_on == date(2026, 3, 2)


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"job_types": []}, "job_types"),
        ({"job_types": [" "]}, "job_types"),
        ({"reason": "  "}, "reason"),
        ({"reason": "x" * 501}, "reason"),
        ({"from_day": date(2026, 3, 3), "through_day": date(2026, 3, 2)}, "through_day"),
        ({"from_day": date(2025, 4, 1), "through_day": date(2026, 3, 1)}, "through_day"),
        ({"through_day": date(2027, 3, 3)}, "through_day"),
        ({"from_day": date(1, 1, 1)}, "through_day"),
        ({"from_day": date.max, "through_day": date.max}, "from_day"),
        ({"from_day": date(2027, 3, 3), "through_day": date(2027, 4, 1)}, "from_day"),
        ({"at_most_months": 6}, "through_day"),
    ],
)
def test_what_cannot_be_meant_is_refused_with_its_field(cast: Cast, changed: dict[str, Any], field: str) -> None:
    with pytest.raises(Refusal) as refused:
        appoint(cast, **changed)
    assert refused.value.field == field
    assert refused.value.sentence.endswith(".")
    assert not Record.objects.exists()


def test_the_longest_appointment_ends_on_the_same_numbered_day(cast: Cast) -> None:
    appoint(cast, through_day=date(2027, 3, 2), at_most_months=12)
    assert papers(cast.technician).appointments[0].through_day == date(2027, 3, 2)


@pytest.mark.parametrize("who", ["technician", "apprentice", "foreign_manager"])
def test_only_a_manager_of_the_group_appoints(cast: Cast, who: str) -> None:
    with pytest.raises(Refusal):
        appoint(cast, person=cast.other_manager, by=getattr(cast, who))


def test_a_manager_does_not_appoint_themselves(cast: Cast) -> None:
    with pytest.raises(Refusal, match="about yourself"):
        appoint(cast, person=cast.manager)
    assert appoint(cast, person=cast.manager, by=cast.other_manager).number == 1


def test_nobody_is_appointed_across_the_wall_of_the_group(cast: Cast) -> None:
    for changed in ({"person": cast.stranger}, {"workshop": cast.stranger.workshop}):
        with pytest.raises(Refusal, match="group"):
            appoint(cast, **changed)


def test_a_manager_who_left_appoints_nobody_and_whoever_left_is_not_appointed(cast: Cast) -> None:
    cast.technician.is_active = False
    with pytest.raises(Refusal, match="left"):
        appoint(cast)
    cast.technician.is_active, cast.manager.is_active = True, False
    with pytest.raises(Refusal):
        appoint(cast)


def test_a_second_tap_changes_nothing(cast: Cast) -> None:
    appoint(cast)
    with pytest.raises(Refusal, match="on record already, as record 1"):
        appoint(cast, at=later(1))
    assert Record.objects.count() == 1


def test_only_the_persons_own_mark_moves(cast: Cast) -> None:
    appoint(cast)
    marks = marks_of(cast.workshop.group.chain_id, [cast.technician.key, cast.workshop.key])
    assert marks == {cast.technician.key: 1, cast.workshop.key: 0}


def appoint_mentor(cast: Cast, **changed: Any) -> Any:
    right: dict[str, Any] = {
        "person": cast.technician,
        "tasks": ["T2", "T1"],
        "workshop": cast.workshop,
        "from_day": TODAY,
        "through_day": date(2027, 3, 1),
        "reason": "Has done it for years.",
        "by": cast.manager,
        "at": AT,
    }
    return actions.appoint_mentor(**(right | changed))


def test_a_mentor_is_appointed_for_named_tasks_and_every_workshop_of_the_group_is_marked(cast: Cast) -> None:
    second_site = WorkshopFactory(group=cast.workshop.group)
    appoint_mentor(cast)
    found = papers(cast.technician).mentor_appointments
    assert [(one.tasks, one.by) for one in found] == [(frozenset({"T1", "T2"}), cast.manager.key)]
    keys = [cast.technician.key, cast.workshop.key, second_site.key, cast.stranger.workshop.key]
    assert list(marks_of(cast.workshop.group.chain_id, keys).values()) == [1, 1, 1, 0]


def test_a_mentor_without_tasks_is_refused(cast: Cast) -> None:
    with pytest.raises(Refusal) as refused:
        appoint_mentor(cast, tasks=[])
    assert refused.value.field == "tasks"


def test_an_appointment_for_a_later_day_is_put_into_force_on_that_day_and_once(cast: Cast) -> None:
    start = TODAY + timedelta(days=7)
    written = appoint(cast, from_day=start)
    confirm: dict[str, Any] = {"person": cast.technician, "record": written.number, "by": cast.other_manager}
    with pytest.raises(Refusal, match="first day"):
        actions.confirm(**confirm, at=AT + timedelta(days=6))
    assert papers(cast.technician).appointments[0].confirmed_on is None
    actions.confirm(**confirm, at=AT + timedelta(days=8))
    assert papers(cast.technician).appointments[0].confirmed_on == start + timedelta(days=1)
    with pytest.raises(Refusal, match="already"):
        actions.confirm(**confirm, at=AT + timedelta(days=9))
    assert papers(cast.technician, known_at=written.number).appointments[0].confirmed_on is None


def test_putting_a_mentor_into_force_marks_the_workshops(cast: Cast) -> None:
    written = appoint_mentor(cast, from_day=TODAY + timedelta(days=1))
    actions.confirm(person=cast.technician, record=written.number, by=cast.manager, at=AT + timedelta(days=1))
    found: tuple[MentorAppointment, ...] = papers(cast.technician).mentor_appointments
    assert found[0].confirmed_on == TODAY + timedelta(days=1)
    assert marks_of(cast.workshop.group.chain_id, [cast.workshop.key]) == {cast.workshop.key: 2}


def test_nobody_puts_their_own_appointment_into_force(cast: Cast) -> None:
    written = appoint(cast, person=cast.other_manager, from_day=TODAY + timedelta(days=1))
    with pytest.raises(Refusal, match="about yourself"):
        actions.confirm(
            person=cast.other_manager, record=written.number, by=cast.other_manager, at=AT + timedelta(days=1)
        )


def test_what_is_no_appointment_of_this_person_is_not_put_into_force(cast: Cast) -> None:
    written = appoint(cast)
    for person, record in ((cast.apprentice, written.number), (cast.technician, 99)):
        with pytest.raises(Refusal, match="no such appointment"):
            actions.confirm(person=person, record=record, by=cast.manager, at=later(1))


# ---------------------------------------------------------------------------------------- scope, exclusions, overlap


def test_vehicle_families_and_what_is_left_out_are_on_the_record(cast: Cast) -> None:
    appoint(cast, vehicle_families=["Vans", " "], may_not=["opened packs", "live measurement"])
    (found,) = papers(cast.technician).appointments
    assert (found.vehicle_families, found.may_not) == (("Vans",), ("opened packs", "live measurement"))


@pytest.mark.parametrize("changed", [{"may_not": ["x" * 121]}, {"vehicle_families": ["v"] * 13}])
def test_endless_lists_are_refused(cast: Cast, changed: dict[str, Any]) -> None:
    with pytest.raises(Refusal, match="Keep it to"):
        appoint(cast, **changed)


def test_two_appointments_for_a_job_type_do_not_overlap(cast: Cast) -> None:
    first = appoint(cast)
    last = papers(cast.technician).appointments[0].through_day
    for changed in ({"reason": "Again."}, {"from_day": last, "through_day": last + timedelta(days=30)}):
        with pytest.raises(Refusal, match=f"by record {first.number}"):
            appoint(cast, at=later(1), **changed)
    after = {"from_day": last + timedelta(days=1), "through_day": last + timedelta(days=30)}
    assert appoint(cast, at=later(2), **after).number == 2
    assert appoint(cast, at=later(3), job_types=["G"]).number == 3


def test_two_appointments_as_mentor_for_a_task_do_not_overlap(cast: Cast) -> None:
    first = appoint_mentor(cast)
    with pytest.raises(
        Refusal, match=f"Appointed for T2 already, through 2027-03-01, by record {first.number}"
    ) as said:
        appoint_mentor(cast, tasks=["T2", "T3"], at=later(1))
    assert said.value.field == "from_day"
    assert appoint_mentor(cast, tasks=["T3"], at=later(1)).number == 2
    actions.withdraw(
        person=cast.technician, record=first.number, from_day=TODAY, reason="Moves on.", by=cast.manager, at=later(1)
    )
    assert appoint_mentor(cast, reason="Is back.", at=later(2)).number == 4


@pytest.mark.parametrize("day", [date.min, date.max])
def test_a_mentor_is_not_appointed_on_days_that_cannot_be_meant(cast: Cast, day: date) -> None:
    with pytest.raises(Refusal):
        appoint_mentor(cast, from_day=day, through_day=day)
    assert not Record.objects.exists()


def test_after_a_withdrawal_the_days_are_free_again(cast: Cast) -> None:
    first = appoint(cast)
    actions.withdraw(
        person=cast.technician, record=first.number, from_day=TODAY, reason="Wrong job types.", by=cast.manager,
        at=later(1),
    )  # fmt: skip
    assert appoint(cast, at=later(2), reason="Put right.").number == 3
