"""A person countersigns or disputes records about them; a manager with no part in it settles."""

from __future__ import annotations

from datetime import date, timedelta
from html import unescape

import pytest
from django.db import transaction
from django.urls import reverse

from tests.board.house import NOW, House, make_house, observe, signed_in, stand_down
from tests.factories.people import ManagerFactory
from training.board.queries import board_of, decision_for
from training.core.permission.decision import Mode
from training.people import actions, disputing
from training.people.disputes import STANCES
from training.people.facts import (
    AgeEntered,
    Appointed,
    CertificateSeen,
    CertificateVerified,
    DisputeSettled,
    Instructed,
    MentorAppointed,
    Released,
    StoodDown,
    Withdrawn,
)
from training.people.models import Person
from training.people.queries import disputes_about, papers_of
from training.people.refusal import Refusal
from training.records.actions import append
from training.records.models import Record
from training.records.queries import head_of, marks_of
from training.signoff.facts import Observed

pytestmark = [pytest.mark.django_db, pytest.mark.db]
MINUTE = timedelta(minutes=1)


@pytest.fixture
def house() -> House:
    return make_house()


@pytest.fixture
def other(house: House) -> Person:
    return ManagerFactory(workshop=house.workshop)


def record_of(person: Person, kind: str) -> int:
    rows = Record.objects.filter(chain_id=person.group.chain_id, about=person.key, kind=kind)
    return rows.order_by("number").values_list("number", flat=True).first() or 0


def mode(house: House, person: Person, job_type: str, minutes: int) -> Mode:
    return decision_for(person, house.workshop, job_type, NOW + minutes * MINUTE).mode


def disputed(house: House, person: Person, record: int, minutes: int = 1) -> Record:
    return disputing.dispute(person=person, record=record, what="That was not me.", at=NOW + minutes * MINUTE)


def settled(house: House, person: Person, dispute: Record, by: Person, *, stands: bool, minutes: int = 3) -> Record:
    return disputing.settle(
        person=person, record=dispute.number, stands=stands, reason="Asked both.", by=by, at=NOW + minutes * MINUTE
    )


def stored_is_cut(house: House, person: Person, since: int) -> bool:
    return marks_of(house.chain_id, [person.key])[person.key] > since


def test_a_disputed_observation_blocks_at_once_and_counts_again_once_it_stands(house: House, other: Person) -> None:
    assert mode(house, house.tina, "A", 0) is Mode.ALONE
    before = head_of(house.chain_id).number
    dispute = disputed(house, house.tina, record_of(house.tina, Observed.kind))
    assert mode(house, house.tina, "A", 2) is not Mode.ALONE
    assert stored_is_cut(house, house.tina, before)
    settled(house, house.tina, dispute, other, stands=True)
    assert mode(house, house.tina, "A", 4) is Mode.ALONE


def test_an_observation_withdrawn_by_a_settled_dispute_never_counts_again(house: House, other: Person) -> None:
    dispute = disputed(house, house.tina, record_of(house.tina, Observed.kind))
    settled(house, house.tina, dispute, other, stands=False)
    assert mode(house, house.tina, "A", 4) is not Mode.ALONE


def test_what_was_known_before_the_dispute_is_answered_as_before(house: House) -> None:
    before = head_of(house.chain_id).number
    disputed(house, house.tina, record_of(house.tina, Observed.kind))
    known_then = board_of(house.workshop, at=NOW, read_at=NOW + 5 * MINUTE, known_at=before)
    assert known_then[house.tina.key]["A"].mode is Mode.ALONE


def test_a_disputed_failure_changes_nothing_until_it_is_withdrawn(house: House, other: Person) -> None:
    failed = observe(house, house.tina, "T1", at=NOW, passed=False)
    assert mode(house, house.tina, "A", 1) is not Mode.ALONE
    dispute = disputed(house, house.tina, failed.number)
    assert mode(house, house.tina, "A", 2) is not Mode.ALONE
    settled(house, house.tina, dispute, other, stands=False)
    assert mode(house, house.tina, "A", 4) is Mode.ALONE


def test_a_disputed_failure_that_stands_goes_on_counting(house: House, other: Person) -> None:
    failed = observe(house, house.tina, "T1", at=NOW, passed=False)
    settled(house, house.tina, disputed(house, house.tina, failed.number), other, stands=True)
    assert mode(house, house.tina, "A", 4) is not Mode.ALONE


def test_a_disputed_stand_down_holds_until_a_manager_withdraws_it(house: House, other: Person) -> None:
    stood = stand_down(house, house.tina)
    dispute = disputed(house, house.tina, stood.number)
    assert mode(house, house.tina, "A", 2) is Mode.NOT_CLEARED
    settled(house, house.tina, dispute, other, stands=False)
    assert mode(house, house.tina, "A", 4) is Mode.ALONE


