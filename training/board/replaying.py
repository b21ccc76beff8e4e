"""Stored decisions worked out again, as known then, with the rule book and parameter set of then: byte for byte."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from training.board.facts import WorkStarted
from training.board.models import StoredClearance
from training.board.queries import Reading, decisions_for, evidence_for, read_workshop, supervisors_of
from training.board.work.queries import told
from training.core.permission.decision import Decision, Mode
from training.core.permission.evidence import Supervisor
from training.core.permission.mapping import as_mapping, from_mapping
from training.people.models import Person, Workshop
from training.records.canonical import canonical_text
from training.records.queries import facts_of

ROLES = ("lead", "second_person", "supervisor")


@dataclass(frozen=True, slots=True, kw_only=True)
class Stored:
    """One decision as it was stored: where, about whom (key), and its plain values."""

    where: str
    workshop: Workshop
    person: str
    plain: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Replayed:
    """What came of working it out again. ``erased``: it cannot be asked any more, since records of it are gone."""

    stored: Stored
    same: bool
    erased: bool = False


def replay(workshop: Workshop, *, read_at: datetime) -> Iterator[Replayed]:
    """Every stored decision of a workshop, clearances and those that starts of work stood on, worked out again."""
    readings: dict[int, Reading] = {}
    for stored in _stored(workshop):
        yield _replayed(stored, readings, read_at)


def _stored(workshop: Workshop) -> Iterator[Stored]:
    rows = StoredClearance.objects.filter(workshop=workshop).select_related("person").order_by("pk")
    for row in rows.iterator():
        yield Stored(where=f"clearance {row.pk}", workshop=workshop, person=row.person.key, plain=row.decision)
    for start in facts_of([WorkStarted], chain_id=workshop.group.chain_id):
        if start.fact is not None and start.fact.workshop == workshop.key:
            yield from _of_start(workshop, start.number, start.fact)


def _of_start(workshop: Workshop, number: int, fact: WorkStarted) -> Iterator[Stored]:
    for role in ROLES:
        named = told(fact).get(role)
        if named:
            yield Stored(
                where=f"record {number}, {role}", workshop=workshop, person=named["person"], plain=named["decision"]
            )


def _replayed(stored: Stored, readings: dict[int, Reading], read_at: datetime) -> Replayed:
    try:
        was = from_mapping(stored.plain)
        again = _again(stored, was, readings, read_at)
    except (KeyError, ValueError, TypeError, AttributeError):
        return Replayed(stored=stored, same=False)
    same = again is not None and canonical_text(as_mapping(again)) == canonical_text(dict(stored.plain))
    gone = again is not None and any(name == "erased_on" for gap in again.gaps for name, _value in gap.facts)
    return Replayed(stored=stored, same=same, erased=not same and gone)


def _again(stored: Stored, was: Decision, readings: dict[int, Reading], read_at: datetime) -> Decision | None:
    """The decision anew; None where person, rule book or job type are not there as known then."""
    if was.known_at not in readings:
        readings[was.known_at] = read_workshop(stored.workshop, read_at=read_at, known_at=was.known_at)
    reading = readings[was.known_at]
    person = Person.objects.filter(key=stored.person).select_related("group").first()
    if person is None:
        return None
    evidence = evidence_for(reading, person, at=was.at)
    if was.mode is Mode.SUPERVISED:
        evidence = replace(evidence, supervisors=_supervisors(reading, was))
    return decisions_for(reading, evidence, at=was.at, job_types=[was.job_type]).get(was.job_type)


def _supervisors(reading: Reading, was: Decision) -> tuple[Supervisor, ...]:
    """Those whom it names, if they are cleared alone as worked out again."""
    people = Person.objects.filter(key__in=was.supervisors).select_related("group")
    return supervisors_of(
        {
            one.key: decisions_for(reading, evidence_for(reading, one, at=was.at), at=was.at, job_types=[was.job_type])
            for one in people
        }
    )
