"""Which forms a job's page shows to whom: those that the rules would not refuse for anything but what is typed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from training.board.work.jobs import JobRead
from training.core.permission.proving import Readings
from training.core.permission.running import (
    Counted,
    Ended,
    Event,
    InsulationRead,
    Measured,
    RemovalAsked,
    Removed,
    Running,
    Step,
    Stepped,
)
from training.core.permission.running_rules import refusals
from training.core.trade.reasons import Reason


def open_forms(job: JobRead, by: str, *, is_manager: bool, fallen: Sequence[Reason], at: datetime) -> tuple[str, ...]:
    """The names of the forms that this person may fill in now, the next step first."""
    return tuple(
        name
        for name, event in _tries(job.state, by, at)
        if not refusals(job.state, event, is_manager=is_manager, fallen=fallen)
    )


def _tries(state: Running, by: str, at: datetime) -> list[tuple[str, Event]]:
    """Each form as if it had been filled in well."""
    asked = state.removal
    here = [key for key in state.people if key not in state.away]
    lost = next((lock.person for lock in state.locks if lock.person != by), "")

    def step(which: Step, person: str = "") -> Stepped:
        return Stepped(at=at, by=by, step=which, person=person, says="-")

    everybody = len(state.people)
    return [
        ("agree", Removed(at=at, by=by, owner=asked.owner if asked else "")),
        ("back", step(Step.BACK, next(iter(sorted(state.away)), ""))),
        ("lock_on", step(Step.LOCK_ON, by)),
        ("measure", Measured(at=at, by=by, readings=Readings(instrument="-", testers=(), read_v={}))),
        ("count", Counted(at=at, by=by, tools_out=0, tools_back=0, people_clear=everybody, refitted="-")),
        ("insulation", InsulationRead(at=at, by=by, measured_ohm=1.0, maker_ohm=1.0, instrument="-")),
        ("warned", step(Step.WARNED)),
        ("lock_off", step(Step.LOCK_OFF, by)),
        ("energise", step(Step.ENERGISED)),
        ("label_off", step(Step.LABEL_OFF)),
        ("close", Ended(at=at, by=by, closed=True, says="-")),
        ("stop", step(Step.STOPPED)),
        ("away", step(Step.AWAY, here[0] if here else "")),
        ("offer", step(Step.OFFERED, "-")),
        ("told", step(Step.TOLD, next(iter(sorted(state.to_tell - {by})), ""))),
        ("remove", RemovalAsked(at=at, by=by, owner=lost, certain="-", tried="-", tells="-")),
        ("call_off", Ended(at=at, by=by, closed=False, says="-")),
    ]
