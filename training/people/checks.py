"""What may be entered about a person, by whom, and with which dates; each check refuses with a sentence."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from django.utils.translation import gettext as _

from training.core.trade.calendar import add_months
from training.core.trade.errors import BadInput
from training.people.models import Person, Workshop
from training.people.queries import is_manager
from training.people.refusal import Refusal

MOST_LETTERS = 500
MOST_LINES, LONGEST_LINE = 12, 120
# wide bounds that only catch slips of the pen; how long a paper counts is the rule book's business
CERTIFICATE_AT_MOST_MONTHS = 120
OLDEST_CERTIFICATE_MONTHS = 600
OLDEST_INSTRUCTION_MONTHS = 24


def same_group(person: Person, by: Person, workshop: Workshop | None = None) -> None:
    """Nothing crosses the wall of a workshop group, and nobody who left writes."""
    workshop_group = by.group_id if workshop is None else workshop.group_id
    if not by.is_active or by.group_id != person.group_id or by.group_id != workshop_group:
        raise Refusal(_("This person or workshop is not of your workshop group."))


def manager_of(group_id: int, by: Person) -> None:
    """Only a manager of the group, still with the firm."""
    if by.group_id != group_id or not is_manager(by):
        raise Refusal(_("Only a manager may enter this."))


def entered_by_manager(person: Person, by: Person, *, may_have_left: bool = False) -> None:
    """A manager enters what may clear somebody, and never for themselves: one's own word never counts."""
    same_group(person, by)
    manager_of(person.group_id, by)
    if by.pk == person.pk:
        raise Refusal(_("You may not enter this about yourself. Ask another manager."))
    if not person.is_active and not may_have_left:
        raise Refusal(_("%(name)s has left the firm.") % {"name": person.full_name})


def worded(text: str, field: str = "reason") -> str:
    """The text without the spaces around it; refuses an empty or endless one."""
    text = text.strip()
    if not text:
        raise Refusal(_("Say why in a few words.") if field == "reason" else _("This is missing."), field)
    if len(text) > MOST_LETTERS:
        raise Refusal(_("Keep it under %(most)d letters.") % {"most": MOST_LETTERS}, field)
    return text


def named(names: Iterable[str], field: str) -> list[str]:
    """The names once each, in order of the alphabet; refuses none at all."""
    chosen = sorted({name.strip() for name in names} - {""})
    if not chosen:
        raise Refusal(_("Choose at least one."), field)
    return chosen


def listed(texts: Iterable[str], field: str) -> list[str]:
    """Short texts, one each, without empty ones; refuses endless ones and endless lists."""
    found = [text.strip() for text in texts if text.strip()]
    if len(found) > MOST_LINES or any(len(text) > LONGEST_LINE for text in found):
        sentence = _("Keep it to %(lines)d lines of %(letters)d letters.")
        raise Refusal(sentence % {"lines": MOST_LINES, "letters": LONGEST_LINE}, field)
    return found


def appointment_days(from_day: date, through_day: date, *, today: date, at_most_months: int) -> None:
    """In order, not over already, not longer than the rule book lets an appointment count, not years ahead."""
    if through_day < from_day:
        raise Refusal(_("The last day comes before the first day."), "through_day")
    if through_day < today:
        raise Refusal(_("The last day is past already."), "through_day")
    if from_day > _months_from(today, 12, "from_day"):
        raise Refusal(_("The first day is more than a year ahead."), "from_day")
    longest = _months_from(from_day, at_most_months, "from_day")
    if through_day > longest:
        sentence = _("It holds at most %(months)d months: give %(day)s or an earlier day.")
        raise Refusal(sentence % {"months": at_most_months, "day": longest.isoformat()}, "through_day")


def certificate_days(issued_on: date, through_day: date | None, *, today: date) -> None:
    """Issued already, not half a century ago, and valid through a day that somebody can have written on it."""
    day_of_past(issued_on, today=today, oldest_months=OLDEST_CERTIFICATE_MONTHS, field="issued_on")
    if through_day is None:
        return
    if through_day < issued_on:
        raise Refusal(_("The last day comes before the day of issue."), "through_day")
    if through_day > _months_from(issued_on, CERTIFICATE_AT_MOST_MONTHS, "issued_on"):
        raise Refusal(_("The last day is more than ten years after the day of issue. Check the year."), "through_day")


def day_of_past(day: date, *, today: date, oldest_months: int, field: str) -> None:
    """A day that has come, and not so long ago that it must be a slip."""
    if day > today:
        raise Refusal(_("This day is still to come."), field)
    if day < _months_from(today, -oldest_months, field):
        raise Refusal(_("This day is too long ago. Check the year."), field)


def _months_from(day: date, months: int, field: str) -> date:
    try:
        return add_months(day, months)
    except BadInput as error:
        raise Refusal(_("This day cannot be meant. Check the year."), field) from error
