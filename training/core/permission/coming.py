"""A rule book that was confirmed for a later day: from that day on the stricter of both applies by itself."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import cache

from training.core.permission import remedies
from training.core.permission.decide import decide
from training.core.permission.decision import Decision, Ending, Gap, Ground, Mode
from training.core.permission.ends import at_start_of, earliest
from training.core.permission.evidence import Evidence
from training.core.permission.findings import unreadable
from training.core.permission.rule_book import RuleBook
from training.core.trade.calendar import local_day

Judge = Callable[[datetime], Decision]
_LEAST_FIRST = (Mode.NOT_CLEARED, Mode.SUPERVISED, Mode.ALONE)


@dataclass(frozen=True, slots=True, kw_only=True)
class ComingBook:
    """A rule book confirmed before its first local day. ``book`` None: it cannot be read, and clears nobody from then.

    What it lets people gain counts only once it is confirmed again, on that day or later, which puts it in force.
    """

    from_day: date
    record: int
    book: RuleBook | None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Voice:
    """One rule book that has a say: what it answers at an instant, and since when (None: it is in force)."""

    judge: Judge
    has_come: bool
    begins: Ending | None = None


def decide_with_coming(
    evidence: Evidence,
    rule_book: RuleBook,
    coming: Sequence[ComingBook],
    job_type: str,
    *,
    at: datetime,
    known_at: int,
) -> Decision:
    """As ``decide``, and from the first day of each coming book on no more than that book gives too.

    ``until`` is exact before that day as well: no clearance runs past an instant at which a coming book gives less.
    Total as ``decide`` is; only a job type that the rule book in force does not have raises KeyError.
    """
    own = decide(evidence, rule_book, job_type, at=at, known_at=known_at)
    if not coming:
        return own
    try:
        return _together(own, [_voice(evidence, one, own, job_type) for one in _in_order(coming)], evidence, rule_book)
    except Exception as fault:  # whatever it is: what cannot be judged is not cleared
        why = unreadable("rule book", type(fault).__name__)
        return replace(own, mode=Mode.NOT_CLEARED, until=None, ends_by=None, supervisors=(), gaps=(*own.gaps, why))


def _in_order(coming: Iterable[ComingBook]) -> list[ComingBook]:
    return sorted(coming, key=lambda one: (one.from_day, one.record))


def _voice(evidence: Evidence, one: ComingBook, own: Decision, job_type: str) -> _Voice:
    begins = at_start_of(one.from_day, evidence.zone, Ground.RULE_BOOK, job_type)
    has_come = local_day(own.at, evidence.zone) >= one.from_day
    return _Voice(judge=_judge(evidence, one, own), has_come=has_come, begins=None if has_come else begins)


def _judge(evidence: Evidence, one: ComingBook, own: Decision) -> Judge:
    """What a coming book answers; one that cannot be read, or lacks the job type, clears nobody."""

    @cache
    def judged(at: datetime) -> Decision:
        if one.book is None or own.job_type not in {job_type.key for job_type in one.book.job_types}:
            return replace(own, mode=Mode.NOT_CLEARED, until=None, ends_by=None, gaps=(_not_in(one, own),))
        return decide(evidence, one.book, own.job_type, at=at, known_at=own.known_at)

    return judged


def _together(own: Decision, coming: Sequence[_Voice], evidence: Evidence, rule_book: RuleBook) -> Decision:
    """The least that the books give whose day has come, for as long as every book gives it."""
    now = [own, *(voice.judge(own.at) for voice in coming if voice.has_come)]
    mode = min((decision.mode for decision in now), key=_LEAST_FIRST.index)
    merged = replace(
        own,
        mode=mode,
        gaps=_gaps(now),
        proofs=tuple(sorted({record for decision in now for record in decision.proofs})),
        supervisors=next((decision.supervisors for decision in now if decision.mode is mode), ()),
    )
    if mode is Mode.NOT_CLEARED:
        return replace(merged, until=None, ends_by=None, supervisors=())

    def in_force(at: datetime) -> Decision:
        return own if at == own.at else decide(evidence, rule_book, own.job_type, at=at, known_at=own.known_at)

    voices = [_Voice(judge=in_force, has_come=True), *coming]
    ends_by = earliest(end for voice in voices if (end := _end(voice, own.at, mode)) is not None)
    return replace(merged, ends_by=ends_by, until=ends_by.at if ends_by else None)


def _end(voice: _Voice, at: datetime, mode: Mode) -> Ending | None:
    """The first ending, from ``at`` on, after which a book gives less than the mode."""
    ending = voice.begins
    found = voice.judge(ending.at if ending else at)
    while _LEAST_FIRST.index(found.mode) > _LEAST_FIRST.index(mode) and found.ends_by is not None:
        ending = found.ends_by
        found = voice.judge(ending.at)
    return found.ends_by if found.mode is mode else ending


def _gaps(decisions: Sequence[Decision]) -> tuple[Gap, ...]:
    """Each gap once, by the first book that asks. Whom no supervisor would help is not told to look for one."""
    told: dict[object, Gap] = {}
    blocked = [decision for decision in decisions if decision.mode is Mode.NOT_CLEARED]
    lone = all(any(gap.ground is Ground.NO_SUPERVISOR for gap in decision.gaps) for decision in blocked)
    for gap in (gap for decision in decisions for gap in decision.gaps):
        if lone or gap.ground is not Ground.NO_SUPERVISOR:
            told.setdefault((gap.ground, gap.subject, gap.remedy, gap.records, gap.facts), gap)
    return tuple(told.values())


def _not_in(one: ComingBook, own: Decision) -> Gap:
    return Gap(
        ground=Ground.RULE_BOOK,
        subject=own.job_type,
        sentence="The rule book whose first day has come can be read and has this job type.",
        source="Hookside: from its first day a coming rule book takes away by itself",
        remedy=remedies.repair(),
        records=(one.record,),
    )
