"""What the recall page and the topics page show, worked out now from the records."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from training.board.labels import Voice, day_words, moment_words
from training.board.queries import Reading, evidence_for, read_workshop
from training.board.recall import words
from training.board.recall.drawing import curve_of
from training.board.voices import voice_of
from training.core.permission.evidence import Evidence
from training.core.permission.outlook import LOOKED_AT_DAYS, Point, TopicOutlook, outlook
from training.drill.picking import job_types_sought
from training.people.models import Person, Workshop


def recall_page(person: Person, *, at: datetime) -> dict[str, Any]:
    """A person's own recall: curves, floors, lapses and what keeps them off, open unsafe answers."""
    reading, evidence, topics = _looked_ahead(person, person.workshop, at)
    voice = voice_of(reading.workshop, reading.rule_book, now=at)
    lapses = [
        (lapse.ending.at, words.lapse_words(lapse, topic.topic, voice))
        for topic in topics
        for lapse in topic.lapses
        if words.is_near(lapse, voice)
    ]
    open_now = [answer for answer in evidence.unsafe if answer.closed_at is None]
    return {
        **_head(reading, evidence, person, voice),
        "lapses": [said for _ends, said in sorted(lapses)],
        "unsafe": [words.unsafe_words(answer, voice) for answer in open_now],
        "topics": [_topic(number, topic, voice) for number, topic in enumerate(sorted(topics, key=_urgency), 1)],
    }


def topics_page(person: Person, workshop: Workshop, *, at: datetime) -> dict[str, Any]:
    """A person's topics for a manager: their states in words and how many unsafe answers are open; no single answer."""
    reading, evidence, topics = _looked_ahead(person, workshop, at)
    voice = voice_of(workshop, reading.rule_book, now=at)
    unsafe = Counter(answer.topic for answer in evidence.unsafe if answer.closed_at is None)
    asked = {topic.topic: topic for topic in topics}
    return {
        **_head(reading, evidence, person, voice),
        "topics": [
            {
                "name": words.topic_name(name),
                "states": words.state_words(asked[name], voice) if name in asked else [_("No job type asks for it.")],
                "unsafe": words.open_unsafe_words(unsafe[name]),
            }
            for name in [*asked, *(name for name in unsafe if name not in asked)]
        ],
    }


def _looked_ahead(
    person: Person, workshop: Workshop, at: datetime
) -> tuple[Reading, Evidence, tuple[TopicOutlook, ...]]:
    reading = read_workshop(workshop, read_at=at)
    evidence, book = evidence_for(reading, person, at=at), reading.rule_book
    if book is None:
        return reading, evidence, ()
    return reading, evidence, outlook(evidence, book, job_types_sought(person, book, at=at), at=at)


def _head(reading: Reading, evidence: Evidence, person: Person, voice: Voice) -> dict[str, Any]:
    """Whose page it is, as of when, what the letters mean, and whether the records can be relied on at all."""
    book = reading.rule_book
    return {
        "person": person,
        "workshop": reading.workshop,
        "book": book,
        "clock": moment_words(voice.now, voice),
        "known_at": reading.known_at,
        "parameter_set": evidence.parameter_set,
        "doubted": not reading.head.is_sound or bool(evidence.of.unreadable),
        "job_types": book.job_types if book else (),
    }


def _urgency(topic: TopicOutlook) -> tuple[bool, float]:
    """What is below comes first, then what lapses soonest."""
    return not topic.shorts, min((lapse.ending.at.timestamp() for lapse in topic.lapses), default=0.0)


def _topic(number: int, topic: TopicOutlook, voice: Voice) -> dict[str, Any]:
    name = words.topic_name(topic.topic)
    return {
        "number": number,
        "name": name,
        "counts": _counts(topic),
        "shorts": [words.short_words(short, voice) for short in topic.shorts],
        "holds": not topic.shorts and not any(words.is_near(lapse, voice) for lapse in topic.lapses),
        "asks": [said for _share, said, _of_life in words.asks_words(topic.asks)],
        "curve": curve_of(topic.points, words.asks_words(topic.asks), _axis_days(voice)) if topic.points else None,
        "text": _in_text(name, topic.points) if topic.points else "",
        "rows": [_row(point, voice) for point in topic.points],
    }


def _counts(topic: TopicOutlook) -> str:
    counted = ngettext("%(n)d question counts", "%(n)d questions count", topic.counted) % {"n": topic.counted}
    return _("%(counted)s, %(life)d of life consequence.") % {"counted": counted, "life": topic.life}


def _axis_days(voice: Voice) -> list[str]:
    thirds = [LOOKED_AT_DAYS[-1] * part // 3 for part in range(1, 4)]
    return [_("today"), *(date_format(voice.today + timedelta(days=days), "j M") for days in thirds)]


def _in_text(name: str, points: Sequence[Point]) -> str:
    """What the curve shows, for who does not see it."""
    first, last = points[0], points[-1]
    said = _(
        "Recall of %(topic)s without drill: today at least %(low)d in 100, likely %(likely)d; "
        "in %(days)d days at least %(later_low)d, likely %(later)d."
    )
    return said % {
        "topic": name,
        "low": words.whole_in_100(first.low),
        "likely": words.whole_in_100(first.likely),
        "days": last.days,
        "later_low": words.whole_in_100(last.low),
        "later": words.whole_in_100(last.likely),
    }


def _row(point: Point, voice: Voice) -> dict[str, Any]:
    return {
        "day": day_words(voice.today + timedelta(days=point.days), voice) if point.days else _("today"),
        "low": words.whole_in_100(point.low),
        "likely": words.whole_in_100(point.likely),
        "life": None if point.lowest_life is None else words.whole_in_100(point.lowest_life),
    }
