"""Records of a job as events of its fold; what cannot be read is an event of its own, and blocks."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any, Final

from training.board import facts
from training.core.permission.proving import ProvedTester, Proving, Readings
from training.core.permission.running import (
    Counted,
    Ended,
    Event,
    InsulationRead,
    Measured,
    RemovalAsked,
    Removed,
    Started,
    Step,
    Stepped,
    Unreadable,
)
from training.core.trade.isolation import MakerDead
from training.core.trade.meters import TestPoint, points_to_test
from training.records.facts import Fact
from training.records.queries import Written

PLANNED: Final[tuple[type[Fact], ...]] = (facts.JobPlanned, facts.CrewNamed)
WORKED: Final[tuple[type[Fact], ...]] = (
    facts.WorkStarted,
    facts.JobStep,
    facts.PointsMeasured,
    facts.JobCounted,
    facts.InsulationTyped,
    facts.LockRemovalAsked,
    facts.LockRemoved,
    facts.JobClosed,
    facts.JobCalledOff,
)
NOTED: Final[tuple[type[Fact], ...]] = (facts.StopRead,)  # moves nothing: it only says that somebody knows
ENDS: Final = (facts.JobClosed.kind, facts.JobCalledOff.kind)


def event_of(row: Written[Fact]) -> Event | None:
    """The event that a record is; None for one that only plans, or only says that somebody knows."""
    if row.fact is None:
        return _unreadable(row)
    if isinstance(row.fact, PLANNED + NOTED):
        return None
    try:
        return read_event(row.fact, record=row.number, at=row.happened_at)
    except (ValueError, KeyError):
        return _unreadable(row)


def read_event(fact: Any, *, at: datetime, record: int = 0) -> Event:
    """A fact about a job as an event, written or about to be. ValueError or KeyError for words that nobody knows."""
    return _EVENTS[type(fact)](fact, {"record": record, "at": at, "by": fact.by})


def _unreadable(row: Written[Fact]) -> Event:
    """What ends a job ends it even when its words are gone: the kind stands in the sealed envelope."""
    if row.kind in ENDS:
        closed = row.kind == facts.JobClosed.kind
        return Ended(record=row.number, at=row.happened_at, by="", closed=closed, says="?")
    return Unreadable(record=row.number, at=row.happened_at, by="")


def number_text(value: float | None) -> str:
    """A figure for a record: the shortest text that reads back as the same number; "" for none."""
    return "" if value is None else repr(float(value))


def number_from(text: str) -> float | None:
    """The figure of a record; ValueError for text that is none."""
    value = float(text) if text else None
    if value is not None and not math.isfinite(value):
        raise ValueError(f"{text!r} is no figure")
    return value


def _known(text: str) -> float:
    value = number_from(text)
    if value is None:
        raise ValueError("no figure was typed")
    return value


Stamp = dict[str, Any]


def _started(fact: facts.WorkStarted, stamp: Stamp) -> Started:
    return Started(
        lead=fact.lead,
        second=fact.second_person,
        supervisor=fact.supervisor,
        second_rule=fact.second_rule,
        proving=Proving(fact.proving),
        planned_end=fact.planned_end,
        points=points_to_test(ac_side=fact.ac_points, pack_work=fact.pack_work),
        **stamp,
    )


def _stepped(fact: facts.JobStep, stamp: Stamp) -> Stepped:
    return Stepped(step=Step(fact.step), person=fact.person, says=fact.says, **stamp)


def _measured(fact: facts.PointsMeasured, stamp: Stamp) -> Measured:
    pairs = [(_point(pair), number_from(pair.read_v)) for pair in fact.pairs]
    readings = Readings(
        instrument=fact.instrument,
        testers=tuple(_tester(tried) for tried in fact.testers),
        read_v={point: volts for point, volts in pairs if volts is not None},
        maker=MakerDead(dc_v=number_from(fact.maker_dc_v), ac_v=number_from(fact.maker_ac_v)),
        maker_wait_min=number_from(fact.maker_wait_min),
        waited_min=number_from(fact.waited_min),
    )
    return Measured(readings=readings, **stamp)


def _tester(fact: facts.SourceTried) -> ProvedTester:
    return ProvedTester(
        current=_word(fact.current, ("DC", "AC")),
        source=fact.source,
        source_v=number_from(fact.source_v),
        before_v=number_from(fact.before_v),
        after_v=number_from(fact.after_v),
        by_procedure=fact.by_procedure,
    )


def _point(fact: facts.PairRead) -> TestPoint:
    side, current = _word(fact.side, ("vehicle", "pack")), _word(fact.current, ("DC", "AC"))
    return TestPoint(side, current, fact.first, fact.second)


def _word(word: str, known: tuple[str, ...]) -> Any:
    if word not in known:
        raise ValueError(f"{word!r} is none of {known}")
    return word


def _counted(fact: facts.JobCounted, stamp: Stamp) -> Counted:
    return Counted(
        tools_out=fact.tools_out,
        tools_back=fact.tools_back,
        people_clear=fact.people_clear,
        refitted=fact.refitted,
        **stamp,
    )


def _insulation(fact: facts.InsulationTyped, stamp: Stamp) -> InsulationRead:
    measured, maker = _known(fact.measured_ohm), _known(fact.maker_ohm)
    if measured < 0 or maker <= 0:
        raise ValueError("a resistance is above 0")
    return InsulationRead(measured_ohm=measured, maker_ohm=maker, instrument=fact.instrument, **stamp)


def _removal_asked(fact: facts.LockRemovalAsked, stamp: Stamp) -> RemovalAsked:
    return RemovalAsked(
        owner=fact.owner,
        certain=fact.certain,
        tried=fact.tried,
        tells=fact.tells,
        by_manager=fact.by_manager,
        **stamp,
    )


def _removed(fact: facts.LockRemoved, stamp: Stamp) -> Removed:
    return Removed(owner=fact.owner, **stamp)


def _closed(fact: facts.JobClosed, stamp: Stamp) -> Ended:
    return Ended(closed=True, says=fact.handed_to, **stamp)


def _called_off(fact: facts.JobCalledOff, stamp: Stamp) -> Ended:
    return Ended(closed=False, says=fact.why, **stamp)


_EVENTS: Final[Mapping[type[Fact], Callable[[Any, Stamp], Event]]] = {
    facts.WorkStarted: _started,
    facts.JobStep: _stepped,
    facts.PointsMeasured: _measured,
    facts.JobCounted: _counted,
    facts.InsulationTyped: _insulation,
    facts.LockRemovalAsked: _removal_asked,
    facts.LockRemoved: _removed,
    facts.JobClosed: _closed,
    facts.JobCalledOff: _called_off,
}
