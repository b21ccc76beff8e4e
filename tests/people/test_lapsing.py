"""What lapses within a fortnight, and by which day an issuer has to be asked again."""

from __future__ import annotations

from datetime import date
from html import unescape

import pytest
from django.urls import reverse
from django.utils import timezone

from tests.people.cast import AT, TODAY, Cast, appoint, later, make_cast, papers, signed_in
from training.core.permission.validity import certificate_in_force
from training.people import actions, offers
from training.people.lapsing import issuer_checks, lapsing_in
from training.people.offers import Offer
from training.records.models import Record

pytestmark = [pytest.mark.django_db, pytest.mark.db]
COURSE = "HV course"


@pytest.fixture
def cast(monkeypatch: pytest.MonkeyPatch) -> Cast:
    """A rule book that wants the issuer of a course asked every 12 months, and says nothing of first aid."""
    asked = [Offer(key=COURSE, title=COURSE, verify_months=12), Offer(key="first aid", title="first aid")]
    monkeypatch.setitem(offers._offerings, offers.CERTIFICATES, lambda _workshop: asked)
    monkeypatch.setattr(timezone, "now", lambda: AT)
    return make_cast()


def certificate(cast: Cast, *, kind: str = COURSE, through: date | None = None, issued: date = TODAY) -> Record:
    return actions.enter_certificate(
        person=cast.technician, certificate=kind, issuer="An institute", issued_on=issued, through_day=through,
        by=cast.manager, at=AT,
    )  # fmt: skip


def said(cast: Cast) -> list[str]:
    return [lapse.said for lapse in lapsing_in(cast.workshop.group, AT)]


def test_the_issuer_is_asked_by_the_last_day_on_which_the_core_counts_it(cast: Cast) -> None:
    record = certificate(cast)
    check = issuer_checks(cast.technician, TODAY)[record.number]
    assert (check.by, check.warns) == (date(2027, 3, 2), False)
    (held,) = papers(cast.technician).certificates
    counts = [certificate_in_force(held, 36, day, 12) for day in (check.by, date(2027, 3, 3))]
    assert counts == [True, False]


@pytest.mark.parametrize(("today", "warns"), [(date(2027, 2, 15), False), (date(2027, 2, 16), True)])
def test_it_warns_from_a_fortnight_before(cast: Cast, today: date, warns: bool) -> None:
    record = certificate(cast)
    assert issuer_checks(cast.technician, today)[record.number].warns is warns


def test_once_it_is_late_it_says_so_and_the_answer_of_the_issuer_moves_the_day(cast: Cast) -> None:
    record = certificate(cast)
    late = issuer_checks(cast.technician, date(2027, 3, 3))[record.number]
    assert "was to be asked by 2 Mar 2027" in late.said
    actions.verify_certificate(
        person=cast.technician, record=record.number, how="By telephone.", by=cast.manager, at=later(60 * 24 * 30)
    )
    assert issuer_checks(cast.technician, date(2026, 4, 2))[record.number].by == date(2027, 4, 1)


def test_what_ends_before_or_is_not_to_be_asked_for_has_no_such_day(cast: Cast) -> None:
    certificate(cast, through=date(2026, 12, 31))
    certificate(cast, kind="first aid")
    assert issuer_checks(cast.technician, TODAY) == {}


def test_the_list_holds_what_ends_within_a_fortnight_soonest_first(cast: Cast) -> None:
    certificate(cast, kind="first aid", through=date(2026, 3, 16))
    certificate(cast, kind="another", through=date(2026, 3, 17))
    appoint(cast, job_types=["A"], through_day=date(2026, 3, 10))
    assert said(cast) == ["Appointment for A ends 10 Mar 2026.", "first aid ends 16 Mar 2026."]


def test_what_has_a_longer_one_beside_it_does_not_lapse(cast: Cast) -> None:
    certificate(cast, kind="first aid", through=date(2026, 3, 16))
    certificate(cast, kind="first aid", through=date(2027, 3, 16))
    assert said(cast) == []


def test_the_list_and_the_persons_page_name_the_issuer_to_be_asked(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    certificate(cast)
    almost = AT.replace(year=2027, month=2, day=20)
    monkeypatch.setattr(timezone, "now", lambda: almost)
    everyone = unescape(signed_in(cast.manager).get(reverse("people:everyone")).content.decode())
    assert "HV course: Ask its issuer by 2 Mar 2027" in everyone
    page = unescape(signed_in(cast.manager).get(reverse("people:person", args=[cast.technician.pk])).content.decode())
    own = unescape(signed_in(cast.technician).get(reverse("people:mine")).content.decode())
    assert all("Ask its issuer by 2 Mar 2027" in text for text in (page, own))
    assert "Ask its issuer" not in signed_in(cast.technician).get(reverse("people:everyone")).content.decode()
