"""A workshop of three: the owner, who is its mentor, one technician, and a mentor who comes from outside.

The rule book asks for two observations by two mentors on two days. The owner appoints the technician, so the owner's
own observations do not decide: without the exception nobody can ever be cleared here. Everything is written by the real
actions.
"""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from tests.board.three import LAST, OPENED, Shop, cleared, from_outside, instant, make_shop, on
from tests.factories.people import PASSWORD
from training.board.actions import work_out
from training.board.stored import cells_of
from training.core.permission.decision import Decision, Ground, Mode
from training.people import actions as papers
from training.people import small_shop
from training.people.facts import Appointed, MentorAppointed
from training.people.mentoring import sign_second
from training.people.models import Person
from training.people.queries import papers_written
from training.records.actions import Refused
from training.records.facts import Fact
from training.signoff.queries import refusals_to_observe

pytestmark = [pytest.mark.django_db, pytest.mark.db]


@pytest.fixture
def shop() -> Shop:
    return make_shop()


def not_cleared_for_want_of_a_sign_off(decision: Decision) -> bool:
    return decision.mode is Mode.NOT_CLEARED and Ground.SIGN_OFF in {gap.ground for gap in decision.gaps}


def test_nobody_is_cleared_until_two_have_signed_the_exception_and_the_mentor_from_outside_has_observed(
    shop: Shop,
) -> None:
    for day in (1, 2, 3):
        shop.watched(shop.tim, shop.mona, on(day))
    assert not_cleared_for_want_of_a_sign_off(shop.decided(on(3, 10)))
    exception = shop.excepted(on(4))
    assert not_cleared_for_want_of_a_sign_off(shop.decided(on(4, 10)))
    small_shop.sign(workshop=shop.workshop, record=exception, by=shop.sven, at=on(5))
    assert not_cleared_for_want_of_a_sign_off(shop.decided(on(5, 10)))
    shop.certified(shop.olga, on(6), by=shop.mona)
    appointment = shop.appointed(shop.olga, on(6), outside=True)
    with pytest.raises(Refused, match="Missing: The second signature"):
        shop.watched(shop.tim, shop.olga, on(6, 10))
    sign_second(person=shop.olga, record=appointment, by=shop.sven, at=on(7, 8))
    for day in (7, 8):
        shop.watched(shop.tim, shop.olga, on(day))
        assert not_cleared_for_want_of_a_sign_off(shop.decided(on(day, 10)))
    shop.watched(shop.tim, shop.olga, on(9))
    decision = shop.decided(on(9, 10))
    assert decision.mode is Mode.ALONE
    assert exception in decision.proofs


def test_without_the_exception_the_same_observations_clear_nobody(shop: Shop) -> None:
    from_outside(shop, on(1, 11))
    for day in (2, 3, 4, 5, 6):
        shop.watched(shop.tim, shop.olga, on(day))
        assert not_cleared_for_want_of_a_sign_off(shop.decided(on(day, 10)))


def test_it_lapses_at_the_close_of_the_exceptions_last_day(shop: Shop) -> None:
    cleared(shop, through_day=date(2026, 6, 30))
    midnight = datetime(2026, 6, 30, 22, tzinfo=UTC)  # in Berlin
    assert shop.decided(on(5)).until == midnight
    assert shop.decided(midnight - timedelta(minutes=1)).mode is Mode.ALONE
    assert not_cleared_for_want_of_a_sign_off(shop.decided(midnight))


def test_withdrawn_it_clears_nobody_from_that_day_on(shop: Shop) -> None:
    record = cleared(shop)
    small_shop.withdraw(
        workshop=shop.workshop, record=record, from_day=on(20).date(), reason="A second mentor.", by=shop.sven,
        at=on(20, 8),
    )  # fmt: skip
    assert not_cleared_for_want_of_a_sign_off(shop.decided(on(20)))


def test_when_the_outside_mentors_appointment_is_withdrawn_from_the_start_their_observations_fall(shop: Shop) -> None:
    cleared(shop)
    papers.withdraw(
        person=shop.olga, record=_record_of(shop.olga, MentorAppointed), from_day=on(1).date(),
        reason="Not from the institute.", by=shop.mona, at=on(20, 8),
    )  # fmt: skip
    assert not_cleared_for_want_of_a_sign_off(shop.decided(on(20)))


