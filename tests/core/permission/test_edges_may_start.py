"""A start of work at its edges: of each thing that is not quite right, exactly what is told, where and of whom."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from tests.core.permission.test_start_of_work import (
    AT,
    AT_START,
    END,
    GAP,
    GLOVES,
    HOOK,
    LOCK,
    METER,
    TODAY,
    checked,
    decided,
    held,
    job_type,
    said,
    start,
)
from training.core.permission.decision import Mode
from training.core.permission.evidence import Appointment
from training.core.permission.rule_book import AtStart
from training.core.permission.start_of_work import Answers, Group, Hands, InHand, Named, OtherJob, Start, may_start
from training.core.trade.fitness import Job

INSTANT = timedelta(microseconds=1)
PEOPLE, KIT, PAPERS = Group.PEOPLE, Group.KIT, Group.PAPERS
Told = list[tuple[Group, str, str]]


def told(given: Start, at_start: AtStart = AT_START) -> Told:
    return [(each.group, each.subject, each.reason.code) for each in may_start(job_type(at_start), given)]


def lead(mode: Mode = Mode.ALONE, **changes: Any) -> Named:
    return Named(person="lea", decision=replace(decided("E", mode, by=("uma",)), **changes))


def second(**changes: Any) -> Named:
    return Named(person="sam", decision=replace(decided("second person"), **changes))


UMA = Named(person="uma", decision=decided())
LEARNER = lead(Mode.SUPERVISED)

ABOUT_PEOPLE: dict[str, tuple[Start, Told]] = {
    "nothing": (start(), []),
    "no lead": (start(lead=None), [(PEOPLE, "", "no_lead")]),
    "no second person": (start(second=None), [(PEOPLE, "", "no_second_person")]),
    "one person twice": (
        start(second=replace(second(), person="lea")),
        [(PEOPLE, "lea", "leads_and_stands_by")],
    ),
    "not standing by": (said(stands_by=False), [(PEOPLE, "sam", "does_not_stand_by")]),
    "standing by, not said plainly": (said(stands_by=1), [(PEOPLE, "sam", "does_not_stand_by")]),
    "an answer about another job": (
        start(lead=lead(job_type="D")),
        [(PEOPLE, "lea", "answer_of_another_moment")],
    ),
    "an answer of another moment": (
        start(lead=lead(at=AT - INSTANT)),
        [(PEOPLE, "lea", "answer_of_another_moment")],
    ),
    "a lead who may not": (
        start(lead=lead(Mode.NOT_CLEARED)),
        [(PEOPLE, "lea", "may_not_take"), (PEOPLE, "lea", "gap")],
    ),
    "a second person who is only supervised": (
        start(second=second(mode=Mode.SUPERVISED, gaps=(GAP,))),
        [(PEOPLE, "sam", "may_not_take"), (PEOPLE, "sam", "gap")],
    ),
    "an end an instant too early": (start(lead=lead(until=END - INSTANT)), [(PEOPLE, "lea", "ends_before")]),
    "an end at the planned one": (start(lead=lead(until=END)), []),
    "no end at all": (start(lead=lead(until=None)), [(PEOPLE, "lea", "ends_before")]),
    "over at the start, no end planned": (
        replace(said(planned_end=None), lead=lead(until=AT)),
        [(PEOPLE, "lea", "ends_before"), (PAPERS, "", "no_planned_end")],
    ),
    "an instant left, no end planned": (
        replace(said(planned_end=None), lead=lead(until=AT + INSTANT)),
        [(PAPERS, "", "no_planned_end")],
    ),
    "supervised by nobody": (start(lead=LEARNER), [(PEOPLE, "lea", "no_supervisor")]),
    "supervised": (start(lead=LEARNER, supervisor=UMA), []),
    "supervised by oneself": (
        start(lead=LEARNER, supervisor=Named(person="lea", decision=decided())),
        [(PEOPLE, "lea", "not_a_supervisor")],
    ),
    "supervised by somebody who may not": (
        start(lead=LEARNER, supervisor=replace(UMA, person="ole")),
        [(PEOPLE, "ole", "not_a_supervisor")],
    ),
    "supervised by the second person": (
        start(lead=lead(Mode.SUPERVISED, supervisors=("sam",)), supervisor=Named(person="sam", decision=decided())),
        [(PEOPLE, "sam", "supervises_and_stands_by")],
    ),
    "supervised by somebody who is supervised": (
        start(lead=LEARNER, supervisor=Named(person="uma", decision=decided("E", Mode.SUPERVISED))),
        [(PEOPLE, "uma", "may_not_take"), (PEOPLE, "uma", "gap")],
    ),
    "a supervisor whom nobody needs": (start(supervisor=replace(UMA, person="ole")), []),
    "another job of the lead": (
        start(other_jobs=(OtherJob(record=7, person="lea"),)),
        [(PEOPLE, "lea", "on_another_job")],
    ),
    "another job of the second person": (
        start(other_jobs=(OtherJob(record=7, person="sam"),)),
        [(PEOPLE, "sam", "on_another_job")],
    ),
    "another job of the supervisor": (
        start(lead=LEARNER, supervisor=UMA, other_jobs=(OtherJob(record=7, person="uma"),)),
        [(PEOPLE, "uma", "on_another_job")],
    ),
    "another job of somebody else": (start(other_jobs=(OtherJob(record=7, person="kim"),)), []),
    "another job that cannot be read": (
        start(other_jobs=(OtherJob(record=7, person=""),)),
        [(PEOPLE, "", "other_job_unreadable")],
    ),
    "two who were not told": (
        start(untold=frozenset({"sam", "lea", "kim"})),
        [(PEOPLE, "lea", "not_told"), (PEOPLE, "sam", "not_told")],
    ),
}


@pytest.mark.parametrize(("given", "missing"), ABOUT_PEOPLE.values(), ids=ABOUT_PEOPLE.keys())
def test_of_people_exactly_what_is_missing_is_told(given: Start, missing: Told) -> None:
    about_people = [each for each in told(given) if each[0] is not KIT]
    assert about_people == missing
    if given.lead is not None and given.second is not None and given.second.person == "sam":
        assert told(given) == missing


NOBODY_BESIDE = replace(AT_START, second_person="")
ABOUT_PAPERS: dict[str, tuple[Start, Told]] = {
    "no vehicle": (said(vehicle=" "), [(PAPERS, "", "no_vehicle")]),
    "no procedure": (said(procedure_opened_today=False), [(PAPERS, "", "no_procedure")]),
    "opened, not said plainly": (said(procedure_opened_today=1), [(PAPERS, "", "no_procedure")]),
    "no edition": (said(procedure_edition=" "), [(PAPERS, "", "no_procedure")]),
    "nobody ordered it": (said(ordered_by=" "), [(PAPERS, "", "no_live_work_order")]),
    "not said why": (said(why_not_dead=" "), [(PAPERS, "", "no_live_work_order")]),
    "no cordon": (said(cordon_up=False), [(PAPERS, "", "no_cordon")]),
    "a cordon, not said plainly": (said(cordon_up=1), [(PAPERS, "", "no_cordon")]),
    "no voltage": (start(job=replace(start().job, highest_ac_v=None)), [(PAPERS, "", "voltage_unknown")]),
    "the end is now": (said(planned_end=AT), [(PAPERS, "", "end_is_past")]),
}


@pytest.mark.parametrize(("given", "missing"), ABOUT_PAPERS.values(), ids=ABOUT_PAPERS.keys())
def test_of_papers_exactly_what_is_missing_is_told(given: Start, missing: Told) -> None:
    assert [each for each in told(given) if each[0] is PAPERS] == missing


def test_a_job_spans_ten_hours_and_no_instant_more() -> None:
    late = {"lead": lead(until=END + timedelta(days=1)), "second": second(until=END + timedelta(days=1))}
    assert told(replace(said(planned_end=AT + timedelta(hours=10)), **late)) == []
    over = replace(said(planned_end=AT + timedelta(hours=10, microseconds=1)), **late)
    assert told(over) == [(PAPERS, "", "too_long")]
    assert told(replace(said(planned_end=AT + INSTANT), **late)) == []
    (reason,) = (each.reason for each in may_start(job_type(), over))
    assert dict(reason.values) == {"hours": "10"}


def test_what_a_job_type_does_not_ask_for_is_not_missed() -> None:
    bare = AtStart(kit_kinds=())
    nothing = Answers(vehicle="HH 12", planned_end=END)
    assert told(start(second=None, kit=(), answers=nothing), bare) == []
    alone = replace(
        said(stands_by=False), second=None, kit=tuple(one for one in start().kit if one.hands is Hands.LEAD)
    )
    hook = held(HOOK)
    assert told(replace(alone, kit=(*alone.kit, hook)), NOBODY_BESIDE) == []
    busy = OtherJob(record=3, person="sam")
    assert told(replace(start(), kit=(*alone.kit, hook), other_jobs=(busy,)), NOBODY_BESIDE) == []


def test_a_second_person_whom_nobody_asked_for_may_supervise() -> None:
    lone = replace(
        said(), lead=lead(Mode.SUPERVISED, supervisors=("sam",)), supervisor=Named(person="sam", decision=decided())
    )
    kit = (*(one for one in lone.kit if one.hands is Hands.LEAD), held(HOOK))
    assert told(replace(lone, kit=kit), NOBODY_BESIDE) == []


# ----------------------------------------------------------------------------------------------------------- kit

BY_LEAD = [held(GLOVES), held(METER), held(LOCK)]
BY_SECOND = [held(replace(GLOVES, name="G-2"), Hands.SECOND_PERSON), held(HOOK, Hands.SECOND_PERSON)]


def test_the_second_person_may_hold_what_is_not_worn_and_the_lead_nothing_of_theirs() -> None:
    meter = held(METER, Hands.SECOND_PERSON)
    assert told(start(kit=(BY_LEAD[0], BY_LEAD[2], meter, *BY_SECOND))) == []
    lock = held(LOCK, Hands.SECOND_PERSON)
    assert told(start(kit=(*BY_LEAD[:2], lock, *BY_SECOND))) == [(KIT, "lock", "kind_missing")]
    assert told(start(kit=(*BY_LEAD[1:], *BY_SECOND))) == [(KIT, "gloves", "kind_missing")]
    assert told(start(kit=(*BY_LEAD, BY_SECOND[0], held(HOOK)))) == [(KIT, "hook", "second_kind_missing")]
    assert told(start(kit=(*BY_LEAD, BY_SECOND[1]))) == [(KIT, "gloves", "second_kind_missing")]


def test_nothing_is_asked_of_a_second_person_who_is_not_asked_for() -> None:
    assert told(start(kit=(*BY_LEAD, held(HOOK))), NOBODY_BESIDE) == []
    assert told(start(kit=(*BY_LEAD[:2], BY_LEAD[2], BY_SECOND[1])), NOBODY_BESIDE) == [(KIT, "hook", "kind_missing")]


def test_what_is_named_twice_is_told_once_and_by_name() -> None:
    assert told(start(kit=(*BY_LEAD, BY_LEAD[1], BY_LEAD[1], *BY_SECOND))) == [(KIT, "M-1", "in_two_hands")]


def test_a_lock_needs_no_check_and_everything_else_one_of_its_own_by_its_wearer() -> None:
    unchecked = InHand(kit=LOCK, hands=Hands.LEAD)
    assert told(start(kit=(*BY_LEAD[:2], unchecked, *BY_SECOND))) == []
    for check in (None, checked("M-2"), checked("M-1", "sam")):
        meter = InHand(kit=METER, hands=Hands.LEAD, check=check)
        found = told(start(kit=(BY_LEAD[0], meter, BY_LEAD[2], *BY_SECOND)))
        assert [each[:2] for each in found] == [(KIT, "M-1")]
    assert checked("M-1").on == TODAY


def test_kit_that_nobody_holds_in_person_has_been_checked_by_nobody() -> None:
    found = told(start(lead=None))
    assert {each[:2] for each in found if each[0] is KIT} == {(KIT, "G-1"), (KIT, "M-1")}
    found = told(start(second=None))
    assert {each[:2] for each in found if each[0] is KIT} == {(KIT, "G-2"), (KIT, "H-1")}


def test_where_the_vehicle_lies_outside_an_appointment_that_is_told_of_each() -> None:
    narrow = Appointment(
        record=1,
        job_types=frozenset({"E"}),
        workshop="shop",
        from_day=TODAY,
        through_day=TODAY,
        entered_on=TODAY,
        by="boss",
        vehicle_families=("vans",),
    )
    given = replace(said(family="cars"), lead=replace(lead(), appointments=(narrow,)))
    assert told(given) == [(PEOPLE, "lea", "not_for_family")]
    assert told(replace(given, lead=replace(lead(Mode.NOT_CLEARED), appointments=(narrow,)))) == [
        (PEOPLE, "lea", "may_not_take"),
        (PEOPLE, "lea", "gap"),
    ]


def test_a_start_says_nothing_that_nobody_said() -> None:
    bare = Start(at=AT, on=TODAY)
    assert (bare.lead, bare.second, bare.kit, bare.job, bare.answers) == (None, None, (), Job(), Answers())
    unsaid = Answers()
    assert (unsaid.stands_by, unsaid.procedure_opened_today, unsaid.cordon_up) == (False, False, False)
