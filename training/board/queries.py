"""Reading everything: the evidence for a decision, and decisions worked out now from the records."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime

from training.bank.queries import AcceptedQuestion, accepted_in, unreadable_acceptances
from training.bank.rule_books import book_in_force, coming_books
from training.bank.rule_history import rules_of
from training.board.leaving import LastDay, last_days, while_here
from training.board.work.done import with_tasks_done
from training.core.memory.fold import PersonRecall
from training.core.permission.coming import ComingBook, decide_with_coming
from training.core.permission.decision import Decision, Gap, Ground, Mode, Remedy, RemedyKind
from training.core.permission.evidence import Evidence, PersonEvidence, QuestionGate, SmallShop, Supervisor
from training.core.permission.rule_book import RuleBook
from training.drill.kept import Wanted, kept_recalls
from training.drill.picking import CHANCE_FLOOR
from training.drill.queries import History, histories_of
from training.people.models import Person, Workshop
from training.people.queries import people_of
from training.people.small_shops import small_shops_of
from training.records.queries import Head, erased_days, head_of
from training.signoff.queries import evidence_of_all

Supervisors = tuple[Supervisor, ...]
FindSupervisors = Callable[[Collection[str]], Supervisors]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What was read of one workshop, once, for all its decisions: as known at a record number, read at an instant.

    ``coming`` are rule books confirmed for a later day. ``newest`` says that no record is left out, so that kept recall
    may be used. ``unreadable`` names records of the workshop that cannot be read: they block everybody. ``erased``
    says of which records what they said is no longer kept, since when. ``histories`` and ``kept`` recall fill as people
    are asked about; it changes no answer, since what was known at a number never changes.
    """

    workshop: Workshop
    rule_book: RuleBook | None
    everybody: Mapping[str, PersonEvidence]
    questions: Sequence[AcceptedQuestion]
    head: Head
    known_at: int
    read_at: datetime
    newest: bool
    unreadable: tuple[int, ...] = ()
    small_shops: tuple[SmallShop, ...] = ()
    coming: tuple[ComingBook, ...] = ()
    erased: Mapping[int, date] = field(default_factory=dict)
    last_days: Mapping[str, LastDay] = field(default_factory=dict)
    histories: dict[str, History] = field(default_factory=dict)
    kept: dict[Wanted, PersonRecall | None] = field(default_factory=dict)


def read_workshop(
    workshop: Workshop, *, read_at: datetime, known_at: int | None = None, at: datetime | None = None
) -> Reading:
    """Read what every decision of a workshop needs, as known at a record number (None: everything written by now).

    ``at`` is the past instant asked about, whose rule book is wanted (None: the newest known).
    The head is read first: whatever is written meanwhile has a higher number, and nothing above it is read.
    """
    head = head_of(workshop.group.chain_id)
    number = head.number if known_at is None else min(known_at, head.number)
    rules, shops = rules_of(workshop, known_at=number, at=at), small_shops_of(workshop, known_at=number)
    return Reading(
        workshop=workshop,
        rule_book=book_in_force(rules),
        everybody=with_tasks_done(
            evidence_of_all(workshop, known_at=number), chain_id=workshop.group.chain_id, known_at=number
        ),
        questions=accepted_in(workshop, known_at=number),
        head=head,
        known_at=number,
        read_at=read_at,
        newest=number == head.number,
        unreadable=(*unreadable_acceptances(workshop, known_at=number), *rules.unreadable, *shops.unreadable),
        small_shops=shops.all,
        coming=coming_books(rules),
        erased=erased_days(workshop.group.chain_id),
        last_days=last_days(workshop.group.chain_id, known_at=number),
    )


def evidence_for(reading: Reading, person: Person, *, at: datetime) -> Evidence:
    """Everything that is proved of one person for decisions at ``at``."""
    written = history_in(reading, person)
    history = written.until(at)
    is_whole = reading.newest and len(history.answers) == len(written.answers)
    recall = _recall(reading, person, history, is_whole)
    of = reading.everybody.get(person.key, PersonEvidence(person=person.key))
    return Evidence(
        of=replace(of, unreadable=of.unreadable + history.unreadable + reading.unreadable),
        workshop=reading.workshop.key,
        zone=reading.workshop.zone,
        workshop_opened_on=reading.workshop.opened_on,
        gates=_gates(reading.questions, recall, history.seconds()),
        unsafe=history.unsafe(),
        moments=recall.gate_moments,
        parameter_set=history.parameter_set.number,
        parameters=history.parameter_set.parameters,
        colleagues={key: evidence for key, evidence in reading.everybody.items() if key != person.key},
        small_shops=reading.small_shops,
        head=reading.known_at,
        newest_recorded_at=reading.head.newest_recorded_at,
        read_at=reading.read_at,
        chain_sound=reading.head.is_sound,
    )


def history_in(reading: Reading, person: Person) -> History:
    """Answers and talk-throughs of one person as far as the reading goes."""
    _read_histories(reading, [person])
    return reading.histories[person.key]


def decisions_for(
    reading: Reading, evidence: Evidence, *, at: datetime, job_types: Collection[str] | None = None
) -> dict[str, Decision]:
    """One decision per job type, of those asked for; without a rule book there is none, and nobody is cleared.

    Who could supervise is not looked for here: see ``decide_one``.
    """
    book = reading.rule_book
    if book is None:
        return {}
    asked = [one.key for one in book.job_types if job_types is None or one.key in job_types]
    last = reading.last_days.get(evidence.of.person)
    return {
        key: while_here(_with_erased(one, reading.erased), last, reading.workshop.zone)
        for key in asked
        for one in [decide_with_coming(evidence, book, reading.coming, key, at=at, known_at=reading.known_at)]
    }


