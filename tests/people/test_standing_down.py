"""Stand-downs by anyone about anyone, and releases by a manager who is not the person concerned."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import transaction

from tests.people.cast import AT, SEEN, TODAY, Cast, appoint, later, make_cast, papers, seen_at_once, stand_down
from training.core.permission.evidence import Release
from training.people import actions, facts, fresh, queries, standing_down
from training.people.fresh import judge
from training.people.models import Person
from training.people.refusal import Refusal
from training.records.actions import append
from training.records.models import Body, Record
from training.records.queries import marks_of

pytestmark = [pytest.mark.django_db, pytest.mark.db]


@pytest.fixture
def cast() -> Cast:
    return make_cast()


@pytest.fixture(autouse=True)
def _seen_since(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fresh, "_judging", [seen_at_once])


def ends(cast: Cast, person: Person | None = None) -> list[list[int]]:
    """The records of the releases of each stand-down."""
    return [[one.record for one in down.releases] for down in papers(person or cast.technician).stand_downs]


def release(cast: Cast, record: int, **changed: Any) -> Record:
    right: dict[str, Any] = {
        "person": cast.technician,
        "record": record,
        "reason": "Talked it through.",
        "by": cast.manager,
        "at": later(5),
    }
    return standing_down.release(**(right | changed))


def test_an_apprentice_stands_a_technician_down_from_everything(cast: Cast) -> None:
    record = stand_down(cast)
    found = papers(cast.technician).stand_downs
    assert [(one.record, one.happened_at, one.job_types, one.releases) for one in found] == [
        (record.number, AT, None, ())
    ]


def test_anyone_stands_themselves_down(cast: Cast) -> None:
    stand_down(cast, by=cast.technician, job_types=["C"])
    assert papers(cast.technician).stand_downs[0].job_types == frozenset({"C"})


@pytest.mark.parametrize("changed", [{"reason": " "}, {"job_types": []}, {"reason": "x" * 501}])
def test_a_stand_down_needs_a_reason_and_says_from_what(cast: Cast, changed: dict[str, Any]) -> None:
    with pytest.raises(Refusal):
        stand_down(cast, **changed)
    assert not Record.objects.exists()


def test_nobody_of_another_group_stands_anyone_down(cast: Cast) -> None:
    with pytest.raises(Refusal, match="group"):
        stand_down(cast, by=cast.stranger)


def test_a_stand_down_may_have_happened_earlier(cast: Cast) -> None:
    stand_down(cast, happened_at=AT - timedelta(hours=17))
    assert papers(cast.technician).stand_downs[0].happened_at == AT - timedelta(hours=17)


def test_of_a_medical_one_no_reason_is_kept_nor_of_its_release(cast: Cast) -> None:
    record = stand_down(cast, medical=True, reason="a secret of the body")
    release(cast, record.number, reason="the doctor said a secret of the body is over")
    assert not Body.objects.filter(text__contains="secret").exists()


def test_a_second_tap_changes_nothing(cast: Cast) -> None:
    stand_down(cast)
    with pytest.raises(Refusal, match="already"):
        stand_down(cast, at=later(1))
    assert Record.objects.count() == 1


def test_after_a_release_the_same_words_stand_down_again(cast: Cast) -> None:
    release(cast, stand_down(cast).number)
    assert stand_down(cast, at=later(10)).number == 3
    assert ends(cast) == [[2], []]


def test_a_manager_releases(cast: Cast) -> None:
    first = stand_down(cast)
    other = stand_down(cast, job_types=["C"], at=later(1))
    ended = release(cast, first.number)
    (released, open_still) = papers(cast.technician).stand_downs
    expected = Release(record=ended.number, happened_at=later(5), by=cast.manager.key, evidence=(SEEN,))
    assert (released.record, released.releases) == (first.number, (expected,))
    assert (open_still.record, open_still.releases) == (other.number, ())
    assert [paper.number for paper in queries.stand_downs_now(cast.technician, later(60))] == [other.number]


def test_what_was_known_before_the_release_stays_stood_down(cast: Cast) -> None:
    first = stand_down(cast)
    release(cast, first.number)
    assert papers(cast.technician, known_at=first.number).stand_downs[0].releases == ()


@pytest.mark.parametrize("who", ["technician", "apprentice", "stranger", "foreign_manager"])
def test_only_a_manager_of_the_group_releases(cast: Cast, who: str) -> None:
    record = stand_down(cast)
    with pytest.raises(Refusal):
        release(cast, record.number, by=getattr(cast, who))
    assert ends(cast) == [[]]


def test_no_manager_releases_their_own_stand_down(cast: Cast) -> None:
    record = stand_down(cast, person=cast.manager)
    with pytest.raises(Refusal, match="about yourself"):
        release(cast, record.number, person=cast.manager)
    release(cast, record.number, person=cast.manager, by=cast.other_manager)
    assert ends(cast, cast.manager) == [[2]]


def test_a_manager_may_release_what_they_entered_themselves(cast: Cast) -> None:
    record = stand_down(cast, by=cast.manager)
    assert release(cast, record.number).number == 2


def test_a_stand_down_is_released_once(cast: Cast) -> None:
    record = stand_down(cast)
    release(cast, record.number)
    with pytest.raises(Refusal, match="already, by record 2"):
        release(cast, record.number, by=cast.other_manager, at=later(6))
    assert Record.objects.count() == 2


def test_without_fresh_evidence_nobody_is_released(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    record = stand_down(cast)
    nothing_seen = [lambda person, at: judge(papers(person), at, lambda _person, _seen: True, person.workshop.zone)]
    monkeypatch.setattr(fresh, "_judging", nothing_seen)
    with pytest.raises(Refusal, match="Nothing was seen of"):
        release(cast, record.number)
    assert Record.objects.count() == 1


def test_after_an_incident_two_people_release_each_by_themselves(cast: Cast) -> None:
    record = stand_down(cast, incident=True)
    release(cast, record.number)
    assert [paper.number for paper in queries.stand_downs_now(cast.technician, later(60))] == [record.number]
    with pytest.raises(Refusal, match="already, by record 2"):
        release(cast, record.number, at=later(6))
    release(cast, record.number, by=cast.other_manager, at=later(7))
    assert queries.stand_downs_now(cast.technician, later(60)) == []
    assert ends(cast) == [[2, 3]]


def test_whoever_gave_the_job_does_not_release(cast: Cast) -> None:
    record = stand_down(cast, job_given_by=cast.manager)
    with pytest.raises(Refusal, match="You gave the job"):
        release(cast, record.number)
    assert release(cast, record.number, by=cast.other_manager).number == 2


def test_whoever_gave_the_job_is_of_the_same_group(cast: Cast) -> None:
    with pytest.raises(Refusal, match="group"):
        stand_down(cast, job_given_by=cast.stranger)


def test_what_is_no_stand_down_of_this_person_is_not_released(cast: Cast) -> None:
    other = stand_down(cast, person=cast.apprentice)
    appointed = appoint(cast)
    for record in (other.number, appointed.number, 99):
        with pytest.raises(Refusal, match="no such stand-down"):
            release(cast, record)


def test_a_release_that_the_person_wrote_past_the_checks_ends_nothing(cast: Cast) -> None:
    record = stand_down(cast)
    own = facts.Released(record=record.number, reason="I am fine", by=cast.technician.key, evidence=[SEEN])
    with transaction.atomic():
        append(own, chain_id=cast.workshop.group.chain_id, about=cast.technician.key, at=later(1))
    assert [paper.number for paper in queries.stand_downs_now(cast.technician, later(60))] == [record.number]


def test_the_workshops_are_marked_only_where_others_may_stand_on_the_signature(cast: Cast) -> None:
    chain, key = cast.workshop.group.chain_id, cast.workshop.key
    stand_down(cast)
    assert marks_of(chain, [key]) == {key: 0}
    actions.appoint_mentor(
        person=cast.apprentice, tasks=["T1"], workshop=cast.workshop, from_day=TODAY, through_day=date(2026, 9, 1),
        reason="Shows it well.", by=cast.manager, at=later(1),
    )  # fmt: skip
    ended = stand_down(cast, person=cast.apprentice, at=later(2))
    assert marks_of(chain, [key]) == {key: ended.number}
    back = release(cast, ended.number, person=cast.apprentice)
    assert marks_of(chain, [key]) == {key: back.number}
