"""Readings typed for every pair: is the tester proved before and after, every point measured, anything unexpected?

Only numbers count; a tick proves nothing. A verdict is about these points at this time, never about the vehicle.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from training.core.permission.rule_book import AtStart
from training.core.trade.errors import BadInput
from training.core.trade.fitness import Job
from training.core.trade.isolation import MakerDead, Reading, not_proved_dead, read_point, wait_left_s
from training.core.trade.meters import Current, Proof, Step, TestPoint, live_dead_live, proving_source
from training.core.trade.reasons import Reason, because, refused

SOURCE_TOLERANCE: Final = 0.1  # how far the tester may be off the known source; common practice of the trade, no source
_GS38: Final = "HSE GS38; HSG85"
_MAKER: Final = "the vehicle maker's value"


class Proving(StrEnum):
    """What a job asks for before hands go near: nothing, proved dead, or readings where work goes on under voltage."""

    NOTHING = "nothing"
    DEAD = "dead"
    READINGS = "readings"


def proving_of(at_start: AtStart) -> Proving:
    """What a job type asks for: with a proving unit in hand it is proved dead, unless work under voltage is ordered."""
    if "proving unit" not in at_start.kit_kinds:
        return Proving.NOTHING
    return Proving.READINGS if at_start.live_work_order else Proving.DEAD


def is_pack_work(job: Job) -> bool:
    """Whether the pack's own outlet is measured too; where the hands will be and is not said, it is."""
    return job.pack_kg is not None or job.point_of_work not in ("vehicle side", "not at HV")


@dataclass(frozen=True, slots=True, kw_only=True)
class ProvedTester:
    """The tester on a known source, for one kind of voltage; None: nothing was typed."""

    current: Current
    source: str
    source_v: float | None = None
    before_v: float | None = None
    after_v: float | None = None
    by_procedure: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """One round of measuring as it was typed: the tester, each pair in V, the maker's values, minutes waited."""

    instrument: str
    testers: tuple[ProvedTester, ...]
    read_v: Mapping[TestPoint, float]
    maker: MakerDead = MakerDead()
    maker_wait_min: float | None = None
    waited_min: float | None = None


def not_dead(readings: Readings, points: Sequence[TestPoint]) -> tuple[Reason, ...]:
    """Why these points are not proved dead; empty when they are, at these points and at this time."""
    found = [*_instrument(readings), *_waited(readings)]
    for current in _currents(points):
        of_kind = [point for point in points if point.current == current]
        found += _tester(readings, current)
        try:
            found += not_proved_dead(of_kind, readings.read_v, readings.maker, _steps(readings, current, len(of_kind)))
        except BadInput as problem:
            found.append(refused(problem, _MAKER))
    return tuple(dict.fromkeys(found)) if points else (because("no_points", "No point is named.", _GS38),)


def not_read(readings: Readings, points: Sequence[TestPoint]) -> tuple[Reason, ...]:
    """Why this is no full round of readings, whatever they say: for work that goes on under voltage."""
    found = [*_instrument(readings)]
    for current in _currents(points):
        found += _tester(readings, current)
        of_kind = [point for point in points if point.current == current]
        if not live_dead_live(_steps(readings, current, len(of_kind))):
            text = "The tester was not proved before and after: everything measured is void."
            found.append(because("not_live_dead_live", text, _GS38))
    missing = [point for point in points if point not in readings.read_v]
    found += [because("not_measured", "{point} was not measured.", _GS38, point=point) for point in missing]
    return tuple(dict.fromkeys(found))


def unexpected(readings: Readings, earlier_v: Mapping[TestPoint, float]) -> tuple[Reason, ...]:
    """Readings that end the work: live, or above the maker's value and not falling since the round before."""
    found = []
    for point, volts in readings.read_v.items():
        try:
            answer = read_point(volts, point.current, readings.maker, earlier_v.get(point))
        except BadInput:  # without the maker's value there is no verdict at all, and nothing is proved
            continue
        if answer in (Reading.NOT_FALLING, Reading.LIVE):
            text = "{point} reads {volts} V: {answer}."
            found.append(because("unexpected_reading", text, _MAKER, point=point, volts=volts, answer=answer.value))
    return tuple(found)


def _currents(points: Iterable[TestPoint]) -> tuple[Current, ...]:
    return tuple(dict.fromkeys(point.current for point in points))


def _instrument(readings: Readings) -> Iterator[Reason]:
    if not readings.instrument.strip():
        yield because("no_instrument", "It is not said with which instrument.", _GS38)


def _waited(readings: Readings) -> Iterator[Reason]:
    """The maker's wait by the clock, since the disconnect was locked."""
    try:
        left_s = wait_left_s((readings.waited_min or 0.0) * 60, _seconds(readings.maker_wait_min))
    except BadInput as problem:
        yield refused(problem, _MAKER)
        return
    if left_s > 0:
        text = "The maker's wait is not over: {minutes} min since the lock went on, {asked} min are asked for."
        asked, waited = float(readings.maker_wait_min or 0), float(int(readings.waited_min or 0))
        yield because("still_to_wait", text, _MAKER, minutes=waited, asked=asked)


def _seconds(minutes: float | None) -> float | None:
    return None if minutes is None else minutes * 60


def _tester(readings: Readings, current: Current) -> Iterator[Reason]:
    """Why the tester is not proved for this kind of voltage, beyond the order."""
    tester = _of(readings, current)
    if tester is None:
        return  # the order says it
    try:
        proof = proving_source(tester.source, tester.current, current, tester.by_procedure)
    except BadInput as problem:
        yield refused(problem, _GS38)
        return
    if proof is not Proof.PROVES:
        text = "The tester was tried on this source: {tried_on}. It {proof}."
        yield because("source_does_not_prove", text, _GS38, tried_on=tester.source, proof=proof.value)
    for shown_v, when in ((tester.before_v, "before"), (tester.after_v, "after")):
        if shown_v is not None and not _near(shown_v, tester.source_v):
            text = "{current}: {when} measuring the tester showed {shown} V on a source of {gives} V."
            gives = "?" if tester.source_v is None else f"{tester.source_v:g}"
            yield because("tester_off", text, _GS38, current=current, shown=shown_v, when=when, gives=gives)


def _steps(readings: Readings, current: Current, tests: int) -> list[Step]:
    """The steps that the typed figures show: a proof is one only where the tester showed what the source gives."""
    tester = _of(readings, current)
    tested: list[Step] = ["test"] * tests
    if tester is None or _of_no_use(tester):
        return tested
    before: list[Step] = ["prove"] if _near(tester.before_v, tester.source_v) else []
    after: list[Step] = ["prove"] if _near(tester.after_v, tester.source_v) else []
    return [*before, *tested, *after]


def _of_no_use(tester: ProvedTester) -> bool:
    try:
        return proving_source(tester.source, tester.current, tester.current, tester.by_procedure) is not Proof.PROVES
    except BadInput:
        return True


def _of(readings: Readings, current: Current) -> ProvedTester | None:
    return next((one for one in readings.testers if one.current == current), None)


def _near(shown_v: float | None, source_v: float | None) -> bool:
    if shown_v is None or source_v is None or not source_v > 0:
        return False
    return abs(abs(shown_v) - source_v) <= SOURCE_TOLERANCE * source_v
