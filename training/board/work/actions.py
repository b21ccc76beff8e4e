"""Answering a start of work: worked out now, under the chain's lock, and recorded when the answer is yes."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from training.bank.rule_books import rule_book_of
from training.board.facts import WorkStarted
from training.board.queries import Reading, decide_one, no_rule_book, read_workshop, supervisors_worked_out
from training.board.work import jobs
from training.board.work.events import NOTED, WORKED, read_event
from training.board.work.jobs import JobRead
from training.board.work.watch import appointments_of
from training.core.permission.decision import Mode
from training.core.permission.mapping import as_mapping
from training.core.permission.proving import is_pack_work, proving_of
from training.core.permission.rule_book import JobType, RuleBook
from training.core.permission.running_rules import refusals
from training.core.permission.start_of_work import (
    SECOND_PERSON,
    Answers,
    Group,
    Hands,
    InHand,
    Missing,
    Named,
    Start,
    may_start,
)
from training.core.trade.calendar import local_day
from training.core.trade.fitness import Job
from training.equipment.queries import KitRow, kit_of
from training.people.models import Person, Workshop
from training.people.queries import is_manager
from training.records.actions import Refused, append, hold
from training.records.models import Record


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One start of work as it was asked. ``key`` is the form's own; kit is given by the rows of the register.

    ``on_job`` is the key of a job that is planned or running; "" for one that nobody planned, which then begins here.
    """

    key: str
    workshop: Workshop
    job_type: str
    lead: Person | None
    second: Person | None
    supervisor: Person | None
    lead_kit: frozenset[int]
    second_kit: frozenset[int]
    job: Job
    answers: Answers
    on_job: str = ""
    bay: str = ""
    tasks: tuple[str, ...] = ()

    @property
    def about(self) -> str:
        """The key of the job that it is about."""
        return self.on_job or self.key


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """Yes with the record's number, or everything that is missing."""

    number: int | None
    missing: tuple[Missing, ...] = ()


@transaction.atomic
def answer(asked: Asked, *, by: Person, at: datetime) -> Answered:
    """Answer a start of work; a yes is recorded once, with the decisions it stood on, and a second tap finds it again.

    Everything is read under the chain's lock, so that no stand-down slips in between. Raises ``Refused``.
    """
    chain = hold(asked.workshop.group.chain_id)
    on_record = _on_record(asked)
    before = next((row for row in on_record.starts if row.fact and row.fact.form == asked.key), None)
    if before is not None:
        return Answered(number=before.number)
    book = rule_book_of(asked.workshop)
    job_type = _job_type(book, asked.job_type)
    start = _start(asked, book, at=at)
    missing = may_start(job_type, start)
    if start.lead is None or start.answers.planned_end is None:
        return Answered(number=None, missing=missing)
    fact = _fact(asked, start, job_type, by)
    first = refusals(on_record.state, read_event(fact, at=at), is_manager=is_manager(by))
    missing = (*(Missing(group=Group.PEOPLE, subject="", reason=reason) for reason in first), *missing)
    if missing:
        return Answered(number=None, missing=missing)
    jobs.register(asked.workshop, asked.about, start.on)
    record = append(fact, chain_id=chain.pk, about=asked.about, at=at)
    return Answered(number=record.number)


def _on_record(asked: Asked) -> JobRead:
    """The job as it stands; a form's own key begins a new one, and nothing else may stand under it."""
    if asked.on_job:
        found = jobs.job_on_record(asked.workshop, asked.on_job)
        if found is None:
            raise Refused(_("There is no such job here."))
        return found
    of_key = Record.objects.filter(chain_id=asked.workshop.group.chain_id, about=asked.key)
    if of_key.exclude(kind__in=[shape.kind for shape in WORKED + NOTED]).exists():
        raise Refused(_("This page is too old. Open the start of work anew."))
    return jobs.jobs_read([asked.key], chain_id=asked.workshop.group.chain_id)[asked.key]


def _job_type(book: RuleBook | None, key: str) -> JobType:
    if book is None or key == SECOND_PERSON or key not in {job_type.key for job_type in book.job_types}:
        raise Refused(_("The rule book in force here has no such job type. Open the start of work anew."))
    return book.job_type(key)


