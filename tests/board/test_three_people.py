"""A workshop of three: the owner, who is its mentor, one technician, and a mentor who comes from outside.

The rule book asks for two observations by two mentors on two days. The owner appoints the technician, so the owner's
own observations do not decide: without the exception nobody can ever be cleared here. Everything is written by the real
actions.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from tests.board.house import AT_START, SOURCE
from tests.factories.bank import TaskVersionFactory
from tests.factories.people import PASSWORD, READ_AT, PersonFactory
from training.bank.actions import put_in_force
from training.bank.models import TaskVersion
from training.board.actions import work_out
from training.board.queries import decision_for
from training.board.stored import cells_of
from training.core.permission.decision import Decision, Ground, Mode
from training.core.permission.evidence import Supervision
from training.core.permission.practical import Judgement, StepResult
from training.people import actions as papers
from training.people import small_shop
from training.people.facts import Appointed, MentorAppointed
from training.people.mentoring import sign_second
from training.people.models import Person, Workshop
from training.people.opening import Opening, Signer, open_workshop
from training.people.queries import papers_written
from training.records.actions import Refused
from training.records.facts import Fact
from training.signoff import actions as signoff
from training.signoff.queries import refusals_to_observe

pytestmark = [pytest.mark.django_db, pytest.mark.db]
OPENED = date(2026, 1, 5)
LAST = date(2026, 12, 31)


def instant(day: date, hour: int = 9, minute: int = 0) -> datetime:
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=UTC)


def on(days: int, hour: int = 9, minute: int = 0) -> datetime:
    """So many days after the opening."""
    return instant(OPENED + timedelta(days=days), hour, minute)


def book() -> dict[str, Any]:
    asked = {"task": "T1", "observations": 2, "mentors": 2, "days": 2, "valid_months": 12, "done_within_days": None}
    requirements = [
        {"sign_off": asked, "sentence": "Seen twice by two mentors.", "source": SOURCE},
        {"appointed": {"valid_months": 12}, "sentence": "Appointed.", "source": SOURCE},
    ]
    c = {"key": "C", "title": "Isolate", "says": "Invented.", "young_person": "supervised", "supervised": True}
    job_type = {**c, "at_start": AT_START, "requirements": requirements}
    return {"version": 1, "regime": "EU", "title": "Practical work", "note": "", "job_types": [job_type]}


@dataclass
class Shop:
    """Mona owns the workshop, Sven signed second when it opened, Hanna manages another workshop of the group."""

    workshop: Workshop
    mona: Person
    sven: Person
    hanna: Person
    tim: Person
    olga: Person
    task: TaskVersion

    def decided(self, at: datetime, person: Person | None = None) -> Decision:
        return decision_for(person or self.tim, self.workshop, "C", at)

    def appointed(self, person: Person, at: datetime, *, by: Person | None = None, outside: bool = False) -> int:
        """As mentor for the task, through the last day of the year; one signature."""
        return papers.appoint_mentor(
            person=person, tasks=["T1"], workshop=self.workshop, from_day=at.date(), through_day=LAST, reason="Course.",
            by=by or self.mona, at=at, outside=outside,
        ).number  # fmt: skip

    def certified(self, person: Person, at: datetime, *, by: Person) -> None:
        papers.enter_certificate(
            person=person, certificate="HV course", issuer="An institute", issued_on=date(2025, 11, 3),
            through_day=None, tasks=["T1"], by=by, at=at,
        )  # fmt: skip

    def watched(self, person: Person, by: Person, at: datetime) -> None:
        """One attempt, made alone, observed and signed. Raises ``Refused`` without authority."""
        draft = signoff.begin(person=person, task=self.task, by=by, at=at)
        steps = [StepResult.DONE] * len(draft.steps)
        signoff.note(draft=draft, steps=steps, judgement=Judgement.READY, note="", supervision=Supervision.ALONE)
        signoff.sign(draft=draft, by=by, at=at)

    def excepted(self, at: datetime, *, through_day: date = LAST, by: Person | None = None) -> int:
        """The exception for all tasks, proposed by the owner unless somebody else; one signature."""
        return small_shop.propose(
            workshop=self.workshop, tasks=None, from_day=at.date(), through_day=through_day,
            reason="One mentor here; Olga comes from the institute.", by=by or self.mona, at=at,
        ).number  # fmt: skip


def _opened(slug: str, manager: str, second: str, tally: int) -> Workshop:
    opening = Opening(
        group="quay", group_name="Quay", slug=slug, name=slug.title(), zone="Europe/Berlin", regime="EU",
        opened_on=OPENED,
        manager=Signer(username=manager, given_name=manager.title(), family_name="Brand", tally=tally),
        second=Signer(username=second, given_name=second.title(), family_name="Holt", tally=tally + 1),
    )  # fmt: skip
    return open_workshop(opening, at=on(0, 6))


@pytest.fixture
def shop() -> Shop:
    """Two workshops of a group; the small one with its rule book, and the owner appointed as mentor by two people."""
    _opened("big", "hanna", "otto", 900)
    workshop = _opened("small", "mona", "sven", 910)
    Person.objects.update(cautions_read_at=READ_AT)
    mona, sven, hanna = (Person.objects.get(username=name) for name in ("mona", "sven", "hanna"))
    made = Shop(
        workshop=workshop,
        mona=mona,
        sven=sven,
        hanna=hanna,
        tim=PersonFactory(workshop=workshop, given_name="Tim", family_name="Reed"),
        olga=PersonFactory(workshop=workshop, given_name="Olga", family_name="Fern"),
        task=TaskVersionFactory(group=workshop.group, ident="T1", title="Isolate and prove dead"),
    )
    put_in_force(workshop=workshop, book=book(), by=mona, at=on(0, 6))
    made.certified(mona, on(0, 7), by=hanna)
    record = made.appointed(mona, on(0, 7), by=hanna)
    sign_second(person=mona, record=record, by=sven, at=on(0, 7))
    papers.enter_age(person=made.tim, under_18=False, by=mona, at=on(0, 7))
    papers.appoint(
        person=made.tim, job_types=["C"], workshop=workshop, from_day=OPENED, through_day=LAST, reason="Course.",
        by=mona, at=on(0, 7),
    )  # fmt: skip
    return made


def not_cleared_for_want_of_a_sign_off(decision: Decision) -> bool:
    return decision.mode is Mode.NOT_CLEARED and Ground.SIGN_OFF in {gap.ground for gap in decision.gaps}


def from_outside(shop: Shop, at: datetime) -> None:
    """Olga is appointed by the owner and signed for by the second signer; her certificate is on record."""
    shop.certified(shop.olga, at, by=shop.mona)
    record = shop.appointed(shop.olga, at, outside=True)
    sign_second(person=shop.olga, record=record, by=shop.sven, at=at)


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
    with pytest.raises(Refused):
        shop.watched(shop.tim, shop.olga, on(6, 10))
    sign_second(person=shop.olga, record=appointment, by=shop.sven, at=on(7, 8))
    for day in (7, 8):
        shop.watched(shop.tim, shop.olga, on(day))
        assert not_cleared_for_want_of_a_sign_off(shop.decided(on(day, 10)))
    shop.watched(shop.tim, shop.olga, on(9))
    decision = shop.decided(on(9, 10))
    assert decision.mode is Mode.ALONE
    assert exception in decision.proofs


def cleared(shop: Shop, **exception: Any) -> int:
    """The technician is cleared by the exception: three observations by the mentor from outside; its record."""
    record = shop.excepted(on(1), **exception)
    small_shop.sign(workshop=shop.workshop, record=record, by=shop.hanna, at=on(1, 10))
    from_outside(shop, on(1, 11))
    for day in (2, 3, 4):
        shop.watched(shop.tim, shop.olga, on(day))
    assert shop.decided(on(4, 10)).mode is Mode.ALONE
    return record


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
    shop.sven.set_password(PASSWORD)
    shop.sven.save()
    client.force_login(shop.sven)
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