def test_two_ordinary_mentors_need_no_exception(shop: Shop) -> None:
    """Appointed by another manager, the owner's observations count, and the one from outside is a second mentor's."""
    record = _record_of(shop.tim, Appointed)
    papers.withdraw(person=shop.tim, record=record, from_day=OPENED, reason="Anew.", by=shop.hanna, at=on(1, 8))
    papers.appoint(
        person=shop.tim, job_types=["C"], workshop=shop.workshop, from_day=on(1).date(), through_day=LAST,
        reason="Course.", by=shop.hanna, at=on(1, 8),
    )  # fmt: skip
    exception = cleared(shop)
    assert exception in shop.decided(on(4, 10)).proofs
    shop.watched(shop.tim, shop.mona, on(5))
    decision = shop.decided(on(5, 10))
    assert (decision.mode, exception in decision.proofs) == (Mode.ALONE, False)


def test_the_card_and_the_cell_say_what_the_clearance_rests_on_and_who_signed(shop: Shop, set_clock: Any) -> None:
    record = cleared(shop)
    set_clock(on(5))
    client = Client()
    client.force_login(shop.tim)
    said = (
        "Small-shop exception: one mentor, one observation more, one of them by a mentor from outside. "
        f"Signed by Mona B. and Hanna B., through 31 Dec (record {record})."
    )
    for address in (reverse("board:card"), reverse("board:cell", args=[shop.workshop.slug, shop.tim.pk, "C"]), "/"):
        assert said in client.get(address).content.decode().replace("\xa0", " ")
    set_clock(instant(date(2027, 1, 2)))
    assert "Small-shop exception" not in client.get(reverse("board:card")).content.decode()


def test_a_mentor_from_outside_without_a_certificate_is_told_what_is_missing(shop: Shop) -> None:
    sign_second(person=shop.olga, record=shop.appointed(shop.olga, on(1), outside=True), by=shop.sven, at=on(1, 10))
    refusals = refusals_to_observe(shop.tim, mentor=shop.olga, task="T1", at=on(2))
    assert "Missing: An outside certificate that names T1, not older than 36 months." in refusals


def test_the_auditor_reads_the_exception_among_the_records_that_an_answer_stands_on(shop: Shop, set_clock: Any) -> None:
    record = cleared(shop)
    set_clock(on(5))
    client = Client()
    client.force_login(shop.mona)
    page = client.get(reverse("board:past_answer", args=[shop.workshop.slug, shop.tim.pk, "C"])).content.decode()
    assert "Small-shop exception proposed for all practical tasks" in page.replace("\xa0", " ")
    assert f"Record {record} · happened" in page.replace("\xa0", " ")


# ------------------------------------------------------------------------------------ two times, and marks


def asked(shop: Shop, at: datetime, known_at: int | None = None) -> str:
    """What ``manage.py clearance`` answers about the technician: the mode."""
    out = StringIO()
    known = [] if known_at is None else ["--known-at", str(known_at)]
    call_command(
        "clearance", "--workshop", shop.workshop.slug, "--person", shop.tim.username, "--job-type", "C",
        "--at", at.isoformat(), "--json", *known, stdout=out,
    )  # fmt: skip
    (row,) = json.loads(out.getvalue())["people"]
    return str(row["job_types"][0]["decision"]["mode"])


def test_the_same_question_is_answered_by_what_was_known_of_the_signatures(shop: Shop, set_clock: Any) -> None:
    shop.certified(shop.olga, on(1), by=shop.mona)
    appointment = shop.appointed(shop.olga, on(1), outside=True)
    signed = sign_second(person=shop.olga, record=appointment, by=shop.sven, at=on(1, 10)).number
    for day in (2, 3, 4):
        shop.watched(shop.tim, shop.olga, on(day))
    proposed = shop.excepted(on(5))
    second = small_shop.sign(workshop=shop.workshop, record=proposed, by=shop.sven, at=on(5, 10)).number
    withdrawn = small_shop.withdraw(
        workshop=shop.workshop, record=proposed, from_day=on(5).date(), reason="Signed in error.", by=shop.hanna,
        at=on(20),
    ).number  # fmt: skip
    set_clock(on(30))
    noon = on(5, 12)
    assert [asked(shop, noon, number) for number in (signed, proposed, second, withdrawn)] == [
        "not cleared", "not cleared", "alone", "not cleared"
    ]  # fmt: skip
    assert asked(shop, noon) == "not cleared"


def test_a_withdrawal_cuts_what_is_stored_for_everybody_there_at_once(shop: Shop) -> None:
    record = cleared(shop)
    work_out(workshop=shop.workshop, people=None, at=on(5))
    assert cells_of(shop.workshop, [shop.tim], ["C"], at=on(5))[shop.tim.pk, "C"].is_alone
    small_shop.withdraw(
        workshop=shop.workshop, record=record, from_day=on(5).date(), reason="x", by=shop.hanna, at=on(5, 10)
    )
    cells = cells_of(shop.workshop, [shop.tim, shop.mona], ["C"], at=on(5, 10))
    assert {cell.decision for cell in cells.values()} == {None}


