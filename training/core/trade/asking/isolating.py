"""Asking about an isolation: secured, waited, tester proved, and every point at or under the maker's value."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from training.core.trade import isolation, meters
from training.core.trade.asking.answer import Answer, Gives, Kind, against, attempted, figure_or_none, without_none
from training.core.trade.asking.fields import (
    Field,
    Values,
    amount,
    objects,
    one_of,
    optional,
    or_null,
    some_of,
    spare,
    yes_no,
)
from training.core.trade.errors import Contradiction, MakerValueMissing
from training.core.trade.isolation import MakerDead, Reading
from training.core.trade.meters import TestPoint
from training.core.trade.reasons import Reason, because, unknown

POINTS: Final = {str(point): point for point in meters.points_to_test(ac_side=True, pack_work=True)}
_ORDER: Final = "EN 50110-1: disconnect, secure, verify; common practice of the trade"
_SECURE: Final = "EN 50110-1: secure against re-connection; HSE guidance on electric vehicles"
_MEANS: Final = "29 CFR 1910.333(b)(2)(ii), as a benchmark"
_MAKER: Final = "the vehicle maker's procedure"
_PROVING: Final = "HSE GS38; HSG85"
_WAKES: Final = "common practice of the trade, no source"


def _isolation(values: Values) -> Answer:
    points = meters.points_to_test(ac_side=values["ac_side"], pack_work=values["pack_work"])
    readings = _readings(values["readings"])
    reasons = (
        *against("securing", _securing_reasons(values)),
        *against("order", _order_reasons(values["done"])),
        *against("wait", attempted(_MAKER, lambda: _wait_reasons(values))),
        *against("proving", attempted(_MAKER, lambda: _dead_reasons(values, points, readings))),
    )
    return Answer(
        ok=not reasons,
        verdict="not proved dead: treat as live" if reasons else "proved dead at the points named, at these readings",
        figures=_figures(values, points, readings),
        reasons=reasons,
        sources=(_ORDER, _SECURE, _PROVING, _MAKER),
        not_judged=(
            "pack terminals, plug socket, junction box before the contactors and inside of the pack: these stay live",
            "anything after the first absence from the bay: prove again",
        ),
    )


def _readings(rows: tuple[dict[str, Any], ...]) -> dict[TestPoint, dict[str, Any]]:
    found = {POINTS[row["point"]]: row for row in rows}
    if len(found) < len(rows):
        raise Contradiction("A point stands twice among the readings", "Give each point once, with its last reading")
    return found


def _securing_reasons(values: Values) -> Iterator[Reason]:
    means, wake_sources_off = values["means"], values["wake_sources_off"]
    if means is None:
        yield unknown("means", "What opened the HV circuit is not known.", _MEANS)
    elif not isolation.isolates(means):
        yield because("not_isolated", "{means}: this does not open the HV circuit for work.", _MEANS, means=means)
    names = ("all_keys_accounted_for", "keys_locked_away", "keys_held_by_the_worker")
    counted, locked, held = (values[name] is True for name in names)
    if not isolation.keys_controlled(all_accounted_for=counted, locked_away=locked, held_by_the_worker=held):
        text = "Not all keys are known to be accounted for, locked away and held by the one who works."
        yield because("keys", text, _SECURE)
    if wake_sources_off is None:
        yield unknown("wake_sources", "What can still wake the vehicle is not known.", _WAKES)
    elif left := isolation.wake_sources_left(wake_sources_off):
        yield because("may_wake", "This can still wake the vehicle: {left}.", _WAKES, left=", ".join(left))


def _order_reasons(done: tuple[str, ...] | None) -> Iterator[Reason]:
    if done is None:
        yield unknown("steps", "Which steps were done is not known.", _ORDER)
    elif not isolation.steps_in_order(done):
        missing = [step for step in isolation.ISOLATION_STEPS if step not in done]
        text = "Not done: {missing}." if missing else "The steps were not done in their order, each once."
        yield because("steps", text, _ORDER, missing=", ".join(missing))


def _wait_reasons(values: Values) -> Iterator[Reason]:
    left_s = isolation.wait_left_s(values["waited_s"], values["maker_wait_s"])
    if left_s > 0:
        yield because("wait_not_over", "{left} s of the maker's wait are left.", _MAKER, left=left_s)


def _maker(values: Values) -> MakerDead:
    return MakerDead(dc_v=values["maker_dead_dc_v"], ac_v=values["maker_dead_ac_v"])


def _answer_at(point: TestPoint, row: dict[str, Any], maker: MakerDead) -> Reading:
    return isolation.read_point(row["reading_v"], point.current, maker, row["earlier_v"])


def _said_at(point: TestPoint, row: dict[str, Any], maker: MakerDead) -> str | None:
    try:
        return _answer_at(point, row, maker).value
    except MakerValueMissing:
        return None


def _dead_reasons(
    values: Values, points: tuple[TestPoint, ...], readings: dict[TestPoint, dict[str, Any]]
) -> Iterator[Reason]:
    maker = _maker(values)
    readings_v = {point: row["reading_v"] for point, row in readings.items()}
    found = isolation.not_proved_dead(points, readings_v, maker, values["tests"])
    stuck = {
        str(point) for point, row in readings.items() if _answer_at(point, row, maker) is Reading.NOT_FALLING
    }  # a reading that does not fall is not waited for any longer
    yield from (reason for reason in found if dict(reason.values).get("point") not in stuck)
    for point in sorted(stuck):
        yield because("not_falling", "{point} does not fall: stop and ask.", _MAKER, point=point)


def _figures(
    values: Values, points: tuple[TestPoint, ...], readings: dict[TestPoint, dict[str, Any]]
) -> dict[str, Any]:
    maker = _maker(values)
    answers = {str(point): _said_at(point, row, maker) for point, row in readings.items()}
    figures = {
        "wait_left_s": figure_or_none(lambda: isolation.wait_left_s(values["waited_s"], values["maker_wait_s"])),
        "points_to_measure": [str(point) for point in points],
        "readings_say": {point: said for point, said in answers.items() if said is not None},
    }
    return without_none(figures)


_READING: Final[tuple[Field, ...]] = (
    one_of("point", POINTS, "the pair measured"),
    amount("reading_v", "V", "what the tester showed; the sign does not matter", "any"),
    spare(amount("earlier_v", "V", "what it showed there before", "any"), "no earlier reading"),
)

ISOLATION: Final = Kind(
    name="isolation",
    asks="Was this vehicle's HV system isolated, and is every point proved dead by the maker's own value?",
    takes=(
        or_null(
            amount("maker_dead_dc_v", "V DC", "at or under this the maker calls a DC point dead; null: no verdict")
        ),
        spare(
            amount("maker_dead_ac_v", "V AC", "at or under this the maker calls an AC point dead"),
            "no verdict on AC points",
        ),
        or_null(amount("maker_wait_s", "s", "the maker's wait after the disconnect; null: no isolation job")),
        amount("waited_s", "s", "time waited, by the clock", "0 or more"),
        yes_no("ac_side", "the job is on AC points too"),
        yes_no("pack_work", "the job is on the pack: its outlet is measured too, a welded contactor shows only there"),
        some_of("tests", ("prove", "test"), "the order in which the tester was proved and used"),
        objects("readings", _READING, "what was measured, each pair once"),
        *optional(
            one_of("means", isolation.ISOLATES, "what opened the HV circuit"),
            yes_no("all_keys_accounted_for", "every key, card and phone key is accounted for"),
            yes_no("keys_locked_away", "all of them are locked away"),
            yes_no("keys_held_by_the_worker", "the one who works holds the key of that lock"),
            some_of("wake_sources_off", isolation.WAKE_SOURCES, "what can no longer wake the vehicle"),
            some_of("done", isolation.ISOLATION_STEPS, "steps done, in the order in which they were done"),
        ),
    ),
    gives=(
        Gives("wait_left_s", "s", "what is left of the maker's wait"),
        Gives("points_to_measure", "pairs", "every pair that this job asks for"),
        Gives("readings_say", "answer at each pair", "dead here, wait, stop and ask, or live"),
    ),
    verdict_name="ok",
    example="""{"maker_dead_dc_v": 12, "maker_wait_s": 600, "waited_s": 660, "ac_side": false, "pack_work": false,
        "tests": ["prove", "test", "test", "test", "prove"],
        "readings": [{"point": "HV+ to HV-, vehicle side", "reading_v": 38, "earlier_v": 38},
            {"point": "HV+ to body, vehicle side", "reading_v": 0.4},
            {"point": "HV- to body, vehicle side", "reading_v": 0.2}],
        "means": "service plug", "all_keys_accounted_for": true, "keys_locked_away": true,
        "keys_held_by_the_worker": true,
        "wake_sources_off": ["keys and cards", "phone key and app", "charge plug and charge timer", "pre-conditioning",
            "pack conditioning", "12 V top-up", "updates"],
        "done": ["maker's procedure open", "bay cordoned, second person placed", "charge plug out, wheels chocked",
            "fault codes and contactor-weld flag read", "off, all keys locked away", "12 V off as told",
            "gloves proved, visor on", "HV disconnect open, own lock on", "maker's wait by the clock", "tester proved",
            "every pair measured", "tester proved again", "outlets capped", "dead points named, label and record"]}""",
    answer=_isolation,
)
