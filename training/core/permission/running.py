"""Where a job stands while it runs: a pure fold over what was written about it, the same for any moment asked about.

It says who is there, whose locks are on, whether readings hold and what ends the work. It never says anything of the
vehicle: readings hold for their points at their time, and an absence, a new start or a lock taken away voids them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import StrEnum
from functools import reduce
from typing import Any, Final

from training.core.permission.proving import Proving, Readings, not_dead, not_read, unexpected
from training.core.trade.insulation import PartVerdict, judge_part
from training.core.trade.meters import TestPoint
from training.core.trade.reasons import Reason, because

UNTIL_PROVED: Final = "until proved dead"
_PRACTICE: Final = "common practice of the trade, no source"


class Step(StrEnum):
    """What somebody did that needs no figures."""

    LOCK_ON = "own lock on"
    LOCK_OFF = "own lock off"
    AWAY = "away"
    BACK = "back"
    OFFERED = "hand-over offered"
    STOPPED = "stopped"
    WARNED = "all warned"
    ENERGISED = "re-energised"
    LABEL_OFF = "label off"
    TOLD = "told of the lock"


# ---------------------------------------------------------------- what was written
@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One record about a job. ``by`` is whoever entered it; ``record`` 0: not written yet."""

    record: int = 0
    at: datetime
    by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Started(Event):
    """A start of work that was answered yes: the first, one after a stop, or a hand-over to another lead."""

    lead: str
    second: str = ""
    supervisor: str = ""
    second_rule: str = "whole job"
    proving: Proving = Proving.DEAD
    planned_end: datetime
    points: tuple[TestPoint, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Stepped(Event):
    """A step by or about a person; ``says`` is the lock's number, or why the work was stopped."""

    step: Step
    person: str = ""
    says: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured(Event):
    """A round of readings."""

    readings: Readings


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted(Event):
    """Tools that went in and came back, who is clear of the vehicle, covers, seals and torque."""

    tools_out: int
    tools_back: int
    people_clear: int
    refitted: str


@dataclass(frozen=True, slots=True, kw_only=True)
class InsulationRead(Event):
    """The insulation value before the disconnect is closed, and the maker's figure for it."""

    measured_ohm: float
    maker_ohm: float
    instrument: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RemovalAsked(Event):
    """One person asks to take off an absent person's lock: how it is certain that they left, how they were tried."""

    owner: str
    certain: str
    tried: str
    tells: str
    by_manager: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Removed(Event):
    """Another person agreed, and the absent person's lock was taken off."""

    owner: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ended(Event):
    """Handed back and closed, or called off (``closed`` False)."""

    closed: bool
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Unreadable(Event):
    """A record about the job that cannot be read."""


# ---------------------------------------------------------------- what it comes to
@dataclass(frozen=True, slots=True, kw_only=True)
class OwnLock:
    """A person's own lock on the hasp, with the number on it."""

    person: str
    number: str
    since: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class HandBack:
    """What is done of handing back; a lock put on, an absence or a new start begins it anew."""

    counted: Counted | None = None
    insulation: InsulationRead | None = None
    warned: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """Where a job stands. ``people`` is everybody named or with a lock on it, ``workers`` those whose hands were in it.

    ``stops`` end the work until a new start of work. ``to_tell`` lost their lock in their absence and do not know yet.
    """

    start: Started | None = None
    people: tuple[str, ...] = ()
    workers: frozenset[str] = frozenset()
    away: frozenset[str] = frozenset()
    locks: tuple[OwnLock, ...] = ()
    isolated: bool = False
    proof: Measured | None = None
    had_proof: bool = False
    earlier_v: Mapping[TestPoint, float] = field(default_factory=dict)
    stops: tuple[Reason, ...] = ()
    offered_to: str = ""
    removal: RemovalAsked | None = None
    to_tell: frozenset[str] = frozenset()
    back: HandBack = HandBack()
    energised: bool = False
    label_off: bool = False
    over: Ended | None = None
    unreadable: tuple[int, ...] = ()

    @property
    def asks_second(self) -> bool:
        """Whether the second person has to be there now."""
        start = self.start
        if start is None or not start.second:
            return False
        return start.second_rule != UNTIL_PROVED or not (self.proof or self.energised)

    @property
    def asks_proof(self) -> bool:
        """Whether readings have to be taken before anything else."""
        start = self.start
        return bool(start and start.proving is not Proving.NOTHING and not self.energised and self.proof is None)

    @property
    def busy(self) -> frozenset[str]:
        """Everybody who is on this job now and so on no other."""
        if self.start is None or self.over is not None:
            return frozenset()
        named = {self.start.lead, self.start.second, self.start.supervisor} | {lock.person for lock in self.locks}
        return frozenset(named - {""})

    def lock_of(self, person: str) -> OwnLock | None:
        """This person's lock, if it is on."""
        return next((lock for lock in self.locks if lock.person == person), None)


def state_of(events: Iterable[Event]) -> Running:
    """Where the job stands after all of these."""
    return reduce(_after, sorted(events, key=lambda event: event.record), Running())


def state_at(events: Iterable[Event], at: datetime) -> Running:
    """Where the job stood at a moment."""
    return state_of(event for event in events if event.at <= at)


def _after(state: Running, event: Event) -> Running:
    return _FOLDS[type(event)](state, event)


# ---------------------------------------------------------------- one event after another
def _started(state: Running, event: Started) -> Running:
    named = tuple(key for key in (event.lead, event.second, event.supervisor) if key)
    return replace(
        _voided(state),
        start=event,
        people=_with(state.people, *named),
        workers=state.workers | {event.lead},
        away=state.away - set(named),
        stops=(),
        earlier_v={},
        offered_to="",
    )


def _stepped(state: Running, event: Stepped) -> Running:
    return _STEPS[event.step](state, event)


def _lock_on(state: Running, event: Stepped) -> Running:
    lock = OwnLock(person=event.person, number=event.says, since=event.at)
    others = tuple(each for each in state.locks if each.person != event.person)
    return replace(
        state,
        locks=(*others, lock),
        people=_with(state.people, event.person),
        workers=state.workers | {event.person},
        isolated=True,
        back=HandBack(),
    )


def _lock_off(state: Running, event: Stepped) -> Running:
    return replace(state, locks=_without(state.locks, event.person))


def _away(state: Running, event: Stepped) -> Running:
    """A worker's absence voids the readings; the second person's ends the work while they are needed."""
    left_alone = _second_leaves(state, event.person)
    gone = replace(state, away=state.away | {event.person})
    if event.person in state.workers | {state.start.supervisor if state.start else ""}:
        gone = _voided(gone)
    return _stop(gone, _SECOND_LEFT) if left_alone else gone


def _second_leaves(state: Running, person: str) -> bool:
    start = state.start
    return bool(start and state.asks_second and person == start.second and start.lead not in state.away)


def _back(state: Running, event: Stepped) -> Running:
    return replace(state, away=state.away - {event.person}, back=HandBack())


def _offered(state: Running, event: Stepped) -> Running:
    return replace(state, offered_to=event.person)


def _stopped(state: Running, event: Stepped) -> Running:
    return _stop(state, because("stopped", "Stopped: {why}", _PRACTICE, why=event.says))


def _warned(state: Running, event: Stepped) -> Running:
    return replace(state, back=replace(state.back, warned=True))


def _energised(state: Running, event: Stepped) -> Running:
    return replace(state, energised=True)


def _label_off(state: Running, event: Stepped) -> Running:
    return replace(state, label_off=True)


def _told(state: Running, event: Stepped) -> Running:
    return replace(state, to_tell=state.to_tell - {event.person})


def _measured(state: Running, event: Measured) -> Running:
    """A full round holds; an unexpected reading ends the work, save where it goes on under voltage by order."""
    start = state.start
    if start is None:
        return state
    read = replace(state, earlier_v={**state.earlier_v, **event.readings.read_v})
    if start.proving is Proving.READINGS:
        return replace(read, proof=None if not_read(event.readings, start.points) else event, had_proof=True)
    for reason in unexpected(event.readings, state.earlier_v):
        read = _stop(read, reason)
    holds = not read.stops and not not_dead(event.readings, start.points)
    return replace(read, proof=event if holds else None, had_proof=state.had_proof or holds)


def _counted(state: Running, event: Counted) -> Running:
    return replace(state, back=replace(state.back, counted=event))


def _insulation(state: Running, event: InsulationRead) -> Running:
    """A value below the maker's figure ends the work."""
    if judge_part(event.measured_ohm, event.maker_ohm) is PartVerdict.PASSES:
        return replace(state, back=replace(state.back, insulation=event))
    text = "Insulation {measured} ohm is below the maker's figure of {asked} ohm."
    low = because(
        "insulation_low", text, "the vehicle maker's value", measured=event.measured_ohm, asked=event.maker_ohm
    )
    return _stop(state, low)


def _removal_asked(state: Running, event: RemovalAsked) -> Running:
    return replace(state, removal=event)


def _removed(state: Running, event: Removed) -> Running:
    return replace(
        _voided(state),
        locks=_without(state.locks, event.owner),
        to_tell=state.to_tell | {event.owner},
        removal=None,
    )


def _ended(state: Running, event: Ended) -> Running:
    return replace(state, over=event)


def _unreadable(state: Running, event: Unreadable) -> Running:
    return replace(_voided(state), unreadable=(*state.unreadable, event.record))


def _stop(state: Running, reason: Reason) -> Running:
    return replace(_voided(state), stops=(*state.stops, reason))


def _voided(state: Running) -> Running:
    """Readings hold no longer, and handing back begins anew."""
    return replace(state, proof=None, had_proof=state.had_proof or state.proof is not None, back=HandBack())


def _with(people: tuple[str, ...], *more: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*people, *more)))


def _without(locks: tuple[OwnLock, ...], person: str) -> tuple[OwnLock, ...]:
    return tuple(lock for lock in locks if lock.person != person)


_SECOND_LEFT: Final = because("second_left", "The second person left: work stops.", _PRACTICE)
_STEPS: Final[Mapping[Step, Callable[[Running, Stepped], Running]]] = {
    Step.LOCK_ON: _lock_on,
    Step.LOCK_OFF: _lock_off,
    Step.AWAY: _away,
    Step.BACK: _back,
    Step.OFFERED: _offered,
    Step.STOPPED: _stopped,
    Step.WARNED: _warned,
    Step.ENERGISED: _energised,
    Step.LABEL_OFF: _label_off,
    Step.TOLD: _told,
}
_FOLDS: Final[Mapping[type[Event], Callable[[Running, Any], Running]]] = {
    Started: _started,
    Stepped: _stepped,
    Measured: _measured,
    Counted: _counted,
    InsulationRead: _insulation,
    RemovalAsked: _removal_asked,
    Removed: _removed,
    Ended: _ended,
    Unreadable: _unreadable,
}
