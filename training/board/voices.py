"""Makes the voice that speaks of one workshop: its zone, its people's names, its tasks and job types."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from training.bank.queries import newest_tasks
from training.board.labels import Voice
from training.board.queries import Reading
from training.core.permission.rule_book import RuleBook
from training.core.permission.validity import in_force
from training.people.models import Person, Workshop


def voice_of(workshop: Workshop, book: RuleBook | None, *, now: datetime) -> Voice:
    """The voice of a workshop at an instant."""
    people = Person.objects.filter(group_id=workshop.group_id)  # those who have left too: their records name them
    return Voice(
        zone=ZoneInfo(workshop.zone),
        now=now,
        names={person.key: person.short_name for person in people},
        tasks={ident: task.title for ident, task in newest_tasks(workshop.group_id).items()},
        job_types={job_type.key: job_type.title for job_type in book.job_types} if book else {},
    )


def voice_in(reading: Reading, *, now: datetime) -> Voice:
    """The voice of the workshop that was read, which knows who of its mentors comes from outside."""
    voice = voice_of(reading.workshop, reading.rule_book, now=now)
    outside = frozenset(
        key
        for key, evidence in reading.everybody.items()
        for one in evidence.mentor_appointments
        if one.outside and in_force(one, reading.workshop.key, voice.today)
    )
    return replace(voice, outside=outside)
