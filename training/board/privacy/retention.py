"""How long records of a person are kept, and what that says of each one today. Common practice, no source."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from training.core.trade.calendar import add_months, local_day
from training.drill.facts import Answered, TalkedThrough
from training.people.models import Person
from training.records.erasing import NEVER
from training.records.models import Record

ANSWER_MONTHS = 24
AFTER_LEAVING_MONTHS = 72  # sign-offs, appointments, stand-downs, decisions: employment and six years
ANSWERS = (Answered.kind, TalkedThrough.kind)


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """One record that still says something. ``held`` says in words why it has to stay; "" where it may go.

    ``over`` says that its time is over, so that it goes without anybody asking.
    """

    number: int
    kind: str
    day: date
    held: str
    over: bool


def left_on(person: Person) -> date | None:
    """The last day on which the person is known to have been here; None while they are still at work.

    Nobody enters a leaving day: the newest record about them and their last sign-in stand for it, whichever is later.
    """
    if person.is_active:
        return None
    newest = Record.objects.filter(chain_id=person.group.chain_id, about=person.key).exclude(kind__in=NEVER)
    instants = [row.recorded_at for row in newest.order_by("-number")[:1]]
    instants += [person.last_login] if person.last_login else []
    return local_day(max(instants), ZoneInfo(person.workshop.zone).key) if instants else date.min


def kept_of(person: Person, *, today: date, left: date | None = None) -> list[Kept]:
    """All records about a person that still say something, oldest first; ``left`` moves the leaving day, only later."""
    known = left_on(person)
    last_day = None if known is None else max(known, left or known)
    rows = Record.objects.filter(chain_id=person.group.chain_id, about=person.key, body__isnull=False)
    return [
        _judged(row, local_day(row.happened_at, person.workshop.zone), last_day, today)
        for row in rows.exclude(kind__in=NEVER).order_by("number")
    ]


def counted(rows: Iterable[Kept]) -> list[tuple[str, int]]:
    """How many there are of each kind."""
    kinds = [row.kind for row in rows]
    return [(kind, kinds.count(kind)) for kind in sorted(set(kinds))]


def _judged(row: Record, day: date, left: date | None, today: date) -> Kept:
    is_answer = row.kind in ANSWERS
    end = add_months(day, ANSWER_MONTHS) if is_answer else left and add_months(left, AFTER_LEAVING_MONTHS)
    held = _held(is_answer, left, end, today)
    over = not held and end is not None and today > end
    return Kept(number=row.number, kind=row.kind, day=day, held=held, over=over)


def _held(is_answer: bool, left: date | None, end: date | None, today: date) -> str:
    if left is None:
        return "what this person may take is still worked out from it; enter first that they have left"
    if not is_answer and end is not None and today <= end:
        return f"kept for six years after leaving, for claims: through {end}"
    return ""
