"""Kit in words: what its label says, how it stands in general, and what is on record of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final

from django.utils.dateformat import format as format_date
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from training.core.trade import gloves, limits
from training.core.trade.calendar import through_day
from training.core.trade.errors import BadInput
from training.core.trade.fitness import House, Job, fitness
from training.core.trade.reasons import Reason
from training.equipment.facts import KitAdded, KitChecked, KitIssued, KitNoted, KitRetired, KitTested
from training.equipment.label_parts import PARTS, TESTS, Part, Sort
from training.equipment.queries import KitRow
from training.people.models import Workshop
from training.records.facts import Fact

Text = str | Promise

KINDS: Final[Mapping[str, Text]] = {
    "gloves": gettext_lazy("Gloves"),
    "meter": gettext_lazy("Meters"),
    "leads": gettext_lazy("Leads"),
    "proving unit": gettext_lazy("Proving units"),
    "insulation tester": gettext_lazy("Insulation testers"),
    "insulated tools": gettext_lazy("Insulated tools"),
    "visor": gettext_lazy("Visors"),
    "mat": gettext_lazy("Mats"),
    "hook": gettext_lazy("Hooks"),
    "lock": gettext_lazy("Locks"),
    "lift": gettext_lazy("Lifts"),
    "lift table": gettext_lazy("Lift tables"),
}
# what only the vehicle or its maker can say: asked at the start of work, not of the register
_OF_THE_JOB: Final = frozenset(
    {"vehicle_loads_unknown", "table_load_unknown", "table_steadiness_unknown", "maker_value_missing"}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How an item stands whatever the job: ``fit`` so far, a headline, and each reason against it."""

    fit: bool
    headline: str
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One record in words: its number, the day, what, and the key of who entered it."""

    number: int
    on: date
    what: str
    by: str


def reason_words(reason: Reason) -> str:
    """A reason of the core as a sentence in the reader's language."""
    return _(reason.text).format(**dict(reason.values))


def standing(row: KitRow, workshop: Workshop, today: date, house: House) -> Standing:
    """How an item stands in general on a day, by what the house settles.

    The job's own voltages and loads are asked at the start of work.
    """
    job = Job(highest_dc_v=0.0, highest_ac_v=0.0, regime=_regime(workshop), point_of_work="not at HV", house=house)
    reasons = [reason for reason in fitness(row.kit, job, today).reasons if reason.code not in _OF_THE_JOB]
    if row.unreadable:
        numbers = ", ".join(map(str, row.unreadable))
        unread = _("Records about it cannot be read: %(numbers)s.") % {"numbers": numbers}
        return Standing(fit=False, headline=_("not fit"), reasons=(unread, *map(reason_words, reasons)))
    if reasons:
        return Standing(fit=False, headline=_("not fit"), reasons=tuple(map(reason_words, reasons)))
    last_day = good_through(row, workshop, house)
    if last_day is None:
        return Standing(fit=True, headline=_("nothing against it"))
    return Standing(fit=True, headline=_("in date through %(day)s") % {"day": day_words(last_day)})


def good_through(row: KitRow, workshop: Workshop, house: House) -> date | None:
    """The last day on which its newest passed test still holds; None without one, or for kinds without a date."""
    tested_on = row.history.last_passed_on(TESTS.get(row.item.kind, ""))
    if tested_on is None:
        return None
    try:
        if row.item.kind == "gloves":
            return _gloves_through(tested_on, row.history.first_issued_on(), house)
        months = _months(row.item.kind, workshop, house)
        return through_day(tested_on, months) if months else None
    except BadInput:
        return None


def label_words(row: KitRow) -> list[str]:
    """What its label says, part by part; what cannot be read is left out here and counts as unknown."""
    label = row.item.label if isinstance(row.item.label, dict) else {}
    return [
        part_words(part, label[part.name]) for part in PARTS.get(row.item.kind, ()) if label.get(part.name) is not None
    ]


def part_words(part: Part, value: Any) -> str:
    """One part of a label: "Rated voltage 1000 V"."""
    if part.sort is Sort.YES_NO:
        return f"{part.title}: {_('yes') if value is True else _('no')}"
    values = value if isinstance(value, list) else [value]
    said = ", ".join(f"{each:g}" if isinstance(each, (int, float)) else str(each) for each in values)
    return f"{part.title} {said} {part.unit}".strip()


def history_lines(row: KitRow) -> list[Line]:
    """What is on record of an item, newest first."""
    lines = [
        Line(number=written.number, on=day, what=what, by=by)
        for written in row.written
        if written.fact is not None
        for day, what, by in [_SAID[type(written.fact)](written.fact, written.happened_at.date())]
    ]
    return sorted(lines, key=lambda line: line.number, reverse=True)


def day_words(day: date) -> str:
    """A day with its year, as people say it."""
    return format_date(day, "j M Y")


def _gloves_through(tested_on: date, issued_on: date | None, house: House) -> date | None:
    """Gloves are out of date ON the limit day, so the last good day is the one before."""
    if issued_on is None:
        return None
    return gloves.due(tested_on, issued_on, house.glove_due_rule) - timedelta(days=1)


def _months(kind: str, workshop: Workshop, house: House) -> int | None:
    if kind in ("meter", "insulation tester"):
        return house.calibration_months
    if kind == "lift":
        by_regime = int(limits.LIFT_MONTHS[workshop.regime].value)
        return min(by_regime, house.lift_months or by_regime)
    if kind == "lift table":
        return int(limits.TABLE_MONTHS.value)
    return int(limits.HOOK_MONTHS.value) if kind in ("hook", "mat") else None


def _regime(workshop: Workshop) -> Any:
    return workshop.regime


Said = tuple[date, str, str]


def _tested(fact: KitTested, day: date) -> Said:
    result = _("passed") if fact.passed else _("not passed")
    return fact.tested_on, f"{_(fact.test)}: {result}", fact.by


def _checked(fact: KitChecked, day: date) -> Said:
    what = _("Pre-use check: good") if fact.passed else _("Pre-use check: not good")
    return fact.checked_on, what, fact.by


_SAID: Final[Mapping[type[Fact], Callable[[Any, date], Said]]] = {
    KitAdded: lambda fact, day: (day, _("Put on the register"), fact.by),
    KitTested: _tested,
    KitIssued: lambda fact, day: (fact.issued_on, _("Issued for service"), fact.by),
    KitNoted: lambda fact, day: (fact.noted_on, _("Noted: %(what)s") % {"what": fact.what}, fact.by),
    KitChecked: _checked,
    KitRetired: lambda fact, day: (fact.retired_on, _("Out of service: %(why)s") % {"why": fact.why}, fact.by),
}