def test_a_stand_down_after_an_incident_is_not_withdrawn_by_one_manager(house: House, other: Person) -> None:
    dispute = disputed(house, house.tina, stand_down(house, house.tina, incident=True).number)
    with pytest.raises(Refusal, match="two people"):
        settled(house, house.tina, dispute, other, stands=False)
    assert mode(house, house.tina, "A", 4) is Mode.NOT_CLEARED


@pytest.mark.parametrize("fact", [Appointed, CertificateSeen, Instructed, AgeEntered])
def test_every_paper_that_speaks_for_somebody_falls_while_it_is_disputed(
    house: House, other: Person, fact: type[Appointed]
) -> None:
    assert mode(house, house.tina, "B", 0) is Mode.ALONE
    dispute = disputed(house, house.tina, record_of(house.tina, fact.kind))
    assert mode(house, house.tina, "B", 2) is not Mode.ALONE
    settled(house, house.tina, dispute, other, stands=True)
    assert mode(house, house.tina, "B", 4) is Mode.ALONE


def test_a_mentors_disputed_certificate_takes_away_what_stood_on_it_and_cuts_everybody(house: House) -> None:
    before = head_of(house.chain_id).number
    disputed(house, house.mentor, record_of(house.mentor, CertificateSeen.kind))
    assert mode(house, house.tina, "A", 2) is not Mode.ALONE
    assert marks_of(house.chain_id, [house.workshop.key])[house.workshop.key] > before


def test_only_a_manager_with_no_part_in_it_settles_and_only_once(house: House, other: Person) -> None:
    dispute = disputed(house, house.tina, record_of(house.tina, Appointed.kind))
    with pytest.raises(Refusal, match="You wrote"):
        settled(house, house.tina, dispute, house.manager, stands=True)
    for stranger in (house.rob, house.foreign_manager):
        with pytest.raises(Refusal):
            settled(house, house.tina, dispute, stranger, stands=True)
    settled(house, house.tina, dispute, other, stands=True)
    with pytest.raises(Refusal, match="no such open dispute"):
        settled(house, house.tina, dispute, other, stands=False, minutes=5)
    assert [one.stands for one in disputes_about(house.tina)] == [True]


def test_nobody_settles_their_own_dispute(house: House, other: Person) -> None:
    entered = actions.enter_age(person=other, under_18=False, by=house.manager, at=NOW)
    dispute = disputed(house, other, entered.number)
    with pytest.raises(Refusal, match="about yourself"):
        settled(house, other, dispute, other, stands=True)


def test_a_record_is_disputed_once_and_only_by_the_person_it_is_about(house: House) -> None:
    number = record_of(house.tina, Observed.kind)
    with pytest.raises(Refusal, match="no such record about you"):
        disputed(house, house.rob, number)
    disputed(house, house.tina, number)
    with pytest.raises(Refusal, match="already"):
        disputed(house, house.tina, number, 2)
    with pytest.raises(Refusal, match="missing"):
        disputing.dispute(person=house.rob, record=record_of(house.rob, Appointed.kind), what="  ", at=NOW + 3 * MINUTE)


def test_an_observation_is_countersigned_once_and_other_papers_are_not(house: House) -> None:
    number = record_of(house.tina, Observed.kind)
    disputing.countersign(person=house.tina, record=number, at=NOW)
    with pytest.raises(Refusal, match="already"):
        disputing.countersign(person=house.tina, record=number, at=NOW)
    with pytest.raises(Refusal, match="no countersignature"):
        disputing.countersign(person=house.tina, record=record_of(house.tina, Appointed.kind), at=NOW)
    with pytest.raises(Refusal, match="no such record about you"):
        disputing.countersign(person=house.rob, record=number, at=NOW)
    assert mode(house, house.tina, "A", 1) is Mode.ALONE


def test_a_disputed_observation_is_not_countersigned(house: House) -> None:
    number = record_of(house.tina, Observed.kind)
    disputed(house, house.tina, number)
    with pytest.raises(Refusal, match="settles that first"):
        disputing.countersign(person=house.tina, record=number, at=NOW + 2 * MINUTE)


def test_what_may_be_disputed_is_every_paper_and_every_observation() -> None:
    papers = {Appointed, MentorAppointed, CertificateSeen, CertificateVerified, Instructed, Released, AgeEntered}
    assert set(STANCES) >= papers | {StoodDown, Withdrawn, Observed}
    under = AgeEntered(under_18=True, entered_on=date(2026, 1, 1), by="m")
    assert STANCES[AgeEntered].against(under) is True


