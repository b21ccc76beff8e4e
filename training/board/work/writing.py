"""Writing about jobs: planned, crewed, stepped, measured, ended. Each is checked against where the job stands first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from training.bank.queries import newest_tasks
from training.bank.rule_books import rule_book_of
from training.board import facts
from training.board.models import Job
from training.board.work.events import number_text, read_event
from training.board.work.jobs import JobRead, job_on_record
from training.board.work.now import running_for
from training.board.work.stopped import readers_of
from training.board.work.watch import fallen
from training.core.permission.planning import Plan, may_plan
from training.core.permission.running_rules import refusals
from training.core.permission.start_of_work import SECOND_PERSON
from training.core.trade.calendar import local_day
from training.core.trade.reasons import Reason
from training.people.models import Person, Workshop, new_key
from training.people.queries import is_manager, people_of
from training.records.actions import Refused, append, hold
from training.records.facts import Fact
from training.records.models import Record
from training.records.queries import facts_of


class NotYet(Refused):
    """Nothing was recorded; ``reasons`` says what comes first."""

    def __init__(self, reasons: Iterable[Reason]) -> None:
        self.reasons = tuple(reasons)
        super().__init__(" ".join(reason.sentence for reason in self.reasons))


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """A job as somebody plans it; ``family`` is the vehicle family, ``tasks`` those that the job practises."""

    job_type: str
    family: str
    plan: Plan
    tasks: tuple[str, ...] = ()


@transaction.atomic
def plan_job(planned: Planned, *, workshop: Workshop, by: Person, at: datetime, key: str = "") -> str:
    """Plan a job and return its key; a form's own ``key`` is planned once, and a second tap finds it again.

    A manager plans any, everybody else those that they lead. Raises ``NotYet``.
    """
    hold(workshop.group.chain_id)
    plan = planned.plan
    if key and Job.objects.filter(workshop=workshop, key=key).exists():
        return key
    if not is_manager(by) and plan.lead != by.key:
        raise Refused(_("A manager plans this job, or whoever leads it themselves."))
    reasons = may_plan(plan, at)
    if reasons:
        raise NotYet(reasons)
    _known_words(planned, workshop)
    _of_the_workshop((plan.lead, plan.second), workshop)
    assert plan.starts is not None
    assert plan.ends is not None
    job = Job.objects.create(workshop=workshop, key=key or new_key(), day=local_day(plan.starts, workshop.zone))
    fact = facts.JobPlanned(
        workshop=workshop.key,
        job_type=planned.job_type,
        vehicle=plan.vehicle.strip(),
        family=planned.family.strip(),
        highest_dc_v=number_text(plan.highest_dc_v),
        highest_ac_v=number_text(plan.highest_ac_v),
        mass_kg=number_text(plan.mass_kg),
        bay=plan.bay.strip(),
        starts=plan.starts,
        planned_end=plan.ends,
        lead=plan.lead,
        second_person=plan.second,
        tasks=list(planned.tasks),
        by=by.key,
    )
    append(fact, chain_id=workshop.group.chain_id, about=job.key, at=at)
    return job.key


@transaction.atomic
def name_crew(*, key: str, workshop: Workshop, lead: str, second: str, by: Person, at: datetime) -> Record:
    """A manager names who leads a planned job and who is second person; the start of work asks everything anew."""
    hold(workshop.group.chain_id)
    job = _found(workshop, key)
    if not is_manager(by):
        raise Refused(_("A manager names the crews."))
    if not job.is_waiting:
        raise Refused(_("This job has started or is over. A change of people is a hand-over, on the job's own page."))
    if lead and lead == second:
        raise Refused(_("Nobody can lead and be second person."))
    _of_the_workshop((lead, second), workshop)
    fact = facts.CrewNamed(lead=lead, second_person=second, by=by.key)
    return append(fact, chain_id=workshop.group.chain_id, about=key, at=at)


@transaction.atomic
def write(fact: Fact, *, key: str, workshop: Workshop, by: Person, at: datetime) -> Record:
    """Write about a job what may be written where it stands. Raises ``NotYet`` with everything that comes first.

    All is read under the chain's lock, so that no stand-down and no other hand slips in between.
    """
    hold(workshop.group.chain_id)
    job = _found(workshop, key)
    try:
        event = read_event(fact, at=at)
    except (ValueError, KeyError) as wrong:
        raise Refused(_("A figure or a word cannot be read. Nothing was recorded.")) from wrong
    manages = is_manager(by) or (job.is_waiting and by.key == job.lead)
    reasons = refusals(job.state, event, is_manager=manages, fallen=fallen(workshop, job, at=at))
    if reasons:
        raise NotYet(reasons)
    return append(fact, chain_id=workshop.group.chain_id, about=key, at=at)


@transaction.atomic
def read_stop(*, key: str, workshop: Workshop, by: Person, at: datetime) -> None:
    """Somebody whose pages say that a job has to stop has read it; a second tap finds the first again."""
    hold(workshop.group.chain_id)
    shown = next((one for one in running_for(by, at=at) if one.job.key == key and one.workshop == workshop), None)
    if shown is None or not shown.ended:
        raise Refused(_("This job does not have to stop, or not any more. Open it to see where it stands."))
    if by.key not in readers_of(shown.job, shown.ended):
        fact = facts.StopRead(reasons=[reason.sentence for reason in shown.ended], by=by.key)
        append(fact, chain_id=workshop.group.chain_id, about=key, at=at)


@transaction.atomic
def confirm_done(*, key: str, workshop: Workshop, person: str, task: str, by: Person, at: datetime) -> Record:
    """Confirm that somebody did a task on a job that is closed: by another person of that job, once. It is currency."""
    hold(workshop.group.chain_id)
    job = _found(workshop, key)
    if task not in {one for waiting, one in waiting_to_be_confirmed(job, workshop, by=by.key) if waiting == person}:
        raise Refused(_("Somebody else who was on the job confirms a task, once, when the job is closed."))
    assert job.state.over is not None
    version = newest_tasks(workshop.group_id)[task].number
    fact = facts.TaskDone(workshop=workshop.key, job=key, task=task, version=version, by=by.key)
    return append(fact, chain_id=workshop.group.chain_id, about=person, at=at, happened_at=job.state.over.at)


def waiting_to_be_confirmed(job: JobRead, workshop: Workshop, *, by: str) -> list[tuple[str, str]]:
    """Person and task, of those whose hands were in a job that is closed, which this other person on it may confirm."""
    over, said = job.state.over, job.said
    if over is None or not over.closed or by not in job.state.people or not isinstance(said, facts.WorkStarted):
        return []
    known = newest_tasks(workshop.group_id)
    workers = sorted(job.state.workers - {by})
    done = {
        (row.about, row.fact.task)
        for row in facts_of([facts.TaskDone], chain_id=workshop.group.chain_id, about=workers)
        if row.fact is not None and row.fact.job == job.key
    }
    pairs = [(person, task) for person in workers for task in said.tasks if task in known]
    return [pair for pair in pairs if pair not in done]


def _found(workshop: Workshop, key: str) -> JobRead:
    job = job_on_record(workshop, key)
    if job is None:
        raise Refused(_("There is no such job here."))
    return job


def _known_words(planned: Planned, workshop: Workshop) -> None:
    book = rule_book_of(workshop)
    job_types = {one.key for one in book.job_types} - {SECOND_PERSON} if book else set[str]()
    if planned.job_type not in job_types:
        raise Refused(_("The rule book in force here has no such job type."))
    if not set(planned.tasks) <= set(newest_tasks(workshop.group_id)):
        raise Refused(_("One of the tasks is not on the list. Open the page anew."))


def _of_the_workshop(keys: Iterable[str], workshop: Workshop) -> None:
    named = {key for key in keys if key}
    if people_of(workshop).filter(key__in=named).count() != len(named):
        raise Refused(_("Somebody named is not at this workshop."))
