"""Decisions in words: what stands in a cell of the board, until when, and under whom."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.utils.dateformat import format as format_date
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from training.board.stored import Cell
from training.board.words import GROUNDS
from training.core.permission.decision import Decision, Ending, Ground, Mode

SOON = timedelta(days=14)
MOST_NAMES = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Voice:
    """What is needed to speak: the workshop's zone, now, names by person key, titles by task id and by job type.

    ``outside`` are the keys of mentors from outside, as far as they were looked for. ``read_on`` is the local day on
    which somebody reads it, where that is not ``now``: a question about the past.
    """

    zone: ZoneInfo
    now: datetime
    names: Mapping[str, str] = field(default_factory=dict)
    tasks: Mapping[str, str] = field(default_factory=dict)
    job_types: Mapping[str, str] = field(default_factory=dict)
    outside: frozenset[str] = frozenset()
    read_on: date | None = None

    @property
    def today(self) -> date:
        """The local day at the workshop."""
        return self.day_of(self.now)

    @property
    def is_of_another_day(self) -> bool:
        """Whether "today" would be misread: it is another day for whoever reads this."""
        return self.read_on is not None and self.read_on != self.today

    def day_of(self, instant: datetime) -> date:
        """The local day at the workshop on which an instant falls."""
        return instant.astimezone(self.zone).date()


@dataclass(frozen=True, slots=True, kw_only=True)
class CellWords:
    """A cell in words. ``tone`` is safe, warn, stop, gap or aside: it only repeats what the words say."""

    headline: str
    details: tuple[str, ...]
    tone: str


def cell_words(cell: Cell, voice: Voice, *, first: str = "", sought: bool = True) -> CellWords:
    """What one cell says to a manager or to the person concerned; ``first`` is the shortest of the remedies."""
    decision = cell.decision
    if decision is None:
        return CellWords(headline=_("being worked out"), details=(_("counts as not cleared"),), tone="gap")
    if is_stood_down(decision):
        return CellWords(headline=_("stood down"), details=(_("until released; see the record"),), tone="stop")
    if decision.mode is Mode.NOT_CLEARED:
        return _missing_words(decision, first, sought)
    return _cleared_words(decision, voice)


def colleague_words(cell: Cell, voice: Voice) -> CellWords:
    """What one cell says to everybody else: until when, or "not now"; never what is missing, nor why, nor what ends."""
    decision = cell.decision
    if decision is None or decision.mode is Mode.NOT_CLEARED or decision.ends_by is None:
        return CellWords(headline=_("not now"), details=(), tone="gap")
    tone = _tone(decision.ends_by, voice)
    if decision.mode is Mode.ALONE:
        return CellWords(headline=_may_take(decision.ends_by, voice), details=(), tone=tone)
    return CellWords(headline=_under(decision, voice), details=(until_words(decision.ends_by, voice),), tone=tone)


def is_stood_down(decision: Decision) -> bool:
    """Whether a stand-down is among what stands in the way."""
    return any(gap.ground is Ground.STOOD_DOWN for gap in decision.gaps)


def _cleared_words(decision: Decision, voice: Voice) -> CellWords:
    ends = decision.ends_by
    if ends is None:  # a clearance has an end; one without is not shown as one
        return CellWords(headline=_("being worked out"), details=(_("counts as not cleared"),), tone="gap")
    if decision.mode is Mode.ALONE:
        details: tuple[str, ...] = (because_words(ends, voice),)
        return CellWords(headline=_may_take(ends, voice), details=details, tone=_tone(ends, voice))
    alone = _("alone: %(missing)s") % {"missing": missing_words(len(decision.gaps))}
    details = (until_words(ends, voice), because_words(ends, voice), alone)
    return CellWords(headline=_under(decision, voice), details=details, tone=_tone(ends, voice))


def _missing_words(decision: Decision, first: str, sought: bool) -> CellWords:
    how_much = missing_words(len(decision.gaps))
    if not sought:
        return CellWords(headline=_("not sought"), details=(how_much,), tone="aside")
    return CellWords(headline=how_much, details=(first,) if first else (), tone="gap")


def _may_take(ends: Ending, voice: Voice) -> str:
    return _("may take %(until)s") % {"until": until_words(ends, voice)}


def _under(decision: Decision, voice: Voice) -> str:
    names = supervisors_words(decision, voice, most=MOST_NAMES)
    return _("may take under supervision of %(names)s") % {"names": names}


def _tone(ends: Ending, voice: Voice) -> str:
    return "warn" if ends.at - voice.now <= SOON else "safe"


def missing_words(count: int) -> str:
    """How much is missing."""
    return ngettext("%(n)d missing", "%(n)d missing", count) % {"n": count}


def supervisors_words(decision: Decision, voice: Voice, *, most: int | None = None) -> str:
    """The people who may supervise, by name; of more than ``most`` the rest by their number."""
    names = names_words(decision.supervisors, voice)
    if most is None or len(names) <= most:
        return ", ".join(names)
    return _("%(names)s and %(n)d more") % {"names": ", ".join(names[:most]), "n": len(names) - most}


def names_words(keys: tuple[str, ...], voice: Voice) -> list[str]:
    """People by name, in order of their names; whoever is not on the list any more keeps a question mark."""
    return sorted(voice.names.get(key, "?") for key in keys)


def until_words(ends: Ending, voice: Voice) -> str:
    """An end at the close of a local day is "through 14 Mar", any other "until 14 Mar 16:20"."""
    local = ends.at.astimezone(voice.zone)
    is_midnight = (local.hour, local.minute, local.second) == (0, 0, 0)
    through = ends.by_day or (local.date() - timedelta(days=1) if is_midnight else None)
    if through is not None:
        return _("through %(day)s") % {"day": day_words(through, voice)}
    return _("until %(day)s %(time)s") % {"day": day_words(local.date(), voice), "time": local.strftime("%H:%M")}


def day_words(day: date, voice: Voice) -> str:
    """A day as people say it; with the year when it is not this one."""
    return format_date(day, "j M" if day.year == (voice.read_on or voice.today).year else "j M Y")


def moment_words(instant: datetime, voice: Voice) -> str:
    """An instant by the clock on the workshop's wall. (A template's own date filter would say it in UTC.)"""
    return format_date(instant.astimezone(voice.zone), "j M Y H:i")


def because_words(ends: Ending, voice: Voice) -> str:
    """What ends it."""
    return GROUNDS[ends.because].ends % {"subject": subject_words(ends.because, ends.subject, voice)}


def subject_words(ground: Ground, subject: str, voice: Voice) -> str:
    """The subject of a gap or an end by its name: a task's title, a job type's, a person's; others as they are said."""
    if ground in (Ground.SIGN_OFF, Ground.NOT_DONE_LATELY):
        return voice.tasks.get(subject, subject)
    if ground is Ground.NO_SUPERVISOR:
        return voice.names.get(subject, voice.job_types.get(subject, subject))
    if subject in voice.job_types:
        return voice.job_types[subject]
    return _(subject) if subject else ""
