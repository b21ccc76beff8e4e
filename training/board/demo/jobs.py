"""The demo's jobs of today: planned, and started where the story says so, through the same actions as on the pages."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

from training.bank.rule_books import house_of
from training.board.demo.house import House
from training.board.demo.reading import JobToday, StartedToday
from training.board.work.actions import Asked, answer
from training.board.work.writing import Planned, plan_job
from training.core.permission.planning import Plan
from training.core.permission.start_of_work import Answers
from training.core.trade.fitness import Job
from training.core.trade.lifting import Pads
from training.equipment.models import KitItem
from training.people.models import Workshop, new_key

LAST_START = time(23, 59)


class DemoJobNotStarted(RuntimeError):
    """A job of the demo that the start of work does not let begin; the message says what is missing."""


def plan_and_start(house: House) -> int:
    """Plan the jobs of the day and start those that run; how many there are. Raises ``DemoJobNotStarted``."""
    told = [(house.workshops[slug], one) for slug, jobs in house.story.jobs.items() for one in jobs]
    for workshop, job in told:
        key = _planned(house, workshop, job)
        if job.started is not None:
            _start(house, workshop, job, job.started, key)
    return len(told)


def _planned(house: House, workshop: Workshop, told: JobToday) -> str:
    starts = _starts(house, workshop, told)
    plan = Plan(
        vehicle=told.vehicle,
        highest_dc_v=told.highest_dc_v,
        highest_ac_v=told.highest_ac_v,
        mass_kg=told.mass_kg,
        bay=told.bay,
        starts=starts,
        ends=starts + timedelta(minutes=told.minutes),
        lead=house.people[told.lead].key if told.lead else "",
        second=house.people[told.second].key if told.second else "",
    )
    planned = Planned(job_type=told.job_type, family=told.family, plan=plan, tasks=told.tasks)
    return plan_job(planned, workshop=workshop, by=house.people[told.planned_by], at=house.now)


def _starts(house: House, workshop: Workshop, told: JobToday) -> datetime:
    """The planned start, on the day of loading whatever the hour."""
    local = house.now.astimezone(ZoneInfo(workshop.zone))
    last = datetime.combine(local.date(), LAST_START, tzinfo=local.tzinfo)
    return min(house.now + timedelta(minutes=told.starts_in), max(last.astimezone(UTC), house.now))


def _start(house: House, workshop: Workshop, told: JobToday, started: StartedToday, key: str) -> None:
    lead, second = house.people[told.lead], house.people[told.second] if told.second else None
    asked = Asked(
        key=new_key(),
        workshop=workshop,
        job_type=told.job_type,
        lead=lead,
        second=second,
        supervisor=None,
        lead_kit=_kit(workshop, started.lead_kit),
        second_kit=frozenset(),
        job=_vehicle(workshop, told, started),
        answers=_answers(house, workshop, told),
        on_job=key,
        bay=told.bay,
        tasks=told.tasks,
    )
    answered = answer(asked, by=lead, at=house.now)
    if answered.number is None:
        missing = " ".join(one.reason.sentence for one in answered.missing)
        raise DemoJobNotStarted(f"fixtures_demo/jobs.yaml, {told.vehicle}: {missing}")


def _kit(workshop: Workshop, idents: tuple[str, ...]) -> frozenset[int]:
    return frozenset(KitItem.objects.get(workshop=workshop, ident=ident).pk for ident in idents)


def _vehicle(workshop: Workshop, told: JobToday, started: StartedToday) -> Job:
    return Job(
        highest_dc_v=told.highest_dc_v,
        highest_ac_v=told.highest_ac_v,
        regime=workshop.regime,  # type: ignore[arg-type]
        point_of_work="not at HV",
        mass_kg=told.mass_kg,
        rear_axle_kg=started.rear_axle_kg,
        wheelbase_m=started.wheelbase_m,
        pads=Pads(started.front_pads_m, started.rear_pads_m),
        house=house_of(workshop),
    )


def _answers(house: House, workshop: Workshop, told: JobToday) -> Answers:
    ends = _starts(house, workshop, told) + timedelta(minutes=told.minutes)
    return Answers(vehicle=told.vehicle, family=told.family, planned_end=ends)
