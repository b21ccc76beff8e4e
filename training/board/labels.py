"""Decisions in words: what stands in a cell, what is missing, and the shortest way there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.utils.dateformat import format as format_date
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from training.board.stored import Cell
from training.board.words import GROUNDS, REMEDIES
from training.core.permission.decision import Decision, Ending, Gap, Ground, Mode, Remedy, RemedyKind

SOON = timedelta(days=14)


@dataclass(frozen=True, slots=True, kw_only=True)
class Voice:
    """What is needed to speak: the workshop's zone, now, names by person key, titles by task id and by job type."""

    zone: ZoneInfo
    now: datetime
    names: Mapping[str, str] = field(default_factory=dict)
    tasks: Mapping[str, str] = field(default_factory=dict)
    job_types: Mapping[str, str] = field(default_factory=dict)

    @property
    def today(self) -> date:
        return self.now.astimezone(self.zone).date()


@dataclass(frozen=True, slots=True, kw_only=True)
class CellWords:
    """A cell in words. ``tone`` is safe, warn, stop or gap: it only repeats what the words say."""

    headline: str
    details: tuple[str, ...]
    tone: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GapWords:
    """One thing that is missing: what, where it stands now, the rule in a sentence with its source, and the way."""

    title: str
    now: str
    asks: str
    source: str
    way: str
    records: tuple[int, ...]


def cell_words(cell: Cell, voice: Voice, *, sought: bool = True, for_colleagues: bool = False) -> CellWords:
    """What one cell of the board says; colleagues read until when or "not now", never what is missing or why."""
    if for_colleagues:
        return _colleague_words(cell, voice)
    decision = cell.decision
    if decision is None:
        return CellWords(headline=_("being worked out"), details=(_("counts as not cleared"),), tone="gap")
    if any(gap.ground is Ground.STOOD_DOWN for gap in decision.gaps):
        return CellWords(headline=_("stood down"), details=(_("until released; see the record"),), tone="stop")
    if decision.mode is Mode.NOT_CLEARED:
        return _missing_words(decision, voice, sought)
    return _cleared_words(decision, voice)


def _colleague_words(cell: Cell, voice: Voice) -> CellWords:
    decision = cell.decision
    if decision is None or decision.ends_by is None:
        return CellWords(headline=_("not now"), details=(), tone="gap")
    full = _cleared_words(decision, voice)
    details = full.details[:1] if decision.mode is Mode.SUPERVISED else ()
    return CellWords(headline=full.headline, details=details, tone=full.tone)


def _cleared_words(decision: Decision, voice: Voice) -> CellWords:
    ends = decision.ends_by
    until = until_words(ends, voice) if ends else ""
    because = because_words(ends, voice) if ends else ""
    tone = "warn" if ends and ends.at - voice.now <= SOON else "safe"
    if decision.mode is Mode.ALONE:
        return CellWords(headline=_("may take %(until)s") % {"until": until}, details=(because,), tone=tone)
    return CellWords(
        headline=_("under supervision %(until)s") % {"until": until},
        details=(
            _("of %(names)s") % {"names": supervisors_words(decision, voice)},
            _("alone: %(missing)s") % {"missing": missing_words(len(decision.gaps))},
        ),
        tone=tone,
    )


def _missing_words(decision: Decision, voice: Voice, sought: bool) -> CellWords:
    if not sought:
        return CellWords(headline=_("not sought"), details=(missing_words(len(decision.gaps)),), tone="gap")
    shortest = min(decision.gaps, key=lambda gap: _length(gap.remedy), default=None)
    details = (_("first: %(way)s") % {"way": way_in_short(shortest, voice)},) if shortest else ()
    return CellWords(headline=missing_words(len(decision.gaps)), details=details, tone="gap")


def missing_words(count: int) -> str:
    """How much is missing."""
    return ngettext("%(n)d missing", "%(n)d missing", count) % {"n": count}


def supervisors_words(decision: Decision, voice: Voice) -> str:
    """The people who may supervise, by name."""
    return ", ".join(sorted(voice.names.get(key, "?") for key in decision.supervisors))


def until_words(ends: Ending, voice: Voice) -> str:
    """An end at the close of a local day is "through 14 Mar", any other "until 14 Mar 16:20"."""
    if ends.by_day is not None:
        return _("through %(day)s") % {"day": day_words(ends.by_day, voice)}
    local = ends.at.astimezone(voice.zone)
    return _("until %(day)s %(time)s") % {"day": day_words(local.date(), voice), "time": local.strftime("%H:%M")}


def day_words(day: date, voice: Voice) -> str:
    """A day as people say it; with the year when it is not this one."""
    return format_date(day, "j M" if day.year == voice.today.year else "j M Y")


def because_words(ends: Ending, voice: Voice) -> str:
    """What ends it."""
    return GROUNDS[ends.because].ends % {"subject": subject_words(ends.because, ends.subject, voice)}


def subject_words(ground: Ground, subject: str, voice: Voice) -> str:
    """The subject of a gap or an end by its name: a task's title, a job type's, a person's."""
    if ground in (Ground.SIGN_OFF, Ground.NOT_DONE_LATELY):
        return voice.tasks.get(subject, subject)
    if ground is Ground.JOB_TYPE:
        return voice.job_types.get(subject, subject)
    if ground is Ground.NO_SUPERVISOR:
        return voice.names.get(subject, voice.job_types.get(subject, subject))
    return _(subject)


