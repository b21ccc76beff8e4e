"""Reading everything: the evidence for a decision, decisions worked out now, and the board of a workshop."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from training.bank.queries import AcceptedQuestion, accepted_in
from training.bank.rule_books import rule_book_of
from training.core.memory.fold import PersonRecall
from training.core.permission.decide import decide
from training.core.permission.decision import Decision, Gap, Ground, Mode, Remedy, RemedyKind
from training.core.permission.evidence import Evidence, PersonEvidence, QuestionGate, Supervisor
from training.core.permission.rule_book import RuleBook
from training.core.questions.kinds import Kind
from training.drill.queries import History, histories_of, recall_of
from training.people.models import Person, Workshop
from training.people.queries import people_of
from training.records.queries import Head, head_of
from training.signoff.queries import evidence_of_all

CHANCE_FLOOR = {
    Kind.PICK_ONE: 1 / 3,
    Kind.PICK_ALL: 1 / 15,
    Kind.PUT_IN_ORDER: 1 / 24,
    Kind.WORK_OUT: 0.02,
}  # estimates only


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What was read of one workshop, once, for all its decisions: as known at a record number, read at an instant.

    ``newest`` says that nothing younger than ``known_at`` is left out, so that cached recall may be used.
    """

    workshop: Workshop
    rule_book: RuleBook | None
    everybody: Mapping[str, PersonEvidence]
    questions: Sequence[AcceptedQuestion]
    head: Head
    known_at: int
    read_at: datetime
    newest: bool


def read_workshop(workshop: Workshop, *, read_at: datetime, known_at: int | None = None) -> Reading:
    """Read what every decision of a workshop needs, as known at a record number (None: everything written by now)."""
    head = head_of(workshop.group.chain_id)
    number = head.number if known_at is None else min(known_at, head.number)
    return Reading(
        workshop=workshop,
        rule_book=rule_book_of(workshop, known_at=number),
        everybody=evidence_of_all(workshop, known_at=number),
        questions=accepted_in(workshop, known_at=number),
        head=head,
        known_at=number,
        read_at=read_at,
        newest=number == head.number,
    )


def evidence_for(reading: Reading, person: Person, *, at: datetime) -> Evidence:
    """Everything that is proved of one person for decisions at ``at``."""
    chain_id = reading.workshop.group.chain_id
    history = histories_of([person.key], chain_id=chain_id, known_at=reading.known_at)[person.key].until(at)
    recall = _recall(reading, person, history, at)
    of = reading.everybody.get(person.key, PersonEvidence(person=person.key))
    return Evidence(
        of=replace(of, unreadable=of.unreadable + history.unreadable),
        workshop=reading.workshop.key,
        zone=reading.workshop.zone,
        workshop_opened_on=reading.workshop.opened_on,
        gates=_gates(reading.questions, recall, history.seconds()),
        unsafe=history.unsafe(),
        moments=recall.gate_moments,
        colleagues={key: evidence for key, evidence in reading.everybody.items() if key != person.key},
        head=reading.known_at,
        newest_recorded_at=reading.head.newest_recorded_at,
        read_at=reading.read_at,
        chain_sound=reading.head.is_sound,
    )


def decisions_for(reading: Reading, evidence: Evidence, *, at: datetime) -> dict[str, Decision]:
    """One decision per job type of the rule book; without a rule book there is none, and nobody is cleared."""
    book = reading.rule_book
    if book is None:
        return {}
    return {
        job_type.key: decide(evidence, book, job_type.key, at=at, known_at=reading.known_at)
        for job_type in book.job_types
    }


def decide_all(reading: Reading, people: Iterable[Person], *, at: datetime) -> dict[str, dict[str, Decision]]:
    """Decisions of these people per job type, by person key. First who is cleared alone, then who may work under them."""
    evidence = {person.key: evidence_for(reading, person, at=at) for person in people}
    alone = {key: decisions_for(reading, one, at=at) for key, one in evidence.items()}
    supervisors = supervisors_of(alone)
    return {key: _with_supervisors(reading, evidence[key], alone[key], supervisors, at) for key in evidence}


def board_of(
    workshop: Workshop, *, at: datetime, read_at: datetime, known_at: int | None = None
) -> dict[str, dict[str, Decision]]:
    """Everybody of a workshop and every job type, worked out now from the records."""
    reading = read_workshop(workshop, read_at=read_at, known_at=known_at)
    return decide_all(reading, people_of(workshop), at=at)


def decision_for(person: Person, workshop: Workshop, job_type: str, at: datetime) -> Decision:
    """The answer for one person and job type, always worked out now; without a rule book it is no."""
    reading = read_workshop(workshop, read_at=at)
    if reading.rule_book is None:
        return no_rule_book(job_type, at, reading.known_at)
    reading.rule_book.job_type(job_type)  # KeyError for one that there is not
    team = people_of(workshop)
    return decide_all(reading, {person.pk: person, **{one.pk: one for one in team}}.values(), at=at)[person.key][
        job_type
    ]


def no_rule_book(job_type: str, at: datetime, known_at: int) -> Decision:
    """The answer where no rule book is in force: not cleared, and why."""
    gap = Gap(
        ground=Ground.UNKNOWN_REQUIREMENT,
        subject=job_type,
        sentence="A rule book is in force at the workshop.",
        source="Hookside: without a rule book nobody is cleared",
        remedy=Remedy(kind=RemedyKind.REPAIR, minutes=0, earliest_on=None),
    )
    return Decision(
        mode=Mode.NOT_CLEARED,
        job_type=job_type,
        at=at,
        known_at=known_at,
        until=None,
        ends_by=None,
        gaps=(gap,),
        proofs=(),
        supervisors=(),
        rule_book_version=0,
        parameter_set=0,
        head=known_at,
    )


def supervisors_of(decisions: Mapping[str, Mapping[str, Decision]]) -> tuple[Supervisor, ...]:
    """Whoever is cleared alone, per job type."""
    return tuple(
        Supervisor(person=key, job_type=job_type, until=decision.until)
        for key, by_type in decisions.items()
        for job_type, decision in by_type.items()
        if decision.mode is Mode.ALONE and decision.until is not None
    )


def _with_supervisors(
    reading: Reading, evidence: Evidence, alone: dict[str, Decision], supervisors: tuple[Supervisor, ...], at: datetime
) -> dict[str, Decision]:
    """Ask again, now that it is known who could supervise, wherever somebody is not cleared alone."""
    book = reading.rule_book
    if book is None:
        return alone
    asked = replace(evidence, supervisors=supervisors)
    open_to_more = [key for key, decision in alone.items() if decision.mode is Mode.NOT_CLEARED]
    return {**alone, **{key: decide(asked, book, key, at=at, known_at=reading.known_at) for key in open_to_more}}


def _recall(reading: Reading, person: Person, history: History, at: datetime) -> PersonRecall:
    """Cached recall where it is the fold of exactly these answers, else their fold."""
    if reading.newest:
        kept = recall_of(person)
        newest = max(((row.happened_at, row.number) for row in history.answers), default=None)
        if kept.folded_to == newest:
            return kept
    return history.recall()


def _gates(questions: Sequence[AcceptedQuestion], recall: PersonRecall, seconds: float) -> tuple[QuestionGate, ...]:
    return tuple(
        QuestionGate(
            question=row.ident,
            topic=row.topic,
            consequence=row.consequence,
            accepted_on=row.accepted_on,
            gate=recall.traces[row.ident].gate if row.ident in recall.traces else None,
            answered=row.ident in recall.traces,
            seconds=seconds,
            chance_floor=CHANCE_FLOOR[row.kind],
        )
        for row in questions
    )
