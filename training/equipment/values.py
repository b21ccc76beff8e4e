"""From label and facts to the value that ``core.trade.fitness`` judges. What nobody has entered stays unknown."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final, cast

from training.core.trade import fitness
from training.core.trade.fitness import Kit
from training.core.trade.gloves import RetestTrigger
from training.equipment.facts import KitChecked, KitIssued, KitNoted, KitTested
from training.equipment.label_parts import TESTS, Label
from training.records.queries import Written


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """What is on record of one item, each in the order in which it was written."""

    tests: tuple[Written[KitTested], ...] = ()
    issues: tuple[Written[KitIssued], ...] = ()
    notes: tuple[Written[KitNoted], ...] = ()
    checks: tuple[Written[KitChecked], ...] = ()

    def newest_test(self, test: str) -> KitTested | None:
        """The newest test of this name by its own day, passed or not; the later record of two on one day."""
        found = [row for row in self.tests if row.fact is not None and row.fact.test == test]
        newest = max(found, key=lambda row: (row.fact.tested_on if row.fact else date.min, row.number), default=None)
        return newest.fact if newest else None

    def last_passed_on(self, test: str) -> date | None:
        """The day of the newest test of this name that was passed."""
        days = [
            row.fact.tested_on for row in self.tests if row.fact and row.fact.test == test and row.fact.passed is True
        ]
        return max(days, default=None)

    def first_issued_on(self) -> date | None:
        """The day of first issue; a later one never starts the clock again."""
        return min((row.fact.issued_on for row in self.issues if row.fact), default=None)

    def suspect_on(self, test: str) -> tuple[date, ...]:
        """The days of notes and failed checks that no passed test on a later day has answered."""
        passed_on = self.last_passed_on(test)
        noted = [row.fact.noted_on for row in self.notes if row.fact]
        failed = [row.fact.checked_on for row in self.checks if row.fact and row.fact.passed is not True]
        return tuple(sorted(day for day in (*noted, *failed) if passed_on is None or day >= passed_on))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Known:
    """What the history comes to. ``looked_at``: passed a test or a pre-use check; None when nobody has said."""

    passed_on: date | None
    issued_on: date | None
    last_test_passed: bool | None
    suspect_on: tuple[date, ...]
    whole: bool | None

    @property
    def damaged(self) -> bool | None:
        """As the core asks it."""
        return None if self.whole is None else not self.whole


def kit_value(kind: str, name: str, label: Label, history: History, *, in_service: bool | None) -> Kit:
    """The item as the core sees it; for a kind that nobody knows a bare item, which is never fit."""
    make = _MAKERS.get(kind)
    if make is None:
        return cast(Kit, fitness.KitItem(name=name, in_service=None))
    known = _known(kind, history)
    return make(label, known)(name=name, in_service=_in_service(kind, in_service, known))


def _known(kind: str, history: History) -> _Known:
    test = TESTS[kind]
    newest, passed_on, suspect_on = history.newest_test(test), history.last_passed_on(test), history.suspect_on(test)
    seen = passed_on is not None or any(row.fact and row.fact.passed is True for row in history.checks)
    failed = bool(suspect_on) or (newest is not None and newest.passed is not True)
    return _Known(
        passed_on=passed_on,
        issued_on=history.first_issued_on(),
        last_test_passed=None if newest is None else newest.passed,
        suspect_on=suspect_on,
        whole=False if failed else (True if seen else None),
    )


# kinds whose rule in the core asks neither for damage nor for whether it works: suspect means out of service
_JUST_IN_SERVICE: Final = frozenset({"lock", "lift table"})


def _in_service(kind: str, in_service: bool | None, known: _Known) -> bool | None:
    if kind in _JUST_IN_SERVICE and known.whole is False:
        return False
    return in_service


Made = Callable[..., Kit]


def _made(shape: type[Any], **values: object) -> Made:
    return lambda **common: cast(Kit, shape(**common, **values))


def _gloves(label: Label, known: _Known) -> Made:
    suspect: RetestTrigger = "suspect"
    return _made(
        fitness.GlovePair,
        glove_class=label.get("class"),
        tested_on=known.passed_on,
        last_test_passed=known.last_test_passed,
        issued_on=known.issued_on,
        events=tuple((suspect, day) for day in known.suspect_on),
        flags=None if known.whole is None else (),
        has_protectors=label.get("protectors"),
        cuff_gap_mm=label.get("cuff_gap_mm"),
        composite=label.get("composite") is True,
    )


def _measuring(shape: type[Any], *more: str) -> Callable[[Label, _Known], Made]:
    def make(label: Label, known: _Known) -> Made:
        values = {name: _frozen(label.get(name)) for name in ("category", "rated_v", *more)}
        if shape is not fitness.Leads:
            values["calibrated_on"] = known.passed_on
        return _made(shape, damaged=known.damaged, **values)

    return make


_MAKERS: Final[Mapping[str, Callable[[Label, _Known], Made]]] = {
    "gloves": _gloves,
    "meter": _measuring(fitness.Meter),
    "leads": _measuring(fitness.Leads, "bare_tip_mm"),
    "insulation tester": _measuring(fitness.InsulationTester, "test_voltages_v"),
    "proving unit": lambda label, known: _made(
        fitness.ProvingUnit, source=label.get("source"), gives=_frozen(label.get("gives")), works=known.whole
    ),
    "insulated tools": lambda label, known: _made(
        fitness.InsulatedTools, marks=_frozen(label.get("marks")), damaged=known.damaged
    ),
    "visor": lambda label, known: _made(
        fitness.Visor, marking=label.get("marking"), arc_class=label.get("arc_class"), damaged=known.damaged
    ),
    "mat": lambda label, known: _made(
        fitness.Mat, mat_class=label.get("class"), checked_on=known.passed_on, damaged=known.damaged
    ),
    "hook": lambda label, known: _made(
        fitness.RescueHook,
        rated_v=label.get("rated_v"),
        checked_on=known.passed_on,
        clean_and_dry=known.whole,
        damaged=known.damaged,
    ),
    "lock": lambda label, known: _made(fitness.Lock, personal=label.get("personal"), only_key=label.get("only_key")),
    "lift": lambda label, known: _made(
        fitness.Lift,
        rated_kg=label.get("rated_kg"),
        arm_kg=label.get("arm_kg"),
        examined_on=known.passed_on,
        arm_locks_hold=known.whole,
    ),
    "lift table": lambda label, known: _made(
        fitness.LiftTable,
        rated_kg=label.get("rated_kg"),
        table_kg=label.get("table_kg"),
        half_base_m=label.get("half_base_m"),
        checked_on=known.passed_on,
    ),
}


def _frozen(value: object) -> object:
    return tuple(value) if isinstance(value, list) else value
