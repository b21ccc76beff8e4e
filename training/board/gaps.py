"""Gaps in words: what is missing, where it stands now, and the shortest way there with an honest estimate."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.utils.dateformat import format as format_date
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from training.board.labels import Voice, day_words, names_words, subject_words
from training.board.words import GROUNDS, REMEDIES
from training.core.permission.decision import Decision, Gap, Ground, Remedy, RemedyKind

Facts = Mapping[str, str | int | bool]
MOST_DAYS = 3
NOBODY_OBSERVES = gettext_lazy("Nobody here may observe it at present: a manager appoints a mentor.")
NOBODY_FROM_OUTSIDE = gettext_lazy("Nobody may observe it at present: a manager appoints a mentor from outside.")


@dataclass(frozen=True, slots=True, kw_only=True)
class GapWords:
    """One thing that is missing: what, where it stands now, the rule in a sentence with its source, and the way.

    ``disputed`` says which records would prove it, were they not disputed.
    """

    title: str
    now: str
    asks: str
    source: str
    way: str
    records: tuple[int, ...]
    disputed: tuple[str, ...] = ()


def gaps_words(decision: Decision, voice: Voice) -> list[GapWords]:
    """Everything that is missing, each with its shortest way, counted from the day on which it was worked out."""
    return [gap_words(gap, voice, counted_from=voice.day_of(decision.at)) for gap in decision.gaps]


def gap_words(gap: Gap, voice: Voice, *, counted_from: date | None = None) -> GapWords:
    """One gap in full. ``counted_from`` is the day on which its remedy was worked out (None: today)."""
    title = GROUNDS[gap.ground].missing % {"subject": subject_words(gap.ground, gap.subject, voice)}
    if gap.through:
        held = voice.job_types.get(gap.through, gap.through)
        title = _("%(title)s (for %(job_type)s)") % {"title": title, "job_type": held}
    return GapWords(
        title=title,
        now=now_words(gap),
        asks=_(gap.sentence) if gap.sentence else "",
        source=_(gap.source) if gap.source else "",
        way=way_words(gap, voice, counted_from or voice.today),
        records=gap.records,
    )


def first_way(decision: Decision, voice: Voice) -> str:
    """The shortest of all remedies of a decision, in a few words; "" where nothing is missing."""
    shortest = min(decision.gaps, key=lambda gap: _length(gap.remedy), default=None)
    return way_in_short(shortest, voice, voice.day_of(decision.at)) if shortest else ""


def total_minutes(decision: Decision) -> int:
    """About how long everything that is missing takes together; what comes from elsewhere is not counted."""
    return sum(gap.remedy.minutes for gap in decision.gaps)


def now_words(gap: Gap) -> str:
    """Where it stands now, in figures, for the grounds that have some; "" where the figures are not there."""
    say = _NOW.get(gap.ground)
    if say is None:
        return ""
    try:
        return say(dict(gap.facts))
    except (KeyError, ArithmeticError, ValueError):
        return ""


def in_100(figure: object) -> str:
    """A recall low given to three decimals, as whole ones in 100, rounded down."""
    return str(int(Decimal(str(figure)) * 100))


def way_in_short(gap: Gap, voice: Voice, counted_from: date) -> str:
    """The shortest way to close a gap, in a few words: for a cell of the board."""
    subject = subject_words(gap.ground, gap.subject, voice)
    if gap.ground is Ground.UNDER_18:
        return str(GROUNDS[gap.ground].ends)  # nothing to be done but wait for the day, and then to enter it
    if gap.remedy.kind is not RemedyKind.DRILL:
        return REMEDIES[gap.remedy.kind].short % {"subject": subject}
    minutes = minutes_by_day_words(gap.remedy, voice, counted_from)
    return _("drill %(minutes)s: %(subject)s") % {"minutes": minutes, "subject": subject}


def way_words(gap: Gap, voice: Voice, counted_from: date) -> str:
    """The shortest way to close a gap, in sentences, with an honest estimate."""
    remedy = gap.remedy
    parts = [REMEDIES[remedy.kind].full % {"subject": subject_words(gap.ground, gap.subject, voice)}]
    if remedy.minutes_by_day:
        parts.append(_("%(minutes)s.") % {"minutes": minutes_by_day_words(remedy, voice, counted_from)})
    elif remedy.minutes:
        parts.append(_("About %(n)d min.") % {"n": remedy.minutes})
    if remedy.earliest_on and remedy.earliest_on > voice.today:
        parts.append(_("Earliest: %(day)s.") % {"day": day_words(remedy.earliest_on, voice)})
    if remedy.who:
        parts.append(_("Ask %(names)s") % {"names": ", ".join(_mentors(remedy.who, voice))})
    elif remedy.kind is RemedyKind.OBSERVATION:
        outside = dict(gap.facts).get("outside")
        parts.append(str(NOBODY_FROM_OUTSIDE if outside else NOBODY_OBSERVES))
    return " ".join(parts)


def _mentors(keys: tuple[str, ...], voice: Voice) -> list[str]:
    """By name, each from outside marked so."""
    from_outside = [
        _("%(name)s (from outside)") % {"name": voice.names.get(key, "?")} for key in keys if key in voice.outside
    ]
    return sorted([*names_words(tuple(key for key in keys if key not in voice.outside), voice), *from_outside])


def minutes_by_day_words(remedy: Remedy, voice: Voice, counted_from: date) -> str:
    """ "4 min today, 4 min Thu": the minutes of a remedy, day by day; the rest summed when there are many."""
    days = [(counted_from + timedelta(days=offset), minutes) for offset, minutes in remedy.minutes_by_day]
    if not days:
        return _("%(n)d min") % {"n": remedy.minutes}
    said = [_("%(n)d min %(day)s") % {"n": minutes, "day": near_day_words(day, voice)} for day, minutes in days]
    if len(said) <= MOST_DAYS:
        return ", ".join(said)
    rest = sum(minutes for _day, minutes in days[MOST_DAYS:])
    more = _("%(n)d min more by %(day)s") % {"n": rest, "day": day_words(days[-1][0], voice)}
    return ", ".join([*said[:MOST_DAYS], more])


def near_day_words(day: date, voice: Voice) -> str:
    """Today (also for what could have been done before), tomorrow, a weekday within the week, else the date."""
    if voice.is_of_another_day:
        return _("on %(day)s") % {"day": day_words(day, voice)}
    days_from_now = (day - voice.today).days
    if days_from_now <= 0:
        return _("today")
    if days_from_now == 1:
        return _("tomorrow")
    return format_date(day, "D") if days_from_now < 7 else day_words(day, voice)


def _life_questions(facts: Facts) -> str:
    said = _(
        "%(n)d of %(of)d life questions below what is asked; the lowest at least %(low)s in 100, asks for %(floor)s."
    )
    return said % {
        "n": facts["questions"],
        "of": facts["of"],
        "low": in_100(facts["lowest"]),
        "floor": in_100(facts["asked"]),
    }


def _topic(facts: Facts) -> str:
    said = _("On average at least %(low)s in 100, asks for %(floor)s.")
    mean = said % {"low": in_100(facts["recall_low"]), "floor": in_100(facts["asked"])}
    if not facts["unanswered"]:
        return mean
    count = int(facts["unanswered"])
    more = ngettext("%(n)d more question to answer.", "%(n)d more questions to answer.", count) % {"n": count}
    return f"{mean} {more}"


def _unsafe(facts: Facts) -> str:
    if facts["talked_through"]:
        return _("Talked through; still to be answered right on another day.")
    if facts["right_since"]:
        return _("Answered right since; still to be talked through.")
    return _("Still to be talked through, and answered right on another day.")


def _sign_off(facts: Facts) -> str:
    if "appointed_by_observer" in facts:
        return _(
            "Whoever appointed gave the deciding observation: another manager appoints, or another mentor watches."
        )
    count = int(facts["observations"])
    said = ngettext("%(n)d passed observation to go.", "%(n)d passed observations to go.", count) % {"n": count}
    if facts.get("outside"):
        said = f"{said} {_('One of them by a mentor from outside.')}"
    if facts.get("small_shop"):
        said = f"{said} {_('By the small-shop exception of record %(number)d.') % {'number': facts['small_shop']}}"
    return said


def _stood_down(facts: Facts) -> str:
    count = int(facts["people"])
    said = ngettext("%(n)d person has to release it.", "%(n)d people have to release it.", count) % {"n": count}
    if facts["fresh_evidence"]:
        return said
    return f"{said} {_('Nothing fresh was seen since: a mentor observes a task, made alone, first.')}"


def _not_done(facts: Facts) -> str:
    return _("Asked for: done within the last %(n)d days.") % {"n": facts["within_days"]}


def _erased(facts: Facts) -> str:
    said = _("Erased on %(day)s: what was on record is no longer kept, so this cannot be answered.")
    return said % {"day": format_date(date.fromisoformat(str(facts["erased_on"])), "j M Y")}


_NOW: Mapping[Ground, Callable[[Facts], str]] = {
    Ground.RECALL_LIFE_QUESTIONS: _life_questions,
    Ground.RECALL_TOPIC: _topic,
    Ground.UNSAFE_ANSWER: _unsafe,
    Ground.SIGN_OFF: _sign_off,
    Ground.NOT_DONE_LATELY: _not_done,
    Ground.STOOD_DOWN: _stood_down,
    Ground.RECORD_UNREADABLE: _erased,
}


def _length(remedy: Remedy) -> tuple[bool, date, int, str]:
    """Shortest first: what can be done soonest, then what takes least; what nobody can date comes last."""
    return remedy.earliest_on is None, remedy.earliest_on or date.max, remedy.minutes, remedy.kind.value
