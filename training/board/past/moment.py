"""The two times of a question about the past, read from what somebody wrote."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _

from training.people.models import Workshop
from training.records.queries import head_of, number_at

YEARS = range(2000, 2101)


class NoSuchMoment(ValueError):
    """What was written names no moment; the sentence says what to write."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """``at`` is the instant asked about; ``known_at`` the newest record that is looked at."""

    at: datetime
    known_at: int


def moment_of(at: str, known_at: str, workshop: Workshop, *, now: datetime) -> Moment:
    """The moment that two texts name: "" is now for the one, and everything written by now for the other.

    ``known_at`` is a record number or an instant, which means the last record written at or before it. Raises
    ``NoSuchMoment``.
    """
    instant = instant_of(at, workshop.zone) if at.strip() else now
    return Moment(at=instant, known_at=_number(known_at.strip(), workshop))


def instant_of(text: str, zone: str) -> datetime:
    """An instant by ISO 8601; without an offset it is read off the workshop's clock. Raises ``NoSuchMoment``.

    A time that the clocks passed twice, or jumped over, is asked for again with its offset and never guessed.
    """
    try:
        found = parse_datetime(text.strip())
    except ValueError:
        found = None
    if found is None:
        sentence = _("%(text)r is not an instant. Write it like 2026-03-14T16:20 or 2026-03-14T15:20:00Z.")
        raise NoSuchMoment(sentence % {"text": text})
    if found.year not in YEARS:
        sentence = _("%(text)s is too far away. Give a moment from %(first)d to %(last)d.")
        raise NoSuchMoment(sentence % {"text": text, "first": YEARS[0], "last": YEARS[-1]})
    return found if found.tzinfo else _on_the_wall(found, text, ZoneInfo(zone))


def _on_the_wall(naive: datetime, text: str, zone: ZoneInfo) -> datetime:
    first, second = (naive.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if first.utcoffset() != second.utcoffset():
        sentence = _("The clocks were changed at %(text)s. Write it with its offset, like %(example)s.")
        example = first.astimezone(UTC).astimezone(zone).isoformat(timespec="minutes")
        raise NoSuchMoment(sentence % {"text": text, "example": example})
    return first


def _number(text: str, workshop: Workshop) -> int:
    newest = head_of(workshop.group.chain_id).number
    if not text:
        return newest
    if not (text.isascii() and text.isdigit()):
        return number_at(workshop.group.chain_id, instant_of(text, workshop.zone))
    if len(text) > 18 or int(text) > newest:
        sentence = _("There is no record %(number)s yet; the newest is %(newest)d.")
        raise NoSuchMoment(sentence % {"number": text, "newest": newest})
    return int(text)
