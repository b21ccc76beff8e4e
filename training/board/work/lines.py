"""Jobs as lines of a list: what, where, when, who, and where it stands, in words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from training.board.facts import JobPlanned
from training.board.labels import Voice, moment_words
from training.board.work.jobs import JobRead
from training.people.models import Person, Workshop


@dataclass(frozen=True, slots=True, kw_only=True)
class JobLine:
    """One job on a list. ``tone`` only repeats what the words say."""

    key: str
    title: str
    job_type: str
    vehicle: str
    bay: str
    lead: str
    second: str
    ends: str
    says: str
    tone: str
    is_waiting: bool


def lines_of(jobs: Iterable[JobRead], voice: Voice) -> list[JobLine]:
    """Jobs as lines, in the order given."""
    return [line_of(job, voice) for job in jobs]


def line_of(job: JobRead, voice: Voice) -> JobLine:
    """One job as a line; what cannot be read shows as a question mark, never as nothing."""
    said = job.said
    says, tone = _stands(job, voice)
    return JobLine(
        key=job.key,
        title=voice.job_types.get(said.job_type, said.job_type) if said else "?",
        job_type=said.job_type if said else "?",
        vehicle=said.vehicle if said else "?",
        bay=_bay_words(said.bay) if said else "",
        lead=voice.names.get(job.lead, "") if job.lead else "",
        second=voice.names.get(job.second, "") if job.second else "",
        ends=moment_words(said.planned_end, voice) if said else "?",
        says=says,
        tone=tone,
        is_waiting=job.is_waiting,
    )


def as_planned(job: JobRead, site: Workshop) -> dict[str, Any]:
    """What the form of a start of work begins with: as the job was planned or last started."""
    people = {person.key: person.pk for person in Person.objects.filter(workshop=site)}
    found: dict[str, Any] = {"lead": people.get(job.lead), "second_person": people.get(job.second)}
    said = job.said
    if said is not None:
        local = said.planned_end.astimezone(ZoneInfo(site.zone))
        found |= {"vehicle": said.vehicle, "family": said.family, "bay": said.bay}
        found["planned_end"] = local.strftime("%Y-%m-%dT%H:%M")
    return found | (_figures(job.plan) if job.plan else {})


def _figures(plan: JobPlanned) -> dict[str, str]:
    typed = {"highest_dc_v": plan.highest_dc_v, "highest_ac_v": plan.highest_ac_v, "mass_kg": plan.mass_kg}
    return {name: f"{float(figure):g}" for name, figure in typed.items()}


def _bay_words(bay: str) -> str:
    """A bay as people call it: "2" is bay 2, "Bay 2" and "Yard" are what they say."""
    return _("bay %(number)s") % {"number": bay} if bay[:1].isdigit() else bay


def _stands(job: JobRead, voice: Voice) -> tuple[str, str]:
    state = job.state
    if state.over is not None:
        return (_("closed") if state.over.closed else _("called off")), "aside"
    if state.unreadable:
        return _("cannot be read: nobody works on"), "stop"
    if job.is_waiting:
        late = job.plan is not None and job.plan.planned_end <= voice.now
        return (_("planned; the planned end is past") if late else _("planned")), "gap"
    if state.stops:
        return _("stopped"), "stop"
    if state.start is not None and state.start.planned_end <= voice.now:
        return _("running past its planned end"), "warn"
    return _("running"), "safe"
