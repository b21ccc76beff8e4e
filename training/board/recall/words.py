"""An outlook in words: what each lapse costs and how to keep it, what is below now, and a topic's state."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from training.board.gaps import gap_words, way_words
from training.board.labels import Voice, day_words, moment_words
from training.core.permission.decision import Ground
from training.core.permission.evidence import UnsafeAnswer
from training.core.permission.outlook import AHEAD, Ask, Lapse, Short, TopicOutlook
from training.core.permission.questions import is_life


@dataclass(frozen=True, slots=True, kw_only=True)
class UnsafeWords:
    """An open unsafe answer: to which topic and when, what still closes it, and what it keeps away."""

    title: str
    closes: str
    keeps: str


def topic_name(topic: str) -> str:
    """The topic in the reader's language."""
    return _(topic)


def listed(job_types: Sequence[str]) -> str:
    """Job types by their short keys: "B, C and D"."""
    if len(job_types) < 2:
        return "".join(job_types)
    return _("%(first)s and %(last)s") % {"first": ", ".join(job_types[:-1]), "last": job_types[-1]}


def whole_in_100(share: float) -> int:
    """A share of three decimals, rounded down, as whole ones in 100."""
    return int(round(share * 1000)) // 10


def asks_words(asks: Sequence[Ask]) -> list[tuple[float, str, bool]]:
    """Each floor once, with who asks for it: (share, words, whether it is asked of each life question)."""
    floors: dict[tuple[float, bool], list[str]] = {}
    for ask in asks:
        floors.setdefault((ask.life_floor, True), []).append(ask.job_type)
        if ask.mean_floor is not None:
            floors.setdefault((ask.mean_floor, False), []).append(ask.job_type)
    return [(share, _floor_words(share, of_life, keys), of_life) for (share, of_life), keys in floors.items()]


def lapse_words(lapse: Lapse, topic: str, voice: Voice) -> str:
    """ "On 14 Jan isolation falls below what C asks; 4 min of drill before that keeps it." """
    said = _("On %(day)s %(topic)s falls below what %(job_types)s asks")
    if len(lapse.job_types) > 1:
        said = _("On %(day)s %(topic)s falls below what %(job_types)s ask")
    if lapse.ending.by_day is not None:
        said = _("On %(day)s more questions of %(topic)s begin to count, and it falls below what %(job_types)s ask for")
    day = day_words(voice.day_of(lapse.ending.at), voice)
    lapses = said % {"day": day, "topic": topic_name(topic), "job_types": listed(lapse.job_types)}
    return _("%(lapses)s; %(way)s.") % {"lapses": lapses, "way": _kept(lapse)}


def is_near(lapse: Lapse, voice: Voice) -> bool:
    """Whether it falls within the days that are looked at."""
    return lapse.ending.at <= voice.now + AHEAD


def short_words(short: Short, voice: Voice) -> dict[str, str]:
    """What is below now, for which job types, and the way."""
    words = gap_words(short.gap, voice)
    return {
        "title": words.title,
        "job_types": listed(short.job_types),
        "now": words.now,
        "way": way_words(short.gap, voice, voice.today),
    }


def unsafe_words(answer: UnsafeAnswer, voice: Voice) -> UnsafeWords:
    """One open unsafe answer, for the person who gave it."""
    topic = topic_name(answer.topic)
    title = _("%(topic)s, answered %(at)s") % {"topic": topic, "at": moment_words(answer.happened_at, voice)}
    if not is_life(answer.consequence):
        keeps = _("It keeps you from no job.")
    else:
        keeps = _("Until then you may not take a job that asks for %(topic)s.") % {"topic": topic}
    return UnsafeWords(title=title, closes=_closes(answer), keeps=keeps)


def state_words(topic: TopicOutlook, voice: Voice) -> list[str]:
    """A topic's state for a manager, in sentences; not one answer among them."""
    below = {key: None for short in topic.shorts for key in short.job_types if short.gap.ground in _BELOW}
    said = [_("Not enough for %(job_types)s now.") % {"job_types": listed(list(below))}] if below else []
    if any(short.gap.ground is Ground.NO_QUESTIONS for short in topic.shorts):
        said.append(_("No question counts yet."))
    for lapse in topic.lapses:
        words = {"job_types": listed(lapse.job_types), "day": day_words(voice.day_of(lapse.ending.at), voice)}
        if is_near(lapse, voice):
            said.append(_("Enough for %(job_types)s until %(day)s.") % words)
        else:
            said.append(_("Enough for %(job_types)s for the next 90 days.") % words)
    return said or [_("Waits for what is open.")]


def open_unsafe_words(count: int) -> str:
    """How many unsafe answers are open."""
    if not count:
        return _("none")
    return ngettext("%(n)d open", "%(n)d open", count) % {"n": count}


_BELOW = frozenset({Ground.RECALL_TOPIC, Ground.RECALL_LIFE_QUESTIONS})


def _floor_words(share: float, of_life: bool, keys: Sequence[str]) -> str:
    figures = {"job_types": listed(keys), "n": whole_in_100(share)}
    if of_life:
        return _("each life question: %(n)d (%(job_types)s)") % figures
    return _("on average: %(n)d (%(job_types)s)") % figures


def _kept(lapse: Lapse) -> str:
    if lapse.minutes is None:
        return _("drilling shift by shift keeps it")
    return ngettext(
        "%(n)d min of drill before that keeps it", "%(n)d min of drill before that keeps it", lapse.minutes
    ) % {"n": lapse.minutes}


def _closes(answer: UnsafeAnswer) -> str:
    if answer.talked_through:
        return _("A mentor has talked it through. A right answer to it on another day closes it.")
    if answer.right_since:
        return _("You have answered it right since. A mentor's talk-through closes it.")
    return _("A right answer to it on another day and a mentor's talk-through close it.")
