"""A running job at its edges: what nobody said, nothing taken in, and who may enter what."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.core.permission.test_running import AT, Job
from training.core.permission.proving import Proving
from training.core.permission.running import Event, HandBack, RemovalAsked, Running, Started, Step, Stepped, state_at
from training.core.permission.running_rules import refusals, stops


def test_of_a_job_of_which_nothing_was_written_nothing_is_known() -> None:
    nothing = Running()
    assert (nothing.isolated, nothing.had_proof, nothing.energised, nothing.label_off) == (False, False, False, False)
    assert (nothing.start, nothing.over, nothing.proof, nothing.removal) == (None, None, None, None)
    assert (nothing.back, HandBack().warned) == (HandBack(), False)
    assert (nothing.asks_second, nothing.asks_proof, nothing.busy) == (False, False, frozenset())
    assert nothing.lock_of("lea") is None
    assert stops(nothing, AT) == ()


def test_what_nobody_said_of_a_record_is_the_least() -> None:
    assert Event(at=AT, by="lea").record == 0
    asked = RemovalAsked(at=AT, by="kim", owner="lea", certain="", tried="", tells="")
    assert asked.by_manager is False
    began = Started(at=AT, by="lea", lead="lea", planned_end=AT)
    assert (began.second, began.supervisor, began.second_rule) == ("", "", "whole job")
    assert (began.proving, began.points) == (Proving.DEAD, ())
    step = Stepped(at=AT, by="lea", step=Step.WARNED)
    assert (step.person, step.says) == ("", "")


def test_nobody_is_a_manager_unless_it_is_said() -> None:
    job = Job(begin=False)
    assert {reason.code for reason in refusals(job.state, job.end(closed=False))} == {"manager_only"}


def test_a_job_stands_at_a_moment_as_what_was_written_by_then_leaves_it() -> None:
    job = Job().locked()
    began, locked = job.events
    assert state_at(job.events, began.at - timedelta(seconds=1)).start is None
    assert state_at(job.events, began.at).start is began
    assert state_at(job.events, locked.at - timedelta(seconds=1)).locks == ()
    assert state_at(job.events, locked.at).lock_of("lea") is not None


def test_hours_are_told_in_hours() -> None:
    job = Job()
    (reason,) = stops(job.state, AT + timedelta(hours=11))
    assert dict(reason.values) == {"hours": "10"}


def test_no_tools_in_and_none_back_are_none_missing() -> None:
    job = Job().proved()
    assert job.refused(job.count(tools_out=0, tools_back=0)) == set()
    assert job.refused(job.count(tools_out=1, tools_back=0)) == {"tools_missing"}
    assert job.refused(job.count(tools_out=1, tools_back=2)) == {"tools_missing"}


def test_whoever_is_away_is_not_counted_as_clear() -> None:
    job = Job(second_rule="until proved dead").proved()
    job.put(job.step(Step.AWAY, "sam"))
    assert job.refused(job.count(people_clear=0)) == {"people_missing"}
    assert job.refused(job.count(people_clear=1)) == set()


@pytest.mark.parametrize("by", ["sam", "kim"])
def test_only_the_person_in_control_enters_readings_counts_values_and_the_end(by: str) -> None:
    job = Job().ready()
    events = [job.measure(by=by), job.count(by), job.step(Step.WARNED, by=by), job.step(Step.ENERGISED, by=by)]
    events += [job.step(Step.OFFERED, "lea", by=by), job.end(by)]
    for event in events:
        assert "lead_only" in job.refused(event), event


def test_only_somebody_on_the_job_or_a_manager_enters_who_is_back() -> None:
    job = Job()
    job.put(job.step(Step.AWAY, "sam"))
    assert job.refused(job.step(Step.BACK, "sam", by="kim")) == {"not_on_job"}
    assert job.refused(job.step(Step.BACK, "sam", by="kim"), is_manager=True) == set()


def test_a_lock_is_put_on_once_and_taken_off_alone() -> None:
    job = Job().locked()
    for who in ("kim", "sam"):
        job.put(job.step(Step.LOCK_ON, who, by=who))
    assert [lock.person for lock in job.state.locks] == ["lea", "kim", "sam"]
    assert {"lea", "kim", "sam"} <= job.state.workers
    job.put(job.step(Step.LOCK_OFF, "kim", by="kim"))
    assert [lock.person for lock in job.state.locks] == ["lea", "sam"]
    assert job.refused(job.step(Step.LOCK_ON, "kim", by="kim")) == set()


def test_until_proved_dead_the_second_person_is_asked_for_and_then_no_more() -> None:
    job = Job(second_rule="until proved dead")
    assert job.state.asks_second
    assert not job.proved().state.asks_second
    energised = Job(second_rule="until proved dead").energised()
    energised.put(energised.step(Step.STOPPED, says="smell"))
    assert energised.state.proof is None
    assert not energised.state.asks_second
    assert not energised.state.asks_proof


def test_that_there_was_proof_once_is_kept_through_stops_and_bad_rounds() -> None:
    job = Job().proved()
    assert job.state.had_proof
    assert job.put(job.measure(20.0)).had_proof
    assert job.put(job.step(Step.STOPPED, says="smell")).had_proof
    assert not Job().locked().state.had_proof
    early = Job().locked()
    assert not early.put(early.measure(20.0)).had_proof
