"""Two years of a small workshop: one manager, two mentors, four technicians, and who may observe whom.

The rule book asks for practical work and papers only, with the counts of the starting book for isolation (three
observations by two mentors) and a six-month limit on not having done it. Everything is written by the real actions, and
only by whoever the product lets observe.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from tests.board.house import AT_START, SOURCE
from tests.factories.bank import TaskVersionFactory
from tests.factories.people import PersonFactory
from training.bank.actions import put_in_force
from training.bank.models import TaskVersion
from training.board.queries import board_of
from training.core.permission.decision import Decision, Gap, Ground, Mode
from training.core.permission.evidence import Supervision
from training.core.permission.practical import Judgement, StepResult
from training.core.trade.calendar import add_months
from training.people import actions as papers
from training.people.mentoring import sign_second
from training.people.models import Person, Workshop
from training.people.opening import Opening, Signer, open_workshop
from training.signoff import actions as signoff
from training.signoff.queries import refusals_to_observe

pytestmark = pytest.mark.django_db
OPENED = date(2026, 1, 5)
TASKS = {  # observations, mentors, days, months valid, not longer ago than days, beside first; how often it is watched
    "T3": ((3, 2, 2, 12, 180, 1), 4),
    "T9": ((2, 2, 2, 12, None, 0), 8),
    "T4": ((1, 1, 1, 24, None, 0), 18),
}
VISITS = (0, 11, 22)  # the months in which the examiner from outside is there
MONTHS = 24


@dataclass
class Firm:
    workshop: Workshop
    manager: Person
    second: Person
    mentors: list[Person]
    technicians: list[Person]
    examiner: Person | None
    tasks: dict[str, TaskVersion]
    watched: Counter[tuple[str, str, str]] = field(default_factory=Counter)
    refused: Counter[str] = field(default_factory=Counter)

    @property
    def team(self) -> list[Person]:
        return [*self.technicians, *self.mentors]


def instant(day: date, hour: int = 9, minute: int = 0) -> datetime:
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=UTC)


def book() -> dict[str, Any]:
    """One job type, by papers and practical work alone."""
    names = ("observations", "mentors", "days", "valid_months", "done_within_days", "beside_first")
    asked: list[dict[str, Any]] = [
        {"sign_off": {"task": task, **dict(zip(names, counts, strict=True))}, "sentence": f"{task}.", "source": SOURCE}
        for task, (counts, _months) in TASKS.items()
    ]
    asked.append({"instructed": {"months": 12, "months_under_18": 6}, "sentence": "Instructed.", "source": SOURCE})
    asked.append({"appointed": {"valid_months": 12}, "sentence": "Appointed.", "source": SOURCE})
    c = {"key": "C", "title": "Isolate", "says": "Invented.", "young_person": "supervised", "supervised": True}
    job_type = {**c, "at_start": AT_START, "requirements": asked}
    return {"version": 1, "regime": "EU", "title": "Practical work", "note": "", "job_types": [job_type]}


def opened(*, examiner: bool) -> Firm:
    """The workshop opens; the first mentors come with outside certificates that name the tasks."""
    at = instant(OPENED, 6)
    owner = Signer(username="mona", given_name="Mona", family_name="Brand", tally=901)
    second = Signer(username="sven", given_name="Sven", family_name="Holt", tally=902)
    workshop = open_workshop(
        Opening(
            group="quay", group_name="Quay", slug="quay-one", name="Quay One", zone="Europe/Berlin", regime="EU",
            opened_on=OPENED, manager=owner, second=second,
        ),
        at=at,
    )  # fmt: skip
    manager = Person.objects.get(username="mona")
    put_in_force(workshop=workshop, book=book(), by=manager, at=at)
    firm = Firm(
        workshop=workshop,
        manager=manager,
        second=Person.objects.get(username="sven"),
        mentors=PersonFactory.create_batch(2, workshop=workshop),
        technicians=PersonFactory.create_batch(4, workshop=workshop),
        examiner=PersonFactory(workshop=workshop) if examiner else None,
        tasks={task: TaskVersionFactory(group=workshop.group, ident=task, title=task) for task in TASKS},
    )
    for person in [*firm.mentors, *([firm.examiner] if firm.examiner else [])]:
        papers.enter_certificate(
            person=person, certificate="HV course", issuer="An institute", issued_on=OPENED, through_day=None,
            tasks=list(TASKS), by=manager, at=at,
        )  # fmt: skip
    for person in firm.team:
        papers.enter_age(person=person, under_18=False, by=manager, at=at)
    return firm


def renew(firm: Firm, day: date, months: int) -> None:
    """The yearly signatures: appointments, mentors' appointments with the second signer's name, instruction."""
    said: dict[str, Any] = {
        "workshop": firm.workshop, "from_day": day, "through_day": add_months(day, months) - timedelta(days=1),
        "reason": "Yearly.", "by": firm.manager, "at": instant(day, 7),
    }  # fmt: skip
    for person in firm.team:
        papers.appoint(person=person, job_types=["C"], **said)
        papers.instruct(
            person=person, workshop=firm.workshop, given_on=day, about_what="The site.", by=firm.manager,
            at=instant(day, 7),
        )  # fmt: skip
    for person in [*firm.mentors, *([firm.examiner] if firm.examiner else [])]:
        written = papers.appoint_mentor(person=person, tasks=list(TASKS), **said)
        sign_second(person=person, record=written.number, by=firm.second, at=instant(day, 7))


def watch(firm: Firm, person: Person, task: str, at: datetime, there: list[Person]) -> None:
    """One attempt, observed by whoever may and has watched this person least; by nobody if nobody may."""
    others = sorted((one for one in there if one != person), key=lambda one: firm.watched[person.key, task, one.key])
    for by in others:
        refusals = refusals_to_observe(person, mentor=by, task=task, at=at)
        firm.refused.update(refusals)
        if not refusals:
            break
    else:
        return
    draft = signoff.begin(person=person, task=firm.tasks[task], by=by, at=at)
    steps, step = [StepResult.DONE] * len(draft.steps), Supervision(draft.supervision)
    signoff.note(draft=draft, steps=steps, judgement=Judgement.READY, note="", supervision=step)
    signoff.sign(draft=draft, by=by, at=at)
    firm.watched[person.key, task, by.key] += 1


def month_of_work(firm: Firm, month: int, day: date) -> None:
    """What is watched in a month: at a visit the mentors and the examiner first, else what its turn is."""
    visit = month in VISITS
    there = [*firm.mentors, *([firm.examiner] if firm.examiner and visit else [])]
    whom = [*([firm.examiner] if firm.examiner and visit else []), *firm.team]
    for turn in range(4):
        for hour, (task, (counts, every)) in enumerate(TASKS.items(), 9):
            times = (counts[0] + counts[5] if month == 0 else 2) if visit else int(month % every == 0)
            for place, person in enumerate(whom if turn < times else []):
                watch(firm, person, task, instant(day + timedelta(days=turn), hour, place), there)


def board(firm: Firm, at: datetime) -> dict[str, Decision]:
    found = board_of(firm.workshop, at=at, read_at=at)
    return {person.key: found[person.key]["C"] for person in firm.team}


def practical_gaps(decision: Decision) -> list[Gap]:
    return [gap for gap in decision.gaps if gap.ground in (Ground.SIGN_OFF, Ground.NOT_DONE_LATELY)]


def lived(firm: Firm, months: int) -> list[tuple[int, str, Mode, list[Gap]]]:
    """Month after month; who stood how at the start of each month, before anything was watched, and at its end."""
    seen = []
    for month in range(months + 1):
        day = add_months(OPENED, month)
        if month % 12 == 0:
            renew(firm, day, 12)
        for at, work in ((instant(day, 8), True), (instant(day + timedelta(days=20)), False)):
            if month or not work:
                found = board(firm, at)
                seen += [(month, key, one.mode, practical_gaps(one)) for key, one in found.items()]
            if work:
                month_of_work(firm, month, day)
    return seen


def test_with_an_examiners_yearly_visit_nobody_loses_a_clearance_in_24_months() -> None:
    firm = opened(examiner=True)
    seen = lived(firm, MONTHS)
    assert {(month, mode) for month, _key, mode, _gaps in seen} == {(month, Mode.ALONE) for month in range(MONTHS + 1)}
    assert all(gaps == [] for *_rest, gaps in seen)
    assert firm.refused.total() == 0


def test_without_the_examiner_two_mentors_cannot_carry_each_other_and_the_gap_names_nobody() -> None:
    firm = opened(examiner=False)
    seen = lived(firm, 18)
    mentors = {person.key for person in firm.mentors}
    assert {mode for _month, key, mode, _gaps in seen if key in mentors} & {Mode.ALONE} == set()
    technicians = [(month, mode) for month, key, mode, _gaps in seen if key not in mentors]
    assert {mode for month, mode in technicians if month < 12} == {Mode.ALONE}
    assert {mode for month, mode in technicians if month == 18} == {Mode.NOT_CLEARED}
    remedies = [gap.remedy for month, *_rest, gaps in seen if month == 18 for gap in gaps if gap.subject == "T3"]
    assert remedies
    assert {(remedy.who, remedy.earliest_on) for remedy in remedies} == {((), None)}
    assert any("own sign-off" in refusal for refusal in firm.refused)
