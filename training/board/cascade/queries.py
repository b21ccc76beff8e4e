"""Who loses what if a paper were void from a day on, and who gains by a signature: clearances with it and without."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import TypeVar

from training.board.labels import Voice, cell_words, day_words
from training.board.queries import Reading, decide_all, read_workshop
from training.board.stored import Cell
from training.board.voices import voice_of
from training.core.permission.authority import Court
from training.core.permission.decision import Decision
from training.core.permission.evidence import (
    Appointment,
    MentorAppointment,
    OutsideCertificate,
    PersonEvidence,
    SmallShop,
)
from training.people.models import Person, Workshop
from training.people.queries import people_of
from training.signoff.queries import house_with

Paper = TypeVar("Paper", Appointment, MentorAppointment, OutsideCertificate, SmallShop)


@dataclass(frozen=True, slots=True, kw_only=True)
class Loss:
    """One clearance that changes: whose, for which job type, in words before and after."""

    person: str
    workshop: str
    job_type: str
    before: str
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Fall:
    """One observation that would carry no more: whose, of which task, on which day, signed by whom."""

    person: str
    task: str
    on: str
    by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Affected:
    losses: tuple[Loss, ...]
    falls: tuple[Fall, ...]


def affected_by(person: Person, record: int, from_day: date, *, at: datetime) -> Affected:
    """Everything in the group that changes if this paper of a person were void from this day on."""
    losses: list[Loss] = []
    falls: dict[Fall, None] = {}
    for workshop in Workshop.objects.filter(group_id=person.group_id).select_related("group").order_by("name"):
        reading = read_workshop(workshop, read_at=at)
        without = replace(reading, everybody=_without(reading.everybody, person.key, record, from_day))
        voice = voice_of(workshop, reading.rule_book, now=at)
        losses += _losses(reading, without, voice, at)
        falls |= dict.fromkeys(_falls(reading, without, voice))
    return Affected(losses=tuple(losses), falls=tuple(falls))


def affected_by_small_shop(workshop: Workshop, record: int, from_day: date, *, at: datetime) -> Affected:
    """Everything at a workshop that changes if its small-shop exception were void from this day on."""
    reading = read_workshop(workshop, read_at=at)
    without = replace(reading, small_shops=tuple(_void(one, record, from_day) for one in reading.small_shops))
    voice = voice_of(workshop, reading.rule_book, now=at)
    return Affected(
        losses=tuple(_losses(reading, without, voice, at)), falls=tuple(dict.fromkeys(_falls(reading, without, voice)))
    )


def gained_by_small_shop(workshop: Workshop, record: int, signer: Person, *, at: datetime) -> tuple[Loss, ...]:
    """Whatever is said otherwise of anybody's job type once this person has signed a proposed exception today."""
    reading = read_workshop(workshop, read_at=at)
    voice = voice_of(workshop, reading.rule_book, now=at)
    signed = tuple(
        replace(one, second_by=signer.key, entered_on=max(one.entered_on, voice.today)) if one.record == record else one
        for one in reading.small_shops
    )
    return tuple(_losses(reading, replace(reading, small_shops=signed), voice, at))


def _without(
    everybody: Mapping[str, PersonEvidence], key: str, record: int, from_day: date
) -> dict[str, PersonEvidence]:
    found = everybody[key]
    return {
        **everybody,
        key: replace(
            found,
            appointments=tuple(_void(one, record, from_day) for one in found.appointments),
            mentor_appointments=tuple(_void(one, record, from_day) for one in found.mentor_appointments),
            certificates=tuple(_void(one, record, from_day) for one in found.certificates),
        ),
    }


def _void(one: Paper, record: int, from_day: date) -> Paper:
    return replace(one, withdrawn_from=min(from_day, one.withdrawn_from or from_day)) if one.record == record else one


def _losses(reading: Reading, without: Reading, voice: Voice, at: datetime) -> Iterator[Loss]:
    """Whatever is said of somebody's job type with the paper and is not said without it."""
    team = list(people_of(reading.workshop))
    before, after = decide_all(reading, team, at=at), decide_all(without, team, at=at)
    for person in team:
        for key, decision in before[person.key].items():
            changed = after[person.key][key]
            if (decision.mode, decision.until) != (changed.mode, changed.until):
                yield Loss(
                    person=person.short_name,
                    workshop=reading.workshop.name,
                    job_type=voice.job_types.get(key, key),
                    before=_words(person, decision, voice),
                    after=_words(person, changed, voice),
                )


def _words(person: Person, decision: Decision, voice: Voice) -> str:
    return cell_words(Cell(person=person, job_type=decision.job_type, decision=decision), voice).headline


def _falls(reading: Reading, without: Reading, voice: Voice) -> Iterator[Fall]:
    """The observations made at this workshop that stand with the paper and not without it, oldest first."""
    if reading.rule_book is None:
        return
    with_it, without_it = (
        Court(house_with(reading.workshop, one.everybody, reading.rule_book, one.small_shops))
        for one in (reading, without)
    )
    all_made = [(key, one) for key, found in reading.everybody.items() for one in found.observations]
    for key, one in sorted(all_made, key=lambda pair: (pair[1].happened_at, pair[1].record)):
        if with_it.stands(key, one) and not without_it.stands(key, one):
            yield Fall(
                person=voice.names.get(key, "?"),
                task=voice.tasks.get(one.task, one.task),
                on=day_words(voice.day_of(one.happened_at), voice),
                by=voice.names.get(one.observer, "?"),
            )
