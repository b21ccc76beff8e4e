"""Answering a start of work: worked out now, under the chain's lock, and recorded when the answer is yes."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from training.bank.rule_books import rule_book_of
from training.board.facts import WorkStarted
from training.board.queries import decision_for, no_rule_book
from training.board.work.queries import jobs_going_on
from training.core.permission.mapping import as_mapping
from training.core.permission.rule_book import JobType, RuleBook
from training.core.permission.start_of_work import (
    SECOND_PERSON,
    Answers,
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
from training.records.actions import Refused, append
from training.records.models import Chain, Record


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One start of work as it was asked. ``key`` is the form's own; kit is given by the rows of the register."""

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
    chain = Chain.objects.select_for_update().get(pk=asked.workshop.group.chain_id)
    before = Record.objects.filter(chain=chain, about=asked.key).first()
    if before is not None:
        return _found_again(before)
    book = rule_book_of(asked.workshop)
    job_type = _job_type(book, asked.job_type)
    start = _start(asked, book, at=at)
    missing = may_start(job_type, start)
    if missing:
        return Answered(number=None, missing=missing)
    record = append(_fact(asked, start, by), chain_id=chain.pk, about=asked.key, at=at)
    return Answered(number=record.number)


def _found_again(before: Record) -> Answered:
    if before.kind != WorkStarted.kind:
        raise Refused(_("This page is too old. Open the start of work anew."))
    return Answered(number=before.number)


def _job_type(book: RuleBook | None, key: str) -> JobType:
    if book is None or key == SECOND_PERSON or key not in {job_type.key for job_type in book.job_types}:
        raise Refused(_("The rule book in force here has no such job type. Open the start of work anew."))
    return book.job_type(key)


def _start(asked: Asked, book: RuleBook | None, *, at: datetime) -> Start:
    roles = {job_type.key: job_type for job_type in book.job_types} if book else {}
    role = roles.get(SECOND_PERSON)
    return Start(
        at=at,
        on=local_day(at, asked.workshop.zone),
        lead=_named(asked.lead, asked.workshop, asked.job_type, at),
        second=_named(asked.second, asked.workshop, SECOND_PERSON, at),
        supervisor=_named(asked.supervisor, asked.workshop, asked.job_type, at),
        kit=tuple(_in_hand(asked, kit_of(asked.workshop), at)),
        second_kinds=role.at_start.kit_kinds if role else (),
        job=asked.job,
        answers=asked.answers,
        other_jobs=jobs_going_on(asked.workshop, at=at),
    )


def _named(person: Person | None, workshop: Workshop, job_type: str, at: datetime) -> Named | None:
    if person is None:
        return None
    try:
        decision = decision_for(person, workshop, job_type, at)
    except KeyError:  # a rule book without the role clears nobody for it
        decision = no_rule_book(job_type, at, 0)
    return Named(person=person.key, decision=decision)


def _in_hand(asked: Asked, rows: Iterable[KitRow], at: datetime) -> Iterable[InHand]:
    day = local_day(at, asked.workshop.zone)
    holders = ((asked.lead, Hands.LEAD, asked.lead_kit), (asked.second, Hands.SECOND_PERSON, asked.second_kit))
    for row in rows:
        for person, hands, wanted in holders:
            if row.item.pk in wanted:
                yield InHand(kit=row.kit, hands=hands, check=row.check_for(person.key if person else "", day))


def _fact(asked: Asked, start: Start, by: Person) -> WorkStarted:
    assert start.lead is not None
    assert start.answers.planned_end is not None
    rows = {row.item.ident: row.item.key for row in kit_of(asked.workshop)}
    return WorkStarted(
        workshop=asked.workshop.key,
        job_type=asked.job_type,
        vehicle=start.answers.vehicle,
        lead=start.lead.person,
        second_person=start.second.person if start.second else "",
        kit=[rows[in_hand.kit.name] for in_hand in start.kit],
        planned_end=start.answers.planned_end,
        decision=json.dumps(_stood_on(start), sort_keys=True, ensure_ascii=False),
        by=by.key,
    )


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