def test_the_page_of_ones_own_records_offers_both_and_tells_of_open_disputes(house: House, other: Person) -> None:
    number, client = record_of(house.tina, Observed.kind), signed_in(house.tina)
    page = unescape(client.get(reverse("people:mine")).content.decode())
    assert reverse("people:countersign", args=[number]) in page
    assert reverse("people:dispute", args=[number]) in page
    assert client.post(reverse("people:countersign", args=[number])).status_code == 302
    asked = client.get(reverse("people:dispute", args=[number])).content.decode()
    assert "What you may take may end at once." in asked
    assert client.post(reverse("people:dispute", args=[number]), {"what": "That was Rob."}).status_code == 302
    page = unescape(client.get(reverse("people:mine")).content.decode())
    assert "That was Rob." in page
    assert "within one month" in page
    assert reverse("people:dispute", args=[number]) not in page
    waiting = unescape(signed_in(other).get(reverse("people:everyone")).content.decode())
    dispute = disputes_about(house.tina)[0].number
    address = reverse("people:settle", args=[house.tina.pk, dispute])
    assert address in waiting
    assert "That was Rob." in waiting
    assert "That was Rob." not in signed_in(house.rob).get(reverse("people:everyone")).content.decode()
    assert "That was Rob." in unescape(signed_in(other).get(address).content.decode())
    assert signed_in(other).post(address, {"stands": "no", "reason": ""}).status_code == 400
    assert signed_in(other).post(address, {"stands": "no", "reason": "It was Rob."}).status_code == 302
    assert "is withdrawn" in unescape(client.get(reverse("people:mine")).content.decode())


def test_pages_of_a_dispute_open_to_nobody_else(house: House) -> None:
    number = record_of(house.tina, Observed.kind)
    dispute = disputed(house, house.tina, number)
    settle = reverse("people:settle", args=[house.tina.pk, dispute.number])
    assert signed_in(house.rob).get(reverse("people:dispute", args=[number])).status_code == 404
    assert signed_in(house.rob).post(reverse("people:countersign", args=[number])).status_code == 400
    assert signed_in(house.rob).get(settle).status_code == 403
    assert signed_in(house.foreign_manager).get(settle).status_code == 404
    assert "You wrote" not in signed_in(house.manager).get(settle).content.decode()
    unknown = reverse("people:settle", args=[house.tina.pk, number])
    assert signed_in(house.manager).get(unknown).status_code == 404


def test_a_settlement_written_by_the_writer_of_the_record_settles_nothing(house: House) -> None:
    """The action refuses it; were it in the records all the same, the dispute would stay open."""
    dispute = disputed(house, house.tina, record_of(house.tina, CertificateSeen.kind))
    for number, by in enumerate((house.manager.key, house.tina.key, ""), 2):
        fact = DisputeSettled(record=dispute.number, stands=True, reason="So be it.", by=by)
        with transaction.atomic():
            append(fact, chain_id=house.chain_id, about=house.tina.key, at=NOW + number * MINUTE)
    assert papers_of([house.tina.key], chain_id=house.chain_id)[house.tina.key].certificates == ()
    assert [one.stands for one in disputes_about(house.tina)] == [None]


def test_a_disputed_appointment_still_takes_part_in_the_refusal_of_overlaps(house: House, other: Person) -> None:
    """Were it left out, a second one would stand beside it once it was decided that the first one stands."""
    dispute = disputed(house, house.tina, record_of(house.tina, Appointed.kind))
    with pytest.raises(Refusal, match="Appointed for A, B already"):
        appointed_again(house, minutes=2)
    settled(house, house.tina, dispute, other, stands=False)
    appointed_again(house, minutes=4)


def appointed_again(house: House, *, minutes: int) -> Record:
    at = NOW + minutes * MINUTE
    return actions.appoint(
        person=house.tina, job_types=["A", "B"], workshop=house.workshop, from_day=at.date(),
        through_day=date(2026, 11, 30), reason="Papers seen.", by=house.manager, at=at,
    )  # fmt: skip


def test_the_written_form_says_that_it_is_disputed_and_how_that_was_decided(house: House, other: Person) -> None:
    record = record_of(house.tina, Appointed.kind)
    page = reverse("people:appointment", args=[house.tina.pk, record])

    def text() -> str:
        return unescape(signed_in(house.tina).get(page).content.decode())

    assert "isputed" not in text()
    dispute = disputed(house, house.tina, record)
    assert "Disputed: it counts for nothing until that is decided" in text()
    settled(house, house.tina, dispute, other, stands=False)
    assert "It was decided that this does not stand" in text()
