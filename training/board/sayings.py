"""Starts of work and what is written about jobs, in words."""

from __future__ import annotations

from collections.abc import Sequence
from zoneinfo import ZoneInfo

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from training.board.facts import TaskDone, WorkStarted
from training.board.privacy.facts import CopyGiven, ErasureConfirmed, ErasureProposed
from training.board.work.said import SAID
from training.people.disputes import disputable, never
from training.people.models import Workshop
from training.people.sentences import Names, Saying, say, say_many


def say_all() -> None:
    """Tell the pages of records how to say it, and what of it the person whom it is about may dispute."""
    for shape, saying in SAID.items():
        say(shape, saying)
    say_many(WorkStarted, starts_said)
    say(TaskDone, task_done)
    say(CopyGiven, copy_given)
    say(ErasureProposed, erasure_proposed)
    say(ErasureConfirmed, erasure_confirmed)
    disputable(TaskDone, against=never)
    disputable(CopyGiven, against=never)


def copy_given(fact: CopyGiven, names: Names) -> str:
    """Who gave out a copy, and why."""
    return _("%(name)s gave out a copy of all records: %(why)s") % {"name": names.get(fact.by, "?"), "why": fact.why}


def erasure_proposed(fact: ErasureProposed, names: Names) -> str:
    """Who proposed to erase how many records, and why."""
    return _("%(name)s proposed to erase what %(count)d records say: %(why)s") % {
        "name": names.get(fact.by, "?"),
        "count": len(fact.numbers),
        "why": fact.why,
    }


def erasure_confirmed(fact: ErasureConfirmed, names: Names) -> str:
    """Who confirmed such a proposal."""
    return _("%(name)s confirmed the erasure proposed by record %(number)d.") % {
        "name": names.get(fact.by, "?"),
        "number": fact.record,
    }


def task_done(fact: TaskDone, names: Names) -> str:
    """A task done on a job, and who confirmed it."""
    said = {"task": fact.task, "where": names.get(fact.workshop, "?"), "name": names.get(fact.by, "?")}
    return _("Did task %(task)s on a job at %(where)s, confirmed by %(name)s. It counts as last done.") % said


def starts_said(facts: Sequence[WorkStarted]) -> Saying:
    """Who started which job on what, until when, and with whom as second person; all clocks looked up once."""
    keys = {fact.workshop for fact in facts}
    zones = dict(Workshop.objects.filter(key__in=keys).values_list("key", "zone"))
    return lambda fact, names: _started(fact, names, zones.get(fact.workshop, "UTC"))


def _started(fact: WorkStarted, names: Names, zone: str) -> str:
    said = _("Start of work, job type %(job_type)s, on %(vehicle)s: %(lead)s leads, planned until %(until)s.") % {
        "job_type": fact.job_type,
        "vehicle": fact.vehicle,
        "lead": names.get(fact.lead, "?"),
        "until": date_format(fact.planned_end.astimezone(ZoneInfo(zone)), "j M Y, H:i"),
    }
    if not fact.second_person:
        return said
    return f"{said} {_('Second person: %(name)s.') % {'name': names.get(fact.second_person, '?')}}"
