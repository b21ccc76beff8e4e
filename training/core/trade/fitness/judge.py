"""The verdict on a kit item: every rule of its kind is asked, and every reason is kept."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Any, Final

from training.core.trade.errors import BadInput, UnknownWord
from training.core.trade.fitness import gloves, lifts, measuring, protecting
from training.core.trade.fitness.gloves import GlovePair
from training.core.trade.fitness.job import Job, KitItem, service_reasons
from training.core.trade.fitness.lifts import Lift, LiftTable
from training.core.trade.fitness.measuring import InsulationTester, Leads, Meter, ProvingUnit
from training.core.trade.fitness.protecting import InsulatedTools, Lock, Mat, RescueHook, Visor
from training.core.trade.reasons import Reason, because, refused

Kit = (
    GlovePair
    | Meter
    | Leads
    | ProvingUnit
    | InsulationTester
    | InsulatedTools
    | Visor
    | Mat
    | RescueHook
    | Lock
    | Lift
    | LiftTable
)
Rule = Callable[[Any, Job, date], Iterable[Reason]]

_RULES: Final[Mapping[type[KitItem], tuple[Rule, ...]]] = MappingProxyType(
    {
        GlovePair: gloves.RULES,
        Meter: measuring.METER_RULES,
        Leads: measuring.LEADS_RULES,
        ProvingUnit: measuring.PROVING_UNIT_RULES,
        InsulationTester: measuring.INSULATION_TESTER_RULES,
        InsulatedTools: protecting.TOOL_RULES,
        Visor: protecting.VISOR_RULES,
        Mat: protecting.MAT_RULES,
        RescueHook: protecting.HOOK_RULES,
        Lock: protecting.LOCK_RULES,
        Lift: lifts.LIFT_RULES,
        LiftTable: lifts.TABLE_RULES,
    }
)

KINDS: Final[Mapping[str, type[KitItem]]] = MappingProxyType({kit.kind: kit for kit in _RULES})


@dataclass(frozen=True, slots=True)
class Fitness:
    """Fit only when there is no reason against it."""

    reasons: tuple[Reason, ...]

    @property
    def fit(self) -> bool:
        """Whether nothing speaks against it."""
        return not self.reasons


def fitness(kit: Kit, job: Job, on: date) -> Fitness:
    """Whether this kit item is fit for this job on that day, with every reason why not.

    Whatever is missing, unreadable or contradictory in kit or job is a reason, never an exception.
    """
    rules = _RULES.get(type(kit))
    if rules is None:
        problem = UnknownWord(f"{type(kit).__name__} is no kind of kit", f"Give one of: {', '.join(KINDS)}")
        return Fitness((refused(problem, "the workshop's kit register"),))
    found = [reason for rule in (service_reasons, *rules) for reason in _asked(rule, kit, job, on)]
    return Fitness(tuple(dict.fromkeys(found)))


def _asked(rule: Rule, kit: Kit, job: Job, on: date) -> list[Reason]:
    source = "what was entered for kit and job"
    found = []
    try:
        for reason in rule(kit, job, on):
            found.append(reason)  # one by one, so that none is lost when a later one cannot be computed
    except BadInput as problem:
        found.append(refused(problem, source))
    except (TypeError, ValueError, AttributeError, KeyError, ArithmeticError):
        found.append(because("unreadable", "Something entered for it cannot be read.", source))
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class PreUseCheck:
    """A look and test before use: of which kit, by whom, on which day, and whether it was passed."""

    name: str
    wearer: str
    on: date
    passed: bool


def pre_use_reasons(check: PreUseCheck | None, wearer: str, on: date) -> tuple[Reason, ...]:
    """Why there is no good pre-use check: none, not today, not by the one who wears it, or not passed."""
    source = "29 CFR 1910.137(c)(2)(ii); each use, by the wearer"
    if check is None:
        return (because("not_checked", "It was not checked before use.", source),)
    asked = (
        (check.on == on, "not_checked_today", "It was not checked today."),
        (check.wearer == wearer, "checked_by_another", "It was checked by somebody else than the wearer."),
        (check.passed is True, "check_failed", "It failed the check before use."),
    )
    return tuple(because(code, text, source) for holds, code, text in asked if not holds)
