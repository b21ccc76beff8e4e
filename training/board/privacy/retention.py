"""How long records of a person are kept, and what that says of each one today. Common practice, no source."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Max, QuerySet

from training.board.privacy.facts import ErasureConfirmed, ErasureProposed
from training.core.trade.calendar import add_months, local_day
from training.drill.facts import Answered, TalkedThrough
from training.people.models import Person
from training.records.erasing import NEVER
from training.records.models import Record

ANSWER_MONTHS = 24
AFTER_LEAVING_MONTHS = 72  # sign-offs, appointments, stand-downs, decisions: employment and six years
ANSWERS = (Answered.kind, TalkedThrough.kind)
# what says that records went, and who decided it: numbers and reasons, nothing that was done or known
STAYS = (*NEVER, ErasureProposed.kind, ErasureConfirmed.kind)


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """One record that still says something. ``held`` says in words why it has to stay; "" where it may go.

    ``end`` is its last day, None while that is not known; ``over`` says that it is past, so that nobody has to ask.
    """

    number: int
    kind: str
    day: date
    end: date | None
    held: str
    over: bool


def left_on(person: Person) -> date | None:
    """The last day on which the person was here; None while they are still at work.

    Where no leaving day was entered, the newest record about them and their last sign-in stand for it.
    """
    return left_on_all([person])[person.pk]


def kept_of(person: Person, *, today: date) -> list[Kept]:
    """All records about a person that still say something, oldest first."""
    return kept_of_all([person], today=today)[person.pk]


def kept_of_all(people: Sequence[Person], *, today: date) -> Mapping[int, list[Kept]]:
    """The same of several people of one group, by their ids; a day is that of each one's workshop."""
    left, by_key = left_on_all(people), {person.key: person for person in people}
    found: dict[int, list[Kept]] = {person.pk: [] for person in people}
    rows = _rows(people).filter(body__isnull=False).order_by("number").defer("digest", "previous", "hash")
    for row in rows:
        person = by_key[row.about]
        day = local_day(row.happened_at, person.workshop.zone)
        found[person.pk].append(_judged(row, day, left[person.pk], today))
    return found


def counted(rows: Iterable[Kept]) -> list[tuple[str, int]]:
    """How many there are of each kind."""
    kinds = [row.kind for row in rows]
    return [(kind, kinds.count(kind)) for kind in sorted(set(kinds))]


def _rows(people: Sequence[Person]) -> QuerySet[Record]:
    chains, keys = {person.group.chain_id for person in people}, [person.key for person in people]
    return Record.objects.filter(chain_id__in=chains, about__in=keys).exclude(kind__in=STAYS)


def left_on_all(people: Sequence[Person]) -> Mapping[int, date | None]:
    """The last day of each of these people, by their ids."""
    newest: dict[str, datetime] = {}
    if any(person.last_day is None and not person.is_active for person in people):
        newest |= dict(_rows(people).order_by().values_list("about").annotate(newest=Max("recorded_at")))
    return {person.pk: None if person.is_active else _last_day(person, newest.get(person.key)) for person in people}


def _last_day(person: Person, newest: datetime | None) -> date:
    if person.last_day is not None:
        return person.last_day
    instants = [instant for instant in (newest, person.last_login) if instant is not None]
    return local_day(max(instants), person.workshop.zone) if instants else date.min


def _judged(row: Record, day: date, left: date | None, today: date) -> Kept:
    is_answer = row.kind in ANSWERS
    end = None if left is None else _end(is_answer, day, left)
    held = _held(is_answer, left, end, today)
    over = not held and end is not None and today > end
    return Kept(number=row.number, kind=row.kind, day=day, end=end, held=held, over=over)


def _end(is_answer: bool, day: date, left: date) -> date:
    return add_months(day, ANSWER_MONTHS) if is_answer else add_months(left, AFTER_LEAVING_MONTHS)


def _held(is_answer: bool, left: date | None, end: date | None, today: date) -> str:
    if left is None:
        return "what this person may take is still worked out from it; enter first that they have left"
    if not is_answer and end is not None and today <= end:
        return f"kept for six years after leaving, for claims: through {end}"
    return ""
