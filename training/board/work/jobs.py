"""Reading jobs: each with its plan, its starts of work and where it stands, folded from its records."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, datetime

from training.board.facts import CrewNamed, JobPlanned, LockRemoved, WorkStarted
from training.board.models import Job
from training.board.work.events import ENDS, NOTED, PLANNED, WORKED, event_of
from training.core.permission.running import Event, Running, Unreadable, state_at, state_of
from training.core.permission.start_of_work import OtherJob
from training.people.models import Workshop
from training.records.facts import Fact
from training.records.models import Record
from training.records.queries import Written, facts_of, unknown_about


@dataclass(frozen=True, slots=True, kw_only=True)
class JobRead:
    """One job as its records tell it. ``lead`` and ``second`` are those named last, by plan, crew or start of work."""

    key: str
    plan: JobPlanned | None
    start: Written[WorkStarted] | None
    starts: tuple[Written[WorkStarted], ...]
    crew: CrewNamed | None
    events: tuple[Event, ...]
    written: tuple[Written[Fact], ...]
    state: Running

    @property
    def said(self) -> WorkStarted | JobPlanned | None:
        """What was said last of vehicle, job type, planned end; None where nothing can be read."""
        return self.start.fact if self.start and self.start.fact else self.plan

    @property
    def lead(self) -> str:
        """The key of whoever leads it, or is named to."""
        if self.state.start is not None:
            return self.state.start.lead
        named = self.crew or self.plan
        return named.lead if named else ""

    @property
    def second(self) -> str:
        """The key of the second person, or of whoever is named to be."""
        if self.state.start is not None:
            return self.state.start.second
        named = self.crew or self.plan
        return named.second_person if named else ""

    @property
    def is_waiting(self) -> bool:
        """Planned, not started, not called off."""
        return not self.starts and self.state.over is None

    @property
    def is_running(self) -> bool:
        """Started and not over; also where the start cannot be read."""
        return bool(self.starts) and self.state.over is None

    def stood_at(self, at: datetime) -> Running:
        """Where the job stood at a moment."""
        return state_at(self.events, at)


def job_on_record(workshop: Workshop, key: str) -> JobRead | None:
    """A job of this workshop; None where there is none."""
    if not Job.objects.filter(workshop=workshop, key=key).exists():
        return None
    return jobs_read([key], chain_id=workshop.group.chain_id)[key]


def register(workshop: Workshop, key: str, day: date) -> None:
    """Enter a job under its day, once."""
    Job.objects.get_or_create(key=key, defaults={"workshop": workshop, "day": day})


def jobs_read(keys: Iterable[str], *, chain_id: int) -> dict[str, JobRead]:
    """These jobs, each folded from everything written about it; records of unknown kinds count as unreadable."""
    wanted = list(dict.fromkeys(keys))
    rows: dict[str, list[Written[Fact]]] = defaultdict(list)
    for row in facts_of([*PLANNED, *WORKED, *NOTED], chain_id=chain_id, about=wanted):
        rows[row.about].append(row)
    unknown = unknown_about(wanted, chain_id=chain_id)
    return {key: _read(key, rows[key], unknown.get(key, ())) for key in wanted}


def jobs_of_day(workshop: Workshop, day: date) -> list[JobRead]:
    """The jobs of a local day, and those of earlier days that are not over, by planned start."""
    chain_id = workshop.group.chain_id
    of_day = list(Job.objects.filter(workshop=workshop, day=day).values_list("key", flat=True))
    own = Job.objects.filter(workshop=workshop, key__in=keys_going_on(chain_id)).values_list("key", flat=True)
    found = jobs_read([*of_day, *own], chain_id=chain_id)
    return sorted(found.values(), key=_place)


def keys_going_on(chain_id: int) -> list[str]:
    """The jobs of a group that were started and that nothing has ended; kinds stand in the sealed envelope."""
    ended = Record.objects.filter(chain_id=chain_id, kind__in=ENDS).values("about")
    started = Record.objects.filter(chain_id=chain_id, kind=WorkStarted.kind).exclude(about__in=ended)
    return list(dict.fromkeys(started.order_by("number").values_list("about", flat=True)))


def jobs_besides(chain_id: int, *, besides: str) -> tuple[OtherJob, ...]:
    """Everybody of the group who is on another job; anybody may be on one whose records cannot all be read."""
    keys = [key for key in keys_going_on(chain_id) if key != besides]
    return tuple(other for job in jobs_read(keys, chain_id=chain_id).values() for other in _others(job))


def untold(chain_id: int) -> frozenset[str]:
    """Whoever lost their lock on any job of the group in their absence, and has not been told."""
    removed = Record.objects.filter(chain_id=chain_id, kind=LockRemoved.kind).values_list("about", flat=True)
    jobs = jobs_read(removed, chain_id=chain_id).values()
    return frozenset[str]().union(*(job.state.to_tell for job in jobs))


def _read(key: str, rows: list[Written[Fact]], unknown: Collection[int]) -> JobRead:
    events = [event for row in rows if (event := event_of(row)) is not None]
    events += [Unreadable(record=number, at=_EARLIEST, by="") for number in unknown]
    starts = [row for row in rows if row.kind == WorkStarted.kind]
    plans = [row.fact for row in rows if isinstance(row.fact, JobPlanned)]
    crews = [row.fact for row in rows if isinstance(row.fact, CrewNamed)]
    return JobRead(
        key=key,
        plan=plans[-1] if plans else None,
        start=starts[-1] if starts else None,  # type: ignore[arg-type]
        starts=tuple(starts),  # type: ignore[arg-type]
        crew=crews[-1] if crews else None,
        events=tuple(events),
        written=tuple(rows),
        state=state_of(events),
    )


def _others(job: JobRead) -> list[OtherJob]:
    number = job.start.number if job.start else 0
    found = [OtherJob(record=number, person=person) for person in sorted(job.state.busy)]
    return [*found, OtherJob(record=number, person="")] if job.state.unreadable else found


def _place(job: JobRead) -> tuple[datetime, str]:
    first = next((row.happened_at for row in job.written), _EARLIEST)
    return (job.plan.starts if job.plan else first), job.key


_EARLIEST = datetime.fromisoformat("0001-01-01T00:00:00+00:00")