def test_the_second_signature_under_an_appointment_cuts_what_is_stored_for_everybody_there(shop: Shop) -> None:
    appointment = shop.appointed(shop.olga, on(1), outside=True)
    work_out(workshop=shop.workshop, people=None, at=on(2))
    assert cells_of(shop.workshop, [shop.tim], ["C"], at=on(2))[shop.tim.pk, "C"].decision is not None
    sign_second(person=shop.olga, record=appointment, by=shop.sven, at=on(3))
    assert cells_of(shop.workshop, [shop.tim], ["C"], at=on(3))[shop.tim.pk, "C"].decision is None


def test_who_is_affected_and_who_gains_is_shown_before_anybody_signs(shop: Shop, set_clock: Any) -> None:
    from_outside(shop, on(1, 11))
    for day in (2, 3, 4):
        shop.watched(shop.tim, shop.olga, on(day))
    record = shop.excepted(on(5))
    set_clock(on(5, 10))
    client = Client()
    client.force_login(shop.sven)
    page = client.get(reverse("board:small_shop", args=[shop.workshop.slug])).content.decode()
    assert "Tim R., Isolate" in page
    assert "may take through" in page
    client.post(reverse("board:sign_small_shop", args=[shop.workshop.slug, record]), {"password": PASSWORD})
    said = {"from_day": on(5).date().isoformat(), "reason": "x"}
    page = client.post(reverse("board:withdraw_small_shop", args=[shop.workshop.slug, record]), said).content.decode()
    assert "Tim R., Isolate" in page


def test_the_gap_names_the_exception_and_the_mentor_from_outside_and_doing_that_clears(
    shop: Shop, set_clock: Any
) -> None:
    record = shop.excepted(on(1))
    small_shop.sign(workshop=shop.workshop, record=record, by=shop.hanna, at=on(1, 10))
    from_outside(shop, on(1, 11))
    for day in (2, 3):
        shop.watched(shop.tim, shop.olga, on(day))
    (gap,) = [gap for gap in shop.decided(on(3, 10)).gaps if gap.ground is Ground.SIGN_OFF]
    assert (dict(gap.facts)["observations"], dict(gap.facts)["small_shop"]) == (1, record)
    assert gap.remedy.who == (shop.olga.key,)
    set_clock(on(3, 10))
    client = Client()
    client.force_login(shop.tim)
    page = client.get(reverse("board:cell", args=[shop.workshop.slug, shop.tim.pk, "C"])).content.decode()
    assert f"By the small-shop exception of record {record}." in page
    assert "Ask Olga F. (from outside)" in page
    shop.watched(shop.tim, shop.olga, on(4))
    assert shop.decided(on(4, 10)).mode is Mode.ALONE


def test_after_the_first_year_the_owner_observes_by_their_own_sign_off_that_rests_on_the_exception(shop: Shop) -> None:
    from_outside(shop, on(1, 11))
    for day in (300, 301, 302):
        shop.watched(shop.mona, shop.olga, on(day))
    renewed(shop, instant(date(2027, 1, 4)))

    def refused(at: datetime) -> bool:
        return bool(refusals_to_observe(shop.tim, mentor=shop.mona, task="T1", at=at))

    assert refused(instant(date(2027, 2, 1)))  # the first year is over, and one does not sign for oneself
    exception = shop.excepted(instant(date(2027, 2, 2)), through_day=date(2027, 12, 31), by=shop.hanna)
    assert refused(instant(date(2027, 2, 2)))
    small_shop.sign(workshop=shop.workshop, record=exception, by=shop.sven, at=instant(date(2027, 2, 3)))
    assert not refused(instant(date(2027, 2, 3), 10))
    assert refused(instant(date(2027, 11, 4)))  # the newest observation from outside is older than a year


def renewed(shop: Shop, at: datetime) -> None:
    """The owner's appointment as mentor for another year."""
    record = papers.appoint_mentor(
        person=shop.mona, tasks=["T1"], workshop=shop.workshop, from_day=at.date(), through_day=date(2027, 12, 31),
        reason="Yearly.", by=shop.hanna, at=at,
    ).number  # fmt: skip
    sign_second(person=shop.mona, record=record, by=shop.sven, at=at)


def _record_of(person: Person, shape: type[Fact]) -> int:
    return next(one.number for one in papers_written(person) if isinstance(one.fact, shape))