def gap_words(gap: Gap, voice: Voice) -> GapWords:
    """One gap in full, with its shortest remedy."""
    subject = subject_words(gap.ground, gap.subject, voice)
    title = GROUNDS[gap.ground].missing % {"subject": subject}
    if gap.through:
        title = _("%(title)s (for %(job_type)s)") % {
            "title": title,
            "job_type": voice.job_types.get(gap.through, gap.through),
        }
    return GapWords(
        title=title,
        now=now_words(gap),
        asks=gap.sentence,
        source=gap.source,
        way=way_words(gap, voice),
        records=gap.records,
    )


def now_words(gap: Gap) -> str:
    """Where it stands now, in figures, for the grounds that have some."""
    facts = dict(gap.facts)
    if gap.ground is Ground.RECALL_LIFE_QUESTIONS:
        said = _(
            "%(n)d of %(of)d questions are below what this job asks for; the lowest is at least %(low)s in 100, it asks for %(floor)s."
        )
        return said % {
            "n": facts["questions"],
            "of": facts["of"],
            "low": in_100(facts["lowest"]),
            "floor": in_100(facts["asked"]),
        }
    if gap.ground is Ground.RECALL_TOPIC:
        said = _(
            "Recall is at least %(low)s in 100 on average, this job asks for %(floor)s; %(n)d more questions to answer."
        )
        return said % {"low": in_100(facts["recall_low"]), "floor": in_100(facts["asked"]), "n": facts["unanswered"]}
    if gap.ground is Ground.SIGN_OFF and "observations" in facts:
        return ngettext(
            "%(n)d passed observation to go.", "%(n)d passed observations to go.", int(facts["observations"])
        ) % {"n": facts["observations"]}
    return ""


def in_100(figure: object) -> str:
    """A recall low given to three decimals, as whole ones in 100, rounded down."""
    return str(int(float(str(figure)) * 100 + 1e-9))


def way_in_short(gap: Gap, voice: Voice) -> str:
    """The shortest way to close a gap, in a few words: for a cell of the board."""
    remedy = gap.remedy
    subject = subject_words(gap.ground, gap.subject, voice)
    if remedy.kind is RemedyKind.DRILL:
        return _("drill %(minutes)s: %(subject)s") % {
            "minutes": minutes_by_day_words(remedy, voice),
            "subject": subject,
        }
    return REMEDIES[remedy.kind].short % {"subject": subject}


def way_words(gap: Gap, voice: Voice) -> str:
    """The shortest way to close a gap, in a sentence, with an honest estimate."""
    remedy = gap.remedy
    said = REMEDIES[remedy.kind].full % {"subject": subject_words(gap.ground, gap.subject, voice)}
    parts = [said]
    if remedy.minutes_by_day:
        parts.append(_("%(minutes)s.") % {"minutes": minutes_by_day_words(remedy, voice)})
    elif remedy.minutes:
        parts.append(_("About %(n)d min.") % {"n": remedy.minutes})
    if remedy.who:
        parts.append(
            _("Can do it: %(names)s.") % {"names": ", ".join(sorted(voice.names.get(key, "?") for key in remedy.who))}
        )
    if remedy.earliest_on and remedy.earliest_on > voice.today:
        parts.append(_("Earliest: %(day)s.") % {"day": day_words(remedy.earliest_on, voice)})
    return " ".join(parts)


def minutes_by_day_words(remedy: Remedy, voice: Voice) -> str:
    """ "4 min today, 4 min Thu": the minutes of a remedy, day by day; the rest summed when there are many."""
    days = remedy.minutes_by_day
    said = [
        _("%(n)d min %(day)s") % {"n": minutes, "day": near_day_words(offset, voice)} for offset, minutes in days[:3]
    ]
    rest = days[3:]
    if rest:
        last = voice.today + timedelta(days=rest[-1][0])
        said.append(
            _("%(n)d min more by %(day)s")
            % {"n": sum(minutes for _day, minutes in rest), "day": day_words(last, voice)}
        )
    return ", ".join(said) if said else _("%(n)d min") % {"n": remedy.minutes}


def near_day_words(days_from_now: int, voice: Voice) -> str:
    """Today, tomorrow, a weekday within the week, else the date."""
    if days_from_now == 0:
        return _("today")
    if days_from_now == 1:
        return _("tomorrow")
    day = voice.today + timedelta(days=days_from_now)
    return format_date(day, "D") if days_from_now < 7 else day_words(day, voice)


def total_minutes(decision: Decision) -> int:
    """About how long everything that is missing takes together; certificates from elsewhere are not counted."""
    return sum(gap.remedy.minutes for gap in decision.gaps)


def _length(remedy: Remedy) -> tuple[bool, date, int, str]:
    """Shortest first: what can be done soonest, then what takes least; what nobody can date comes last."""
    return remedy.earliest_on is None, remedy.earliest_on or date.max, remedy.minutes, remedy.kind.value
