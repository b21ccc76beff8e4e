"""Fitness of a pair of rubber gloves: class, test dates, events since the test, what was seen, protectors."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import ClassVar, Final

from training.core.trade import gloves, limits
from training.core.trade.checks import plain_date
from training.core.trade.fitness.job import Job, KitItem
from training.core.trade.reasons import Reason, because, unknown

_TEST: Final = limits.GLOVE_IN_SERVICE_MONTHS.cite
_RETEST: Final = "29 CFR 1910.137(c)(2)(viii)"
_REJECT: Final = "29 CFR 1910.137(c)(2)(iii)-(iv)"
_PROTECTORS: Final = "29 CFR 1910.137(c)(2)(vii); house rule: never without protectors"


@dataclass(frozen=True, slots=True, kw_only=True)
class GlovePair(KitItem):
    """A pair, as registered. ``tested_on`` is the last electrical test; ``issued_on`` the first issue ever.

    ``events`` are (what, when) of RETEST_TRIGGERS and ``flags`` of REJECT_FLAGS, both as known since the last test:
    None = nobody has said, () = none. ``composite`` gloves need no leather protectors (not under US rules).
    """

    kind: ClassVar[str] = "gloves"

    glove_class: str | None = None
    tested_on: date | None = None
    last_test_passed: bool | None = None
    issued_on: date | None = None
    events: tuple[tuple[gloves.RetestTrigger, date], ...] | None = None
    flags: tuple[str, ...] | None = None
    has_protectors: bool | None = None
    cuff_gap_mm: float | None = None
    composite: bool = False


def class_reasons(pair: GlovePair, job: Job, on: date) -> Iterator[Reason]:
    """The class reaches the highest voltage, and the shop floor."""
    source = limits.GLOVE_DC_V["0"].cite
    if pair.glove_class is None:
        yield unknown("glove_class", "The glove class is not known or not legible.", "29 CFR 1910.137(a)(1)")
        return
    has = pair.glove_class
    needed = gloves.class_needed(*job.voltages_v, job.house.glove_floor)
    if not gloves.at_least(has, needed):
        yield because(
            "class_too_low", "Class {has} is too low: this job asks for {needed}.", source, has=has, needed=needed
        )


def date_reasons(pair: GlovePair, job: Job, on: date) -> Iterator[Reason]:
    """In service within its electrical test, counted from issue AND from test."""
    if pair.tested_on is None or pair.issued_on is None:
        yield unknown("glove_dates", "The date of its last electrical test or of its first issue is not known.", _TEST)
        return
    limit = gloves.due(pair.tested_on, pair.issued_on, job.house.glove_due_rule)
    if plain_date(on, "the day of the job") >= limit:
        yield because("glove_test_out", "Out of date: usable only before {limit}.", _TEST, limit=limit)
    if on < max(pair.tested_on, pair.issued_on):
        yield because("glove_dates_in_future", "Its test or its issue is dated after the job.", _TEST)


def passed_reasons(pair: GlovePair, job: Job, on: date) -> Iterator[Reason]:
    """Passed its last electrical test."""
    if pair.last_test_passed is None:
        yield unknown("glove_test", "Whether it passed its last electrical test is not known.", _RETEST)
    elif pair.last_test_passed is not True:
        yield because("glove_test_failed", "It failed its last electrical test.", _RETEST)


def event_reasons(pair: GlovePair, job: Job, on: date) -> Iterator[Reason]:
    """Nothing has happened since the last test that asks for a new one."""
    if pair.events is None:
        yield unknown("glove_events", "Whether anything happened to it since its test is not known.", _RETEST)
    elif pair.tested_on is not None and gloves.needs_retest(pair.events, pair.tested_on):
        yield because("retest_required", "Suspect, repaired or used without protectors: retest before use.", _RETEST)


def flag_reasons(pair: GlovePair, job: Job, on: date) -> Iterator[Reason]:
    """Nothing was seen on it that takes it out of use."""
    if pair.flags is None:
        yield unknown("glove_look", "What was seen at the last inspection is not known.", _REJECT)
    elif gloves.must_leave_service(pair.flags):
        seen = ", ".join(pair.flags)
        yield because(
            "rejected", "Seen on it: {seen}. Take it out of service and send it for testing.", _REJECT, seen=seen
        )


def protector_reasons(pair: GlovePair, job: Job, on: date) -> Iterator[Reason]:
    """Leather protectors that end far enough below the rubber cuff, or a composite glove where that is the rule."""
    if pair.composite is True and job.regime in ("EU", "DE", "UK"):
        return
    if pair.has_protectors is not True:
        yield because("no_protectors", "There are no leather protectors with it.", _PROTECTORS)
    elif pair.cuff_gap_mm is None:
        yield unknown(
            "cuff_gap", "How far the protector's cuff stands below the rubber cuff is not known.", _PROTECTORS
        )
    elif pair.glove_class and not gloves.cuff_gap_ok(pair.glove_class, pair.cuff_gap_mm, job.house.cuff_gap_mm):
        source = limits.CUFF_MM[pair.glove_class].cite
        yield because("cuff_gap", "The cuff gap of {gap_mm} mm is too small.", source, gap_mm=float(pair.cuff_gap_mm))


RULES: Final = (class_reasons, date_reasons, passed_reasons, event_reasons, flag_reasons, protector_reasons)
