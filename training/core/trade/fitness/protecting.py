"""Fitness of what protects and locks: insulated tools, visor, mat, rescue hook, lock."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import ClassVar, Final

from training.core.trade import limits, ppe, tools
from training.core.trade.checks import positive
from training.core.trade.fitness.job import Job, KitItem, damage_reasons, interval_reasons
from training.core.trade.reasons import Reason, because, unknown

_LOCKOUT: Final = "29 CFR 1910.147 (lockout principles); EN 50110-1: secure against re-connection"


@dataclass(frozen=True, slots=True, kw_only=True)
class InsulatedTools(KitItem):
    """A set of hand tools; ``marks`` of tools.MARKS as seen on the tools."""

    kind: ClassVar[str] = "insulated tools"

    marks: tuple[str, ...] | None = None
    damaged: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Visor(KitItem):
    """A face shield: its EN 166 marking such as "8 B T", and whether it has an arc class (GS-ET 29) of its own."""

    kind: ClassVar[str] = "visor"

    marking: str | None = None
    arc_class: bool | None = None
    damaged: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Mat(KitItem):
    """An insulating mat (IEC 61111)."""

    kind: ClassVar[str] = "mat"

    mat_class: str | None = None
    checked_on: date | None = None
    damaged: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RescueHook(KitItem):
    """An insulated rescue hook with its rated voltage."""

    kind: ClassVar[str] = "hook"

    rated_v: float | None = None
    checked_on: date | None = None
    clean_and_dry: bool | None = None
    damaged: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Lock(KitItem):
    """A lock of one's own: whose it is, and that no second key opens it."""

    kind: ClassVar[str] = "lock"

    personal: bool | None = None
    only_key: bool | None = None


def look_reasons(kit: InsulatedTools | Visor | Mat | RescueHook, job: Job, on: date) -> Iterator[Reason]:
    """Whole."""
    return damage_reasons(kit.damaged)


def tool_reasons(kit: InsulatedTools, job: Job, on: date) -> Iterator[Reason]:
    """Insulated wherever hand or tool may meet a live part; elsewhere ordinary tools will do."""
    if not job.may_shock:
        return
    if kit.marks is None:
        yield unknown("tool_marks", "The marks on the tools are not known.", "IEC 60900")
    elif missing := tools.missing_marks(kit.marks):
        yield because("tool_marks", "Not marked: {missing}.", "IEC 60900", missing=", ".join(missing))
    if not tools.within_scope(*job.voltages_v):
        yield because("tool_voltage", "The vehicle is beyond insulated hand tools.", limits.TOOL_DC_V.cite)


def arc_reasons(visor: Visor, job: Job, on: date) -> Iterator[Reason]:
    """Covers an arc: EN 166 field 8 for a small one, an arc class of its own inside an opened pack."""
    if visor.arc_class is True:
        return
    if job.point_of_work in (None, "inside the pack"):
        yield because("no_arc_class", "An opened pack asks for a visor with an arc class.", "EN 166; GS-ET 29")
    elif visor.marking is None:
        yield unknown("visor_marking", "Its marking is not known.", "EN 166")
    elif not ppe.covers_small_arc(str(visor.marking)):
        yield because("no_field_8", "It is not marked 8: it does not cover an electric arc.", "EN 166")


def mat_reasons(mat: Mat, job: Job, on: date) -> Iterator[Reason]:
    """Of a class that reaches the highest voltage."""
    source = limits.MAT_CLASS_0_AC_V.cite
    if mat.mat_class is None:
        yield unknown("mat_class", "The class of the mat is not known.", source)
    elif not ppe.mat_reaches(mat.mat_class, *job.voltages_v):
        yield because("mat_class", "The mat does not reach the highest voltage.", source)


def check_reasons(kit: Mat | RescueHook, job: Job, on: date) -> Iterator[Reason]:
    """Checked within the year."""
    yearly = limits.HOOK_MONTHS
    return interval_reasons(kit.checked_on, int(yearly.value), "yearly check", yearly.cite, on)


def hook_reasons(hook: RescueHook, job: Job, on: date) -> Iterator[Reason]:
    """Rated for the highest voltage, clean and dry."""
    source = "the hook's maker; common practice of the trade, no source"
    if hook.clean_and_dry is not True:
        yield because("hook_not_clean", "It is not known to be clean and dry.", source)
    if hook.rated_v is None:
        yield unknown("hook_rating", "Its rated voltage is not known.", source)
    elif positive(hook.rated_v, "the hook's rated voltage", "V") < max(job.voltages_v):
        yield because("hook_rating", "Rated {rated} V, below the vehicle.", source, rated=float(hook.rated_v))


def lock_reasons(lock: Lock, job: Job, on: date) -> Iterator[Reason]:
    """The worker's own, and nobody else can open it."""
    if lock.personal is not True:
        yield because("not_personal", "It is not known to be one person's own lock.", _LOCKOUT)
    if lock.only_key is not True:
        yield because("second_key", "It is not known that no second key opens it.", _LOCKOUT)


TOOL_RULES: Final = (tool_reasons, look_reasons)
VISOR_RULES: Final = (arc_reasons, look_reasons)
MAT_RULES: Final = (mat_reasons, check_reasons, look_reasons)
HOOK_RULES: Final = (hook_reasons, check_reasons, look_reasons)
LOCK_RULES: Final = (lock_reasons,)
