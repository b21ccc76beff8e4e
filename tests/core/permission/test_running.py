"""The fold of a job: where it stands after anything that was written, and laws that no order of events breaks."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from training.core.permission.proving import ProvedTester, Proving, Readings
from training.core.permission.running import (
    Counted,
    Ended,
    Event,
    InsulationRead,
    Measured,
    RemovalAsked,
    Removed,
    Running,
    Started,
    Step,
    Stepped,
    Unreadable,
    state_at,
    state_of,
)
from training.core.permission.running_rules import holds_up, refusals, stops
from training.core.trade.isolation import MakerDead
from training.core.trade.meters import points_to_test
from training.core.trade.reasons import because

AT = datetime(2026, 3, 2, 8, tzinfo=UTC)
POINTS = points_to_test(ac_side=True, pack_work=False)
PEOPLE = ("lea", "sam", "kim")


def tried(current: Any, **changed: Any) -> ProvedTester:
    right = {"source": "proving unit", "source_v": 500.0, "before_v": 498.0, "after_v": 502.0}
    return ProvedTester(current=current, **{**right, **changed})


def readings(volts: float = 0.4, **changed: Any) -> Readings:
    right: dict[str, Any] = {
        "instrument": "M-1",
        "testers": (tried("DC"), tried("AC")),
        "read_v": dict.fromkeys(POINTS, volts),
        "maker": MakerDead(dc_v=5.0, ac_v=5.0),
        "maker_wait_min": 5.0,
        "waited_min": 6.0,
    }
    return Readings(**{**right, **changed})


class Job:
    """Events one after another, a minute apart, each asked of the rules before it is written."""

    def __init__(self, **started: Any) -> None:
        self.events: list[Event] = []
        if started.pop("begin", True):
            self.put(self.start(**started))

    @property
    def state(self) -> Running:
        return state_of(self.events)

    def stamp(self, by: str) -> dict[str, Any]:
        record = len(self.events) + 1
        return {"record": record, "at": AT + timedelta(minutes=record), "by": by}

    def start(self, by: str = "lea", **changed: Any) -> Started:
        right: dict[str, Any] = {"lead": "lea", "second": "sam", "points": POINTS}
        right |= {"planned_end": AT + timedelta(hours=6), "second_rule": "until proved dead"}
        return Started(**self.stamp(by), **{**right, **changed})

    def step(self, step: Step, person: str = "", by: str = "lea", says: str = "17") -> Stepped:
        return Stepped(**self.stamp(by), step=step, person=person, says=says)

    def refused(self, event: Event, *, is_manager: bool = False, **more: Any) -> set[str]:
        return {reason.code for reason in refusals(self.state, event, is_manager=is_manager, **more)}

    def put(self, event: Event, *, is_manager: bool = False) -> Running:
        assert self.refused(event, is_manager=is_manager) == set()
        self.events.append(event)
        return self.state

    def measure(self, volts: float = 0.4, by: str = "lea", **changed: Any) -> Measured:
        return Measured(**self.stamp(by), readings=readings(volts, **changed))

    def count(self, by: str = "lea", **changed: Any) -> Counted:
        right: dict[str, Any] = {"tools_out": 9, "tools_back": 9, "people_clear": 2, "refitted": "Covers"}
        return Counted(**self.stamp(by), **{**right, **changed})

    def insulation(self, measured_ohm: float = 12e6, **changed: Any) -> InsulationRead:
        right: dict[str, Any] = {"maker_ohm": 5e6, "instrument": "R-1"}
        return InsulationRead(**self.stamp("lea"), measured_ohm=measured_ohm, **{**right, **changed})

    def removal(self, owner: str = "lea", by: str = "kim", **changed: Any) -> RemovalAsked:
        right: dict[str, Any] = {"certain": "gate", "tried": "rang", "tells": "kim", "by_manager": True}
        return RemovalAsked(**self.stamp(by), owner=owner, **{**right, **changed})

    def removed(self, by: str, owner: str = "lea") -> Removed:
        return Removed(**self.stamp(by), owner=owner)

    def end(self, by: str = "lea", *, closed: bool = True, says: str = "M. Counter") -> Ended:
        return Ended(**self.stamp(by), closed=closed, says=says)

    def locked(self) -> Job:
        self.put(self.step(Step.LOCK_ON, "lea"))
        return self

    def proved(self) -> Job:
        self.locked().put(self.measure())
        assert self.state.proof is not None
        return self

    def ready(self) -> Job:
        self.proved()
        for event in (self.count, self.insulation, lambda: self.step(Step.WARNED)):
            self.put(event())
        return self

    def energised(self) -> Job:
        self.ready().put(self.step(Step.LOCK_OFF, "lea"))
        self.put(self.step(Step.ENERGISED))
        return self


# ---------------------------------------------------------------- the course of a job
def test_a_job_goes_from_start_to_hand_back() -> None:
    job = Job().energised()
    job.put(job.step(Step.LABEL_OFF))
    state = job.put(job.end())
    assert state.over is not None
    assert state.busy == frozenset()
    assert job.refused(job.measure()) == {"over"}


def test_before_the_start_nothing_but_starting_and_calling_off_is_written() -> None:
    job = Job(begin=False)
    for event in (job.measure(), job.count(), job.step(Step.LOCK_ON, "lea"), job.end()):
        assert "not_started" in job.refused(event)
    assert job.refused(job.step(Step.STOPPED)) == {"not_running"}
    assert job.refused(job.end(closed=False)) == {"manager_only"}
    assert job.put(job.end(closed=False), is_manager=True).over is not None
    assert Job(begin=False).state.asks_second is False
    job = Job(begin=False)
    assert state_of([job.measure()]).proof is None, "readings of no job prove nothing"


def test_a_job_with_nothing_to_prove_is_counted_and_closed() -> None:
    job = Job(second="", proving=Proving.NOTHING)
    assert not job.state.asks_proof
    assert not job.state.asks_second
    assert job.refused(job.measure()) == {"nothing_to_prove"}
    assert job.refused(job.end()) == {"not_counted"}
    job.put(job.count())
    assert job.put(job.end()).over is not None


def test_work_under_voltage_asks_for_full_readings_and_not_for_dead_ones() -> None:
    job = Job(proving=Proving.READINGS, second_rule="whole job")
    assert "prove_first" in job.refused(job.count())
    assert job.put(job.measure(400.0)).proof is not None
    assert job.state.stops == ()
    assert job.state.asks_second, "for the whole job"
    job.put(job.step(Step.AWAY, "lea"))
    job.put(job.step(Step.BACK, "lea"))
    assert job.state.asks_proof
    half = job.put(job.measure(400.0, read_v={POINTS[0]: 400.0}))
    assert half.proof is None


@pytest.mark.parametrize("missing", ["count", "insulation", "warned"])
def test_the_leads_lock_stays_on_until_all_is_counted_measured_and_warned(missing: str) -> None:
    job = Job().proved()
    said = {"count": job.count, "insulation": job.insulation, "warned": lambda: job.step(Step.WARNED)}
    for name, event in said.items():
        if name != missing:
            job.put(event())
    codes = {"count": "not_counted", "insulation": "no_insulation", "warned": "not_warned"}
    assert job.refused(job.step(Step.LOCK_OFF, "lea")) == {codes[missing]}
    assert job.refused(job.step(Step.ENERGISED)) == {codes[missing], "locks_on"}


def test_what_is_handed_back_is_not_worked_on() -> None:
    job = Job().energised()
    assert job.refused(job.end()) == {"label_first"}
    for event in (job.count(), job.insulation(), job.step(Step.WARNED), job.step(Step.LOCK_ON, "lea")):
        assert "energised" in job.refused(event)
    assert "nothing_to_prove" in job.refused(job.measure())
    assert job.refused(job.start()) == {"energised"}
    assert job.refused(job.step(Step.ENERGISED)) == {"energised"}
    assert job.refused(job.step(Step.LABEL_OFF, by="sam")) == {"lead_only"}
    job.put(job.step(Step.STOPPED, says="A warning shows"))
    job.put(job.step(Step.LABEL_OFF))
    assert job.refused(job.end("sam")) == {"lead_only"}
    assert job.put(job.end(says="M. Counter, a warning shows")).over is not None


def test_counting_finds_a_tool_and_a_person_that_are_missing() -> None:
    job = Job().proved()
    assert job.refused(job.count(tools_back=8)) == {"tools_missing"}
    assert job.refused(job.count(tools_out=-1, tools_back=-1)) == {"tools_missing"}
    assert job.refused(job.count(people_clear=1)) == {"people_missing"}
    assert job.refused(job.count(refitted=" ")) == {"not_refitted"}
    assert job.refused(job.count("sam")) == {"lead_only"}
    assert job.refused(job.insulation(instrument=" ")) == {"no_instrument"}
    assert job.refused(job.end(says=" ")) == {"not_said", "not_handed_back"}


def test_nothing_that_was_never_locked_off_is_re_energised() -> None:
    job = Job()
    for event in (job.insulation(), job.step(Step.WARNED), job.step(Step.ENERGISED)):
        assert "not_isolated" in job.refused(event)
    assert job.refused(job.step(Step.LABEL_OFF)) == {"label_last"}


# ---------------------------------------------------------------- stops and absences
def test_a_stop_ends_everything_until_a_new_start() -> None:
    job = Job().proved()
    job.put(job.step(Step.STOPPED, by="kim", says="Smell"))
    assert job.refused(job.step(Step.STOPPED, says=" ")) == {"no_reason"}
    for event in (job.measure(), job.count(), job.step(Step.WARNED), job.step(Step.LOCK_OFF, "lea")):
        assert "stopped" in job.refused(event)
    state = job.put(job.start())
    assert state.stops == ()
    assert state.asks_proof
    assert state.had_proof


def test_the_second_person_ends_the_work_by_leaving_only_while_needed_and_the_lead_is_there() -> None:
    job = Job()
    job.put(job.step(Step.AWAY, "sam", by="sam"))
    assert [reason.code for reason in job.state.stops] == ["second_left"]
    both = Job()
    both.put(both.step(Step.AWAY, "lea"))
    state = both.put(both.step(Step.AWAY, "sam"))
    assert state.stops == ()
    assert [reason.code for reason in holds_up(state, AT)] == ["lead_away", "second_away"]
    later = Job().proved()
    assert later.put(later.step(Step.AWAY, "sam")).proof is not None


def test_whoever_had_their_hands_in_it_and_leaves_voids_the_readings() -> None:
    job = Job(supervisor="kim").proved()
    job.put(job.step(Step.AWAY, "kim"))
    assert job.state.proof is None
    assert {reason.code for reason in holds_up(job.state, AT)} == {"second_away", "supervisor_away"} - {"second_away"}
    assert "supervisor_away" in job.refused(job.measure())
    job.put(job.step(Step.BACK, "kim"))
    assert job.put(job.measure()).proof is not None


def test_who_is_away_or_not_is_entered_once_and_by_somebody_on_the_job() -> None:
    job = Job()
    assert job.refused(job.step(Step.BACK, "lea")) == {"not_away"}
    assert job.refused(job.step(Step.AWAY, "kim")) == {"not_named"}
    assert job.refused(job.step(Step.AWAY, "lea", by="kim")) == {"not_on_job"}
    assert job.refused(job.step(Step.AWAY, "lea", by="kim"), is_manager=True) == set()
    job.put(job.step(Step.AWAY, "lea"))
    assert job.refused(job.step(Step.AWAY, "lea")) == {"away_already"}


def test_what_has_fallen_and_ten_hours_end_the_work_too() -> None:
    job = Job().proved()
    fell = (because("clearance_fell", "Fell.", "house"),)
    assert job.refused(job.count(), fallen=fell) == {"clearance_fell"}
    assert job.refused(job.step(Step.AWAY, "lea"), fallen=fell) == set(), "what makes it quieter is open"
    began = AT + timedelta(minutes=1)
    assert stops(job.state, began + timedelta(hours=10)) == ()
    assert [reason.code for reason in stops(job.state, began + timedelta(hours=10, seconds=1))] == ["too_long"]


@pytest.mark.parametrize(
    ("first", "second", "stopped"), [(20, 19, False), (20, 20, True), (20, 21, True), (400, 0, True), (31, 0, True)]
)
def test_a_reading_that_does_not_fall_or_is_live_ends_the_work(first: float, second: float, stopped: bool) -> None:
    """31 V is class B on AC, where it begins above 30 V (ISO 6469-3; UN R100 section 2)."""
    job = Job().locked()
    state = job.put(job.measure(float(first)))
    if not state.stops:
        state = job.put(job.measure(float(second)))
    assert bool(state.stops) is stopped
    assert state.proof is None


def test_a_low_insulation_value_ends_the_work() -> None:
    job = Job().proved()
    assert [reason.code for reason in job.put(job.insulation(1e5)).stops] == ["insulation_low"]


# ---------------------------------------------------------------- locks and hand-over
def test_everybody_has_their_own_lock_and_no_other() -> None:
    job = Job()
    assert job.refused(job.step(Step.LOCK_ON, "sam")) == {"own_lock_only"}
    assert job.refused(job.step(Step.LOCK_ON, "lea", says=" ")) == {"no_lock_number"}
    assert job.refused(job.measure()) == {"lock_first"}
    job.locked()
    assert job.refused(job.step(Step.LOCK_ON, "lea")) == {"lock_on_already"}
    assert job.refused(job.step(Step.LOCK_OFF, "kim", by="kim")) == {"no_lock"}
    job.put(job.step(Step.LOCK_ON, "kim", by="kim"))
    assert job.state.busy == {"lea", "sam", "kim"}
    assert job.refused(job.step(Step.LOCK_OFF, "kim", by="lea")) == {"own_lock_only"}
    assert "lead_last" in job.refused(job.step(Step.LOCK_OFF, "lea"))
    assert job.put(job.step(Step.LOCK_OFF, "kim", by="kim")).lock_of("kim") is None


def test_a_hand_over_is_offered_by_name_taken_in_person_and_goes_lock_for_lock() -> None:
    job = Job().proved()
    taking = {"lead": "kim", "by": "kim"}
    assert job.refused(job.start(**taking)) == {"not_offered", "lock_still_on"}
    assert job.refused(job.start(**taking), is_manager=True) == {"not_offered", "lock_still_on"}
    assert job.refused(job.step(Step.OFFERED, "kim", by="sam")) == {"lead_only"}
    for nobody in ("", "lea"):
        assert job.refused(job.step(Step.OFFERED, nobody)) == {"nobody_else"}
    job.put(job.step(Step.OFFERED, "kim"))
    assert job.refused(job.start(lead="kim", by="lea")) == {"not_offered", "lock_still_on"}
    job.put(job.start(**taking))
    assert job.state.asks_proof
    assert job.refused(job.step(Step.LOCK_OFF, "lea")) == {"lock_for_lock"}
    job.put(job.step(Step.LOCK_ON, "kim", by="kim"))
    job.put(job.step(Step.LOCK_OFF, "lea"))
    assert job.state.busy == {"kim", "sam"}
    assert job.put(job.measure(by="kim")).proof is not None


def test_who_is_away_hands_nothing_over() -> None:
    job = Job().locked()
    job.put(job.step(Step.OFFERED, "kim"))
    job.put(job.step(Step.AWAY, "lea"))
    assert job.refused(job.step(Step.OFFERED, "kim")) == {"away"}
    assert job.refused(job.start(lead="kim", by="kim")) == {"not_offered", "lock_still_on"}


def test_the_same_lead_starts_anew_and_nobody_else_for_them_but_a_manager() -> None:
    job = Job()
    assert job.refused(job.start(by="sam")) == {"lead_only"}
    assert job.refused(job.start(by="kim"), is_manager=True) == set()
    assert job.refused(job.start()) == set()


def test_an_absent_persons_lock_comes_off_by_two_people_and_they_are_told() -> None:
    job = Job().proved()
    assert job.refused(job.removed("sam")) == {"not_asked"}
    assert job.refused(job.removal(by="kim")) == {"lead_or_manager"}
    assert job.refused(job.removal(by="lea")) == {"own_lock"}
    assert job.refused(job.removal(owner="sam"), is_manager=True) == {"no_lock_of"}
    assert job.refused(job.removal(tried=" "), is_manager=True) == {"rule_not_kept"}
    job.put(job.removal(), is_manager=True)
    assert job.refused(job.removed("sam", owner="sam")) == {"not_asked"}
    for who in ("kim", "lea"):
        assert job.refused(job.removed(who)) == {"two_people"}
    state = job.put(job.removed("sam"))
    assert (state.locks, state.to_tell, state.proof) == ((), {"lea"}, None)
    assert job.refused(job.step(Step.LOCK_ON, "lea")) == {"not_told"}
    assert job.refused(job.step(Step.TOLD, "lea")) == {"told_by_another"}
    assert job.refused(job.step(Step.TOLD, "sam")) == {"nothing_to_tell"}
    assert job.put(job.step(Step.TOLD, "lea", by="kim")).to_tell == frozenset()
    assert job.refused(job.start(lead="kim", by="kim"), is_manager=True) == set(), "the lead's lock is off by the rule"


def test_one_of_the_two_is_a_manager_and_a_lock_that_is_off_already_is_not_taken_off() -> None:
    job = Job().locked()
    job.put(job.step(Step.LOCK_ON, "kim", by="kim"))
    job.put(job.removal(owner="kim", by="lea", by_manager=False))
    assert job.refused(job.removed("sam", owner="kim")) == {"no_manager"}
    assert job.refused(job.removed("sam", owner="kim"), is_manager=True) == set()
    job.put(job.step(Step.LOCK_OFF, "kim", by="kim"))
    assert job.refused(job.removed("sam", owner="kim"), is_manager=True) == {"no_lock_of"}


def test_a_job_that_was_locked_off_is_not_called_off_unless_it_cannot_be_read() -> None:
    job = Job().locked()
    assert job.refused(job.end(closed=False), is_manager=True) == {"locked_off"}
    job.events.append(Unreadable(**job.stamp("")))
    assert job.state.unreadable
    for event in (job.measure(), job.start(), job.step(Step.LOCK_ON, "kim", by="kim"), job.end()):
        assert job.refused(event) == {"record_unreadable"}
    assert job.refused(job.step(Step.STOPPED)) == set()
    assert job.put(job.end(closed=False), is_manager=True).over is not None


# ---------------------------------------------------------------- laws
def _events(draw: Any) -> list[Event]:
    job = Job()
    person = st.sampled_from(PEOPLE)
    for _number in range(draw(st.integers(0, 14))):
        kind = draw(st.sampled_from(["step", "step", "step", "measure", "start", "count", "insulation", "other"]))
        by, who = draw(person), draw(person)
        event: Event = job.step(draw(st.sampled_from(list(Step))), who, by=by)
        if kind == "measure":
            event = job.measure(draw(st.sampled_from([0.4, 38.0, 400.0])), by=by)
        elif kind == "start":
            event = job.start(by=by, lead=who, second=draw(person))
        elif kind == "count":
            event = job.count(by)
        elif kind == "insulation":
            event = job.insulation(draw(st.sampled_from([12e6, 1e5])))
        elif kind == "other":
            event = draw(st.sampled_from([job.removal(who, by), job.removed(by, who), job.end(by)]))
        if not job.refused(event, is_manager=draw(st.booleans())):
            job.events.append(event)
    return job.events


histories = st.composite(_events)()


@given(histories)
def test_any_moment_folds_to_what_stood_then(events: list[Event]) -> None:
    for number, event in enumerate(events, 1):
        assert state_at(events, event.at) == state_of(events[:number])
    assert state_of(reversed(events)) == state_of(events), "the record number orders, not the order of arrival"


@given(histories)
def test_readings_hold_only_since_the_last_absence_start_stop_and_removal(events: list[Event]) -> None:
    state = state_of(events)
    if state.proof is None:
        return
    since = [event for event in events if event.record > state.proof.record]
    assert not any(isinstance(event, Started | Removed) for event in since)
    assert not any(isinstance(event, Stepped) and event.step is Step.STOPPED for event in since)
    left = {event.person for event in since if isinstance(event, Stepped) and event.step is Step.AWAY}
    assert not left & state.workers
    assert state.proof.by == (state.start.lead if state.start else "")


@given(histories)
def test_nobody_re_energises_while_a_lock_is_on_or_before_all_is_done(events: list[Event]) -> None:
    for number, event in enumerate(events):
        if isinstance(event, Stepped) and event.step is Step.ENERGISED:
            before = state_of(events[:number])
            assert before.locks == ()
            assert before.back.counted is not None
            assert before.back.insulation is not None
            assert before.back.warned
            assert before.start is not None
            assert event.by == before.start.lead


@given(histories)
def test_a_lock_comes_off_by_its_owner_or_by_two_others_only(events: list[Event]) -> None:
    for number, event in enumerate(events):
        before = {lock.person for lock in state_of(events[:number]).locks}
        after = {lock.person for lock in state_of(events[: number + 1]).locks}
        for person in before - after:
            if isinstance(event, Removed):
                asked = state_of(events[:number]).removal
                assert asked is not None
                assert len({person, asked.by, event.by}) == 3
            else:
                assert event.by == person


@given(histories, st.sampled_from(PEOPLE))
def test_a_stop_never_opens_anything(events: list[Event], by: str) -> None:
    job = Job(begin=False)
    job.events = events
    tries = [job.measure(by=by), job.count(by), job.insulation(), job.step(Step.WARNED, by=by)]
    tries += [job.step(Step.LOCK_OFF, by, by=by), job.step(Step.ENERGISED, by=by), job.end(by)]
    open_before = [not job.refused(event) for event in tries]
    stopped = Job(begin=False)
    stopped.events = [*events, job.step(Step.STOPPED, by=by)]
    for event, was_open in zip(tries, open_before, strict=True):
        assert was_open or stopped.refused(event)