def _start(asked: Asked, book: RuleBook | None, *, at: datetime) -> Start:
    roles = {job_type.key: job_type for job_type in book.job_types} if book else {}
    role = roles.get(SECOND_PERSON)
    end = asked.answers.planned_end
    on = local_day(at, asked.workshop.zone)
    look = _Look(
        reading=read_workshop(asked.workshop, read_at=at),
        on=on,
        ends_on=max(on, local_day(end, asked.workshop.zone)) if end else on,
    )
    return Start(
        at=at,
        on=on,
        lead=_named(asked.lead, roles.get(asked.job_type), look),
        second=_named(asked.second, role, look),
        supervisor=_named(asked.supervisor, roles.get(asked.job_type), look),
        kit=tuple(_in_hand(asked, kit_of(asked.workshop), at)),
        second_kinds=role.at_start.kit_kinds if role else (),
        job=asked.job,
        answers=asked.answers,
        other_jobs=jobs.jobs_besides(asked.workshop.group.chain_id, besides=asked.about),
        untold=jobs.untold(asked.workshop.group.chain_id),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Look:
    """The workshop as it was read, and the local days on which the job starts and ends."""

    reading: Reading
    on: date
    ends_on: date


def _named(person: Person | None, role: JobType | None, look: _Look) -> Named | None:
    if person is None:
        return None
    reading, at = look.reading, look.reading.read_at
    if role is None:  # a rule book without the role clears nobody for it
        return Named(person=person.key, decision=no_rule_book(SECOND_PERSON, at, 0))
    supervisors = supervisors_worked_out(reading, besides=person, at=at)
    found = decide_one(reading, person, at=at, supervisors=supervisors, job_types=[role.key])
    decision = found.get(role.key) or no_rule_book(role.key, at, 0)
    return Named(
        person=person.key,
        decision=decision,
        appointments=appointments_of(reading, person.key, role, look.on, look.ends_on),
    )


def _in_hand(asked: Asked, rows: Iterable[KitRow], at: datetime) -> Iterable[InHand]:
    day = local_day(at, asked.workshop.zone)
    holders = ((asked.lead, Hands.LEAD, asked.lead_kit), (asked.second, Hands.SECOND_PERSON, asked.second_kit))
    for row in rows:
        for person, hands, wanted in holders:
            if row.item.pk in wanted:
                yield InHand(kit=row.kit, hands=hands, check=row.check_for(person.key if person else "", day))


def _fact(asked: Asked, start: Start, job_type: JobType, by: Person) -> WorkStarted:
    assert start.lead is not None
    assert start.answers.planned_end is not None
    rows = {row.item.ident: row.item.key for row in kit_of(asked.workshop)}
    second_rule = job_type.at_start.second_person
    return WorkStarted(
        workshop=asked.workshop.key,
        job_type=asked.job_type,
        vehicle=start.answers.vehicle,
        lead=start.lead.person,
        second_person=start.second.person if start.second and second_rule else "",
        kit=[rows[in_hand.kit.name] for in_hand in start.kit],
        planned_end=start.answers.planned_end,
        decision=json.dumps(_stood_on(start), sort_keys=True, ensure_ascii=False),
        by=by.key,
        form=asked.key,
        family=start.answers.family,
        bay=asked.bay,
        supervisor=start.supervisor.person if start.supervisor and _is_supervised(start.lead) else "",
        second_rule=second_rule,
        proving=proving_of(job_type.at_start).value,
        ac_points=start.job.ac_points,
        pack_work=is_pack_work(start.job),
        tasks=list(asked.tasks),
    )


def _is_supervised(lead: Named) -> bool:
    return lead.decision.mode is Mode.SUPERVISED


def _stood_on(start: Start) -> Mapping[str, Any]:
    """The decisions of everybody named, and what was said, as plain values; figures as text, never as floats."""
    named = {"lead": start.lead, "second_person": start.second, "supervisor": start.supervisor}
    people = {
        role: {"person": one.person, "decision": as_mapping(one.decision)} if one else None
        for role, one in named.items()
    }
    kit = {hands.value: [i.kit.name for i in start.kit if i.hands is hands] for hands in Hands}
    said = {name: _plain(value) for name, value in asdict(start.answers).items()}
    vehicle = {name: _plain(value) for name, value in asdict(start.job).items() if name != "house"}
    return {**people, "kit": kit, "answers": said, "vehicle": vehicle}


def _plain(value: Any) -> str | bool | None:
    if value is None or isinstance(value, (bool, str)):
        return value
    if isinstance(value, datetime):
        return value.isoformat()
    return str(value)
