"""Who gains and who loses by a rule book that is proposed: everybody and every job type, decided under both."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from training.board.labels import Voice, supervisors_words, until_words
from training.board.queries import Reading, decide_all
from training.board.voices import voice_of
from training.core.permission.coming import ComingBook
from training.core.permission.decision import Decision, Mode
from training.core.permission.rule_book import RuleBook
from training.core.trade.calendar import close_of_day, local_day
from training.people.models import Person

RANK = {Mode.NOT_CLEARED: 0, Mode.SUPERVISED: 1, Mode.ALONE: 2}
LOSES, GAINS, SHORTER, LONGER = (
    gettext_noop("loses"),
    gettext_noop("gains"),
    gettext_noop("ends earlier"),
    gettext_noop("ends later"),
)
MOST_NAMES = 2
Decided = Mapping[str, Mapping[str, Decision]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One person and job type for whom something changes: which way, and how it reads before and after."""

    person: Person
    job_type: str
    way: str
    before: str
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What changes at one moment, losses first; ``same`` counts the clearances that stay just as they are."""

    title: str
    changes: tuple[Change, ...]
    same: int


def effects_of(
    reading: Reading, people: Sequence[Person], book: RuleBook, *, from_day: date, now: datetime
) -> list[Effect]:
    """What a rule book would change at once, and on its first day: by itself, and once it is confirmed again then.

    In force, it takes the place of the book before it and of all that were still to come.
    """
    in_force = replace(reading, rule_book=book, coming=())
    if from_day <= local_day(now, reading.workshop.zone):
        return [_effect(_("As soon as it is confirmed"), reading, in_force, people, book, now)]
    coming = replace(reading, coming=(*reading.coming, ComingBook(from_day=from_day, record=0, book=book)))
    then = close_of_day(from_day - timedelta(days=1), reading.workshop.zone)
    return [
        _effect(_("As soon as it is confirmed"), reading, coming, people, book, now),
        _effect(_("On its first day, by itself"), reading, coming, people, book, then),
        _effect(_("On its first day, once confirmed again"), reading, in_force, people, book, then),
    ]


def _effect(
    title: str, before: Reading, after: Reading, people: Sequence[Person], book: RuleBook, at: datetime
) -> Effect:
    old, new = _decided(before, people, at), _decided(after, people, at)
    keys = dict.fromkeys([*(one.key for one in book.job_types), *(key for by_type in old.values() for key in by_type)])
    voice = _voice(before, after, at)
    pairs = [(one, key, old[one.key].get(key), new[one.key].get(key)) for one in people for key in keys]
    changes = [change for pair in pairs if (change := _change(*pair, voice))]
    order = (LOSES, SHORTER, GAINS, LONGER)
    return Effect(
        title=title,
        changes=tuple(sorted(changes, key=lambda change: order.index(change.way))),
        same=sum(_rank(now) > 0 and not _way(was, now) for _one, _key, was, now in pairs),
    )


def _decided(reading: Reading, people: Sequence[Person], at: datetime) -> Decided:
    return decide_all(reading, people, at=at)


def _change(person: Person, key: str, before: Decision | None, after: Decision | None, voice: Voice) -> Change | None:
    way = _way(before, after)
    if not way:
        return None
    return Change(
        person=person,
        job_type=voice.job_types.get(key, key),
        way=way,
        before=_words(before, voice),
        after=_words(after, voice),
    )


def _way(before: Decision | None, after: Decision | None) -> str:
    if _rank(before) != _rank(after):
        return GAINS if _rank(after) > _rank(before) else LOSES
    if before is None or after is None or before.until == after.until or not before.until or not after.until:
        return ""
    return LONGER if after.until > before.until else SHORTER


def _rank(decision: Decision | None) -> int:
    return RANK[decision.mode] if decision else 0


def _words(decision: Decision | None, voice: Voice) -> str:
    if decision is None:
        return _("no such job type")
    if decision.mode is Mode.NOT_CLEARED or decision.ends_by is None:
        return _("may not take yet")
    until = until_words(decision.ends_by, voice)
    if decision.mode is Mode.ALONE:
        return _("may take %(until)s") % {"until": until}
    names = supervisors_words(decision, voice, most=MOST_NAMES)
    return _("under supervision of %(names)s %(until)s") % {"names": names, "until": until}


def _voice(before: Reading, after: Reading, at: datetime) -> Voice:
    old, new = (voice_of(reading.workshop, reading.rule_book, now=at) for reading in (before, after))
    return replace(new, job_types={**old.job_types, **new.job_types})
