"""Facts of the workshop as a whole: jobs planned, started, running and over. About: the job's key, save ``TaskDone``.

Figures are text as they were typed, in the unit that their name says.
"""

from __future__ import annotations

from datetime import datetime
from typing import ClassVar

from training.records.facts import Fact


class JobPlanned(Fact, frozen=True):
    """A job as it was planned. ``lead`` and ``second_person`` may be "": they are named later."""

    kind: ClassVar[str] = "board.job_planned"
    workshop: str
    job_type: str
    vehicle: str
    family: str
    highest_dc_v: str
    highest_ac_v: str
    mass_kg: str
    bay: str
    starts: datetime
    planned_end: datetime
    lead: str
    second_person: str
    tasks: list[str]
    by: str


class CrewNamed(Fact, frozen=True):
    """Who is to lead a planned job and who is to be second person; the newest stands."""

    kind: ClassVar[str] = "board.crew_named"
    lead: str
    second_person: str
    by: str


class WorkStarted(Fact, frozen=True):
    """A start of work that was answered yes: job, people, kit, and the decisions it stood on (JSON text).

    ``form`` is the key of the form that asked; ``second_rule`` and ``proving`` are what the rule book asked then. A
    record without them asks for all of it.
    """

    kind: ClassVar[str] = "board.work_started"
    workshop: str
    job_type: str
    vehicle: str
    lead: str
    second_person: str
    kit: list[str]
    planned_end: datetime
    decision: str
    by: str
    form: str = ""
    family: str = ""
    bay: str = ""
    supervisor: str = ""
    second_rule: str = "whole job"
    proving: str = "dead"
    ac_points: bool = True
    pack_work: bool = True
    tasks: list[str] = []


class JobStep(Fact, frozen=True):
    """A step by or about a person that needs no figures; ``step`` is one of ``core.permission.running.Step``."""

    kind: ClassVar[str] = "board.job_step"
    step: str
    person: str
    says: str
    by: str


class SourceTried(Fact, frozen=True):
    """The tester on a known source, for DC or AC, before and after measuring; "" where nothing was typed."""

    current: str
    source: str
    source_v: str
    before_v: str
    after_v: str
    by_procedure: bool


class PairRead(Fact, frozen=True):
    """One pair of points and what the tester showed."""

    side: str
    current: str
    first: str
    second: str
    read_v: str


class PointsMeasured(Fact, frozen=True):
    """A round of readings: instrument, the tester proved before and after, every pair, the maker's values."""

    kind: ClassVar[str] = "board.points_measured"
    instrument: str
    testers: list[SourceTried]
    pairs: list[PairRead]
    maker_dc_v: str
    maker_ac_v: str
    maker_wait_min: str
    waited_min: str
    by: str


class JobCounted(Fact, frozen=True):
    """Tools that went in and came back, people clear of the vehicle, what was refitted."""

    kind: ClassVar[str] = "board.job_counted"
    tools_out: int
    tools_back: int
    people_clear: int
    refitted: str
    by: str


class InsulationTyped(Fact, frozen=True):
    """The insulation value before the disconnect is closed, and the maker's figure for it."""

    kind: ClassVar[str] = "board.insulation_typed"
    measured_ohm: str
    maker_ohm: str
    instrument: str
    by: str


class LockRemovalAsked(Fact, frozen=True):
    """Somebody asks to take off an absent person's lock, by the written rule."""

    kind: ClassVar[str] = "board.lock_removal_asked"
    owner: str
    certain: str
    tried: str
    tells: str
    by_manager: bool
    by: str


class LockRemoved(Fact, frozen=True):
    """A second person agreed to what record ``asked`` asks, and the absent person's lock was taken off."""

    kind: ClassVar[str] = "board.lock_removed"
    owner: str
    asked: int
    by: str


class StopRead(Fact, frozen=True):
    """Somebody on the job, or a manager, has read that the work has to stop; ``reasons`` are all that stood there."""

    kind: ClassVar[str] = "board.stop_read"
    reasons: list[str]
    by: str


class JobClosed(Fact, frozen=True):
    """Handed back and closed: to whom, and what they were told."""

    kind: ClassVar[str] = "board.job_closed"
    handed_to: str
    by: str


class JobCalledOff(Fact, frozen=True):
    """Called off before anything was locked off, or because its records cannot be read; ``why`` says so."""

    kind: ClassVar[str] = "board.job_called_off"
    why: str
    by: str


class TaskDone(Fact, frozen=True):
    """A practical task was done on a job that is closed, and somebody else on that job confirms it.

    About: the person who did it.
    """

    kind: ClassVar[str] = "board.task_done"
    workshop: str
    job: str
    task: str
    version: int
    by: str
