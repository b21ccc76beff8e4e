"""A workshop of three: the owner, who is its mentor, one technician, and a mentor who comes from outside.

Beside them stand whoever signed second when it opened, and the manager of another workshop of the group. The rule book
asks for two observations by two mentors on two days. Everything is written by the real actions.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

from django.contrib.auth.hashers import make_password

from tests.board.house import AT_START, SOURCE
from tests.factories.bank import TaskVersionFactory
from tests.factories.people import PASSWORD, READ_AT, PersonFactory
from training.bank.actions import put_in_force
from training.bank.models import TaskVersion
from training.board.queries import decision_for
from training.core.permission.decision import Decision
from training.core.permission.evidence import Supervision
from training.core.permission.practical import Judgement, StepResult
from training.people import actions as papers
from training.people import small_shop
from training.people.mentoring import sign_second
from training.people.models import Person, Workshop
from training.people.opening import Opening, Signer, open_workshop
from training.signoff import actions as signoff

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


def make_shop() -> Shop:
    """Two workshops of a group; the small one with its rule book, and the owner appointed as mentor by two people."""
    _opened("big", "hanna", "otto", 900)
    workshop = _opened("small", "mona", "sven", 910)
    Person.objects.update(cautions_read_at=READ_AT, password=make_password(PASSWORD))
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


def from_outside(shop: Shop, at: datetime) -> None:
    """Olga is appointed by the owner and signed for by the second signer; her certificate is on record."""
    shop.certified(shop.olga, at, by=shop.mona)
    record = shop.appointed(shop.olga, at, outside=True)
    sign_second(person=shop.olga, record=record, by=shop.sven, at=at)


def cleared(shop: Shop, **exception: Any) -> int:
    """The technician is cleared by the exception: three observations by the mentor from outside; its record."""
    record = shop.excepted(on(1), **exception)
    small_shop.sign(workshop=shop.workshop, record=record, by=shop.hanna, at=on(1, 10))
    from_outside(shop, on(1, 11))
    for day in (2, 3, 4):
        shop.watched(shop.tim, shop.olga, on(day))
    return record
