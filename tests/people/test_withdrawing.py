"""Withdrawing papers from a day on, and checking certificates with their issuers."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from tests.people.cast import AT, TODAY, Cast, appoint, later, make_cast, papers
from training.people import actions
from training.people.refusal import Refusal
from training.records.models import Record
from training.records.queries import marks_of

pytestmark = [pytest.mark.django_db, pytest.mark.db]


@pytest.fixture
def cast() -> Cast:
    return make_cast()


def certificate(cast: Cast, tasks: tuple[str, ...] = ()) -> Record:
    return actions.enter_certificate(
        person=cast.technician, certificate="HV course", issuer="An institute", issued_on=TODAY - timedelta(days=30),
        through_day=None, by=cast.manager, at=AT, tasks=tasks,
    )  # fmt: skip


def withdraw(cast: Cast, record: int, **changed: Any) -> Record:
    right: dict[str, Any] = {
        "person": cast.technician, "record": record, "from_day": TODAY, "reason": "It had lapsed.", "by": cast.manager,
        "at": later(5),
    }  # fmt: skip
    return actions.withdraw(**(right | changed))


def test_a_withdrawn_appointment_is_void_from_its_day_on(cast: Cast) -> None:
    record = appoint(cast)
    withdraw(cast, record.number)
    assert [one.withdrawn_from for one in papers(cast.technician).appointments] == [TODAY]
    assert [one.withdrawn_from for one in papers(cast.technician, known_at=record.number).appointments] == [None]


def test_a_certificate_may_be_void_since_a_day_in_the_past_and_the_earliest_day_stands(cast: Cast) -> None:
    record = certificate(cast)
    withdraw(cast, record.number)
    withdraw(cast, record.number, from_day=TODAY - timedelta(days=9), at=later(6))
    withdraw(cast, record.number, from_day=TODAY - timedelta(days=2), at=later(7))
    assert [one.withdrawn_from for one in papers(cast.technician).certificates] == [TODAY - timedelta(days=9)]


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"from_day": TODAY + timedelta(days=1)}, "to today"),
        ({"from_day": TODAY - timedelta(days=31)}, "from its first day"),
        ({"from_day": date.min}, "from its first day"),
        ({"from_day": date.max}, "to today"),
        ({"record": 99}, "no such paper"),
        ({"reason": " "}, "Say"),
    ],
)
def test_what_cannot_be_withdrawn_so_is_refused_and_nothing_is_written(
    cast: Cast, changed: dict[str, Any], says: str
) -> None:
    record = certificate(cast)
    with pytest.raises(Refusal, match=says):
        withdraw(cast, **({"record": record.number} | changed))
    assert Record.objects.count() == 1


@pytest.mark.parametrize("who", ["technician", "apprentice", "foreign_manager"])
def test_only_another_manager_of_the_group_withdraws(cast: Cast, who: str) -> None:
    record = certificate(cast)
    with pytest.raises(Refusal):
        withdraw(cast, record.number, by=getattr(cast, who))


def test_what_others_may_stand_on_cuts_the_workshops_clearances(cast: Cast) -> None:
    chain, key = cast.workshop.group.chain_id, cast.workshop.key
    gone = withdraw(cast, certificate(cast, tasks=("T1",)).number)
    assert marks_of(chain, [key]) == {key: gone.number}


def test_a_check_with_the_issuer_is_kept_with_its_day(cast: Cast) -> None:
    record = certificate(cast)
    for minutes in (5, 6):
        actions.verify_certificate(
            person=cast.technician, record=record.number, how=f"By telephone {minutes}", by=cast.manager,
            at=later(minutes),
        )  # fmt: skip
    assert [one.verified_on for one in papers(cast.technician).certificates] == [(TODAY, TODAY)]


def test_only_another_manager_checks_and_only_a_certificate(cast: Cast) -> None:
    record, appointed = certificate(cast), appoint(cast)
    wrong: list[dict[str, Any]] = [{"by": cast.technician}, {"record": appointed.number}, {"how": ""}]
    for changed in wrong:
        right = {"person": cast.technician, "record": record.number, "how": "By mail", "by": cast.manager, "at": AT}
        with pytest.raises(Refusal):
            actions.verify_certificate(**(right | changed))
    assert Record.objects.count() == 2