def _with_erased(decision: Decision, erased: Mapping[int, date]) -> Decision:
    """Let the gap of records that cannot be read say since when what they said is no longer kept, where that is why."""
    gaps = tuple(
        replace(gap, facts=(*gap.facts, ("erased_on", max(days).isoformat())))
        if gap.ground is Ground.RECORD_UNREADABLE and (days := [erased[n] for n in gap.records if n in erased])
        else gap
        for gap in decision.gaps
    )
    return replace(decision, gaps=gaps)


def decide_one(
    reading: Reading,
    person: Person,
    *,
    at: datetime,
    supervisors: FindSupervisors,
    job_types: Collection[str] | None = None,
) -> dict[str, Decision]:
    """One person's decisions per job type; ``supervisors`` is asked only for those that supervision would open."""
    evidence = evidence_for(reading, person, at=at)
    alone = decisions_for(reading, evidence, at=at, job_types=job_types)
    waiting = waiting_for_supervisor(alone)
    return _supervised(reading, evidence, alone, supervisors(waiting) if waiting else (), at)


def decide_all(reading: Reading, people: Iterable[Person], *, at: datetime) -> dict[str, dict[str, Decision]]:
    """Decisions of these people per job type, by person key; any of them who is cleared alone may supervise."""
    everybody = list(people)
    _read_histories(reading, everybody)
    evidence = {person.key: evidence_for(reading, person, at=at) for person in everybody}
    alone = {key: decisions_for(reading, one, at=at) for key, one in evidence.items()}
    supervisors = supervisors_of(alone)
    return {key: _supervised(reading, evidence[key], alone[key], supervisors, at) for key in evidence}


def supervisors_worked_out(reading: Reading, *, besides: Person, at: datetime) -> FindSupervisors:
    """Whoever else of the workshop is cleared alone for the job types asked for, worked out now."""

    def found(job_types: Collection[str]) -> Supervisors:
        team = [person for person in people_of(reading.workshop) if person.pk != besides.pk]
        _read_histories(reading, team)
        return supervisors_of(
            {
                one.key: decisions_for(reading, evidence_for(reading, one, at=at), at=at, job_types=job_types)
                for one in team
            }
        )

    return found


def board_of(
    workshop: Workshop, *, at: datetime, read_at: datetime, known_at: int | None = None
) -> dict[str, dict[str, Decision]]:
    """Everybody of a workshop and every job type, worked out now from the records."""
    reading = read_workshop(workshop, read_at=read_at, known_at=known_at, at=at)
    return decide_all(reading, people_of(workshop), at=at)


def decision_for(person: Person, workshop: Workshop, job_type: str, at: datetime) -> Decision:
    """The answer for one person and job type, always worked out now; without a rule book it is no.

    Raises ``KeyError`` for a job type that the rule book does not have.
    """
    return decision_in(read_workshop(workshop, read_at=at), person, job_type, at)


def decision_in(reading: Reading, person: Person, job_type: str, at: datetime) -> Decision:
    """The same, from what was read."""
    if reading.rule_book is None:
        return no_rule_book(job_type, at, reading.known_at)
    reading.rule_book.job_type(job_type)
    supervisors = supervisors_worked_out(reading, besides=person, at=at)
    return decide_one(reading, person, at=at, supervisors=supervisors, job_types=[job_type])[job_type]


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


def supervisors_of(decisions: Mapping[str, Mapping[str, Decision]]) -> Supervisors:
    """Whoever is cleared alone, per job type."""
    return tuple(
        Supervisor(person=key, job_type=job_type, until=decision.until)
        for key, by_type in decisions.items()
        for job_type, decision in by_type.items()
        if decision.mode is Mode.ALONE and decision.until is not None
    )


def waiting_for_supervisor(decisions: Mapping[str, Decision]) -> list[str]:
    """The job types in which only somebody who could supervise is missing; no supervisor changes any other."""
    return [key for key, decision in decisions.items() if is_waiting_for_supervisor(decision)]


def is_waiting_for_supervisor(decision: Decision) -> bool:
    """Whether the decision would be another one if somebody could supervise."""
    return decision.mode is Mode.NOT_CLEARED and any(gap.ground is Ground.NO_SUPERVISOR for gap in decision.gaps)


def _supervised(
    reading: Reading, evidence: Evidence, alone: dict[str, Decision], supervisors: Supervisors, at: datetime
) -> dict[str, Decision]:
    """Ask again, now that it is known who could supervise."""
    waiting = waiting_for_supervisor(alone) if supervisors else []
    return {**alone, **decisions_for(reading, replace(evidence, supervisors=supervisors), at=at, job_types=waiting)}


def _read_histories(reading: Reading, people: Iterable[Person]) -> None:
    """Read the histories of all these people at once, those that are still to be read."""
    new = [person for person in people if person.key not in reading.histories]
    if not new:
        return
    keys, chain_id = [person.key for person in new], reading.workshop.group.chain_id
    reading.histories.update(histories_of(keys, chain_id=chain_id, known_at=reading.known_at))
    if reading.newest:
        reading.kept.update(kept_recalls([_wanted(person, reading.histories[person.key]) for person in new]))


def _wanted(person: Person, history: History) -> Wanted:
    return Wanted(person.pk, history.newest, history.parameter_set.number)


def _recall(reading: Reading, person: Person, history: History, is_whole: bool) -> PersonRecall:
    """Kept recall where nothing is left out and it holds exactly these answers, else their fold."""
    kept = reading.kept.get(_wanted(person, history)) if is_whole else None
    return history.recall() if kept is None else kept


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
