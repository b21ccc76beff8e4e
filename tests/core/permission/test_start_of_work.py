"""Start of work: yes only when people, kit and papers are all there; taking anything away never turns no into yes."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import fields, replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from training.bank.rule_books import starting_book
from training.core.permission.decision import Decision, Gap, Ground, Mode, Remedy, RemedyKind
from training.core.permission.evidence import Appointment
from training.core.permission.rule_book import AtStart, JobType, YoungPerson
from training.core.permission.start_of_work import (
    Answers,
    Group,
    Hands,
    InHand,
    Missing,
    Named,
    OtherJob,
    Start,
    may_start,
)
from training.core.trade import fitness
from training.core.trade.fitness import Job, PreUseCheck

AT = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
TODAY = date(2026, 3, 2)
END = AT + timedelta(hours=6)
LONG_AGO, LATELY = date(2025, 3, 2), date(2026, 1, 15)

GAP = Gap(
    ground=Ground.SIGN_OFF,
    subject="T3",
    sentence="Seen three times {by} two mentors.",  # braces in a rule book's sentence are only text
    source="common practice, no source",
    remedy=Remedy(kind=RemedyKind.OBSERVATION, minutes=40, earliest_on=None),
)
GLOVES = fitness.GlovePair(
    name="G-1",
    in_service=True,
    glove_class="0",
    tested_on=LATELY,
    last_test_passed=True,
    issued_on=LATELY,
    events=(),
    flags=(),
    has_protectors=True,
    cuff_gap_mm=20.0,
)
METER = fitness.Meter(name="M-1", in_service=True, category="III", rated_v=1000.0, calibrated_on=LATELY, damaged=False)
HOOK = fitness.RescueHook(
    name="H-1", in_service=True, rated_v=1000.0, checked_on=LATELY, clean_and_dry=True, damaged=False
)
LOCK = fitness.Lock(name="L-1", in_service=True, personal=True, only_key=True)
AT_START = AtStart(
    second_person="whole job",
    maker_procedure=True,
    live_work_order=True,
    cordon=True,
    kit_kinds=("gloves", "meter", "hook", "lock"),
)


def job_type(at_start: AtStart = AT_START) -> JobType:
    return JobType(
        key="E",
        title="Live",
        says="Live.",
        requirements=(),
        young_person=YoungPerson.NO,
        supervised_allowed=True,
        at_start=at_start,
    )


def decided(
    job: str = "E", mode: Mode = Mode.ALONE, *, until: datetime | None = END, by: tuple[str, ...] = ()
) -> Decision:
    return Decision(
        mode=mode,
        job_type=job,
        at=AT,
        known_at=10,
        until=until if mode is not Mode.NOT_CLEARED else None,
        ends_by=None,
        gaps=() if mode is Mode.ALONE else (GAP,),
        proofs=(3, 4),
        supervisors=by,
        rule_book_version=1,
        parameter_set=1,
        head=10,
    )


def checked(name: str, by: str = "lea", on: date = TODAY, *, passed: bool = True) -> PreUseCheck:
    return PreUseCheck(name=name, wearer=by, on=on, passed=passed)


def held(kit: Any, hands: Hands = Hands.LEAD) -> InHand:
    return InHand(kit=kit, hands=hands, check=checked(kit.name, "lea" if hands is Hands.LEAD else "sam"))


def start(**changed: Any) -> Start:
    whole = Start(
        at=AT,
        on=TODAY,
        lead=Named(person="lea", decision=decided()),
        second=Named(person="sam", decision=decided("second person")),
        kit=(
            held(GLOVES),
            held(METER),
            held(LOCK),
            held(replace(GLOVES, name="G-2"), Hands.SECOND_PERSON),
            held(HOOK, Hands.SECOND_PERSON),
        ),
        second_kinds=("gloves", "hook"),
        job=Job(highest_dc_v=450.0, highest_ac_v=300.0, regime="EU", point_of_work="vehicle side"),
        answers=Answers(
            vehicle="HH 12",
            stands_by=True,
            procedure_opened_today=True,
            procedure_edition="edition 7",
            ordered_by="A. Manager",
            why_not_dead="the fault shows only live",
            cordon_up=True,
            planned_end=END,
        ),
    )
    return replace(whole, **changed)


def said(**changed: Any) -> Start:
    return start(answers=replace(start().answers, **changed))


def codes(found: tuple[Missing, ...]) -> set[str]:
    return {missing.reason.code for missing in found}


def test_with_everything_there_nothing_is_missing() -> None:
    assert may_start(job_type(), start()) == ()


def test_a_clearance_may_end_at_the_very_minute_of_the_planned_end_but_not_before() -> None:
    short = Named(person="lea", decision=decided(until=END - timedelta(minutes=1)))
    assert codes(may_start(job_type(), start(lead=short))) == {"ends_before"}
    second = Named(person="sam", decision=decided("second person", until=END - timedelta(minutes=1)))
    assert codes(may_start(job_type(), start(second=second))) == {"ends_before"}


def test_every_gap_of_a_lead_who_may_not_take_it_is_listed() -> None:
    found = may_start(job_type(), start(lead=Named(person="lea", decision=decided(mode=Mode.NOT_CLEARED))))
    assert [(m.group, m.subject, m.reason.sentence) for m in found] == [
        (Group.PEOPLE, "lea", "May not take this yet: E."),
        (Group.PEOPLE, "lea", GAP.sentence),
    ]


def test_a_supervised_lead_needs_a_supervisor_on_the_form_who_may_supervise() -> None:
    lead = Named(person="lea", decision=decided(mode=Mode.SUPERVISED, by=("uma",)))
    uma = Named(person="uma", decision=decided())
    assert codes(may_start(job_type(), start(lead=lead))) == {"no_supervisor"}
    assert may_start(job_type(), start(lead=lead, supervisor=uma)) == ()
    assert codes(may_start(job_type(), start(lead=lead, supervisor=replace(uma, person="ole")))) == {"not_a_supervisor"}
    ends = Named(person="uma", decision=decided(until=AT + timedelta(hours=1)))
    assert codes(may_start(job_type(), start(lead=lead, supervisor=ends))) == {"ends_before"}


def test_the_supervisor_is_never_also_the_second_person() -> None:
    lead = Named(person="lea", decision=decided(mode=Mode.SUPERVISED, by=("sam",)))
    found = may_start(job_type(), start(lead=lead, supervisor=Named(person="sam", decision=decided())))
    assert "supervises_and_stands_by" in codes(found)


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"lead": None}, "no_lead"),
        ({"second": None}, "no_second_person"),
        ({"second": Named(person="lea", decision=decided("second person"))}, "leads_and_stands_by"),
        ({"second": Named(person="sam", decision=decided("E"))}, "answer_of_another_moment"),
        ({"second": Named(person="sam", decision=decided("second person", Mode.SUPERVISED))}, "may_not_take"),
        (
            {"lead": Named(person="lea", decision=replace(decided(), at=AT - timedelta(hours=1)))},
            "answer_of_another_moment",
        ),
        ({"other_jobs": (OtherJob(record=9, person="sam"),)}, "on_another_job"),
        ({"job": Job(highest_ac_v=300.0)}, "voltage_unknown"),
        ({"job": Job(highest_dc_v=450.0)}, "voltage_unknown"),
        ({"job": Job(highest_dc_v=0.0, highest_ac_v=0.0)}, "voltage_zero"),
        ({"job": Job(highest_dc_v=math.nan, highest_ac_v=0.0)}, "not_a_number"),
    ],
)
def test_each_of_these_is_missing(changed: dict[str, Any], code: str) -> None:
    assert code in codes(may_start(job_type(), start(**changed)))


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"vehicle": " "}, "no_vehicle"),
        ({"stands_by": False}, "does_not_stand_by"),
        ({"procedure_opened_today": False}, "no_procedure"),
        ({"procedure_edition": "  "}, "no_procedure"),
        ({"ordered_by": ""}, "no_live_work_order"),
        ({"why_not_dead": " "}, "no_live_work_order"),
        ({"cordon_up": False}, "no_cordon"),
        ({"planned_end": None}, "no_planned_end"),
        ({"planned_end": AT}, "end_is_past"),
        ({"planned_end": AT + timedelta(hours=10, minutes=1)}, "too_long"),
    ],
)
def test_each_answer_that_is_not_given_is_missing(changed: dict[str, Any], code: str) -> None:
    assert code in codes(may_start(job_type(), said(**changed)))


def test_a_job_type_that_asks_for_less_gets_by_with_less() -> None:
    plain = AtStart(kit_kinds=("meter",))
    found = may_start(
        job_type(plain), start(second=None, kit=(held(METER),), answers=Answers(vehicle="HH 12", planned_end=END))
    )
    assert found == ()


def test_other_peoples_jobs_do_not_matter_and_one_that_cannot_be_read_may_be_anybodys() -> None:
    stranger = OtherJob(record=9, person="kim")
    assert may_start(job_type(), start(other_jobs=(stranger,))) == ()
    unread = OtherJob(record=9, person="")
    assert codes(may_start(job_type(), start(other_jobs=(unread,)))) == {"other_job_unreadable"}


def test_whose_lock_was_taken_off_in_their_absence_is_told_first() -> None:
    assert codes(may_start(job_type(), start(untold=frozenset({"sam", "kim"})))) == {"not_told"}


@pytest.mark.parametrize(
    ("dc_v", "ac_v", "code"),
    [
        (0.4, 300.0, "voltage_unit"),
        (450_000.0, 300.0, "voltage_unit"),
        (450.0, 1001.0, "voltage_unit"),
        (-3.0, 0.0, "out_of_range"),
    ],
)
def test_voltages_that_cannot_be_meant_in_volts_are_told(dc_v: float, ac_v: float, code: str) -> None:
    found = may_start(job_type(), start(job=replace(start().job, highest_dc_v=dc_v, highest_ac_v=ac_v)))
    assert code in codes(found)


def appointed_for(*families: str, may_not: tuple[str, ...] = ()) -> Appointment:
    return Appointment(
        record=5, job_types=frozenset({"E"}), workshop="mill", from_day=LATELY, through_day=TODAY, entered_on=LATELY,
        by="mia", vehicle_families=families, may_not=may_not,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("families", "family", "code"),
    [
        ((), "", set()),
        ((), "van", set()),
        (("Van", "bus"), " van ", set()),
        (("van",), "car", {"not_for_family"}),
        (("van",), " ", {"family_unknown"}),
    ],
)
def test_an_appointment_reaches_its_vehicle_families_only(
    families: tuple[str, ...], family: str, code: set[str]
) -> None:
    lead = Named(person="lea", decision=decided(), appointments=(appointed_for(*families),))
    assert codes(may_start(job_type(), replace(said(family=family), lead=lead))) == code


def test_each_missing_kind_is_named_and_the_second_person_holds_gloves_of_their_own() -> None:
    found = may_start(job_type(), start(kit=()))
    missing = [(m.reason.code, m.subject) for m in found if m.group is Group.KIT]
    assert missing == [
        ("kind_missing", "gloves"),
        ("kind_missing", "meter"),
        ("kind_missing", "hook"),
        ("kind_missing", "lock"),
        ("second_kind_missing", "gloves"),
        ("second_kind_missing", "hook"),
    ]
    shared = tuple(i for i in start().kit if i.kit.name != "G-1")
    assert [m.subject for m in may_start(job_type(), start(kit=shared))] == ["gloves"]


def test_every_reason_against_every_item_is_told() -> None:
    bad_gloves = replace(GLOVES, glove_class="00", tested_on=LONG_AGO, issued_on=LONG_AGO)
    bad_meter = replace(METER, category=None)
    kit = (held(bad_gloves), held(bad_meter), *start().kit[2:])
    found = may_start(job_type(), start(kit=kit))
    assert {(m.subject, m.reason.code) for m in found} == {
        ("G-1", "class_too_low"),
        ("G-1", "glove_test_out"),
        ("M-1", "rating_unknown"),
    }


def test_glove_class_follows_the_highest_voltage_and_unknown_labels_are_not_fit() -> None:
    # IEC 60903 / ASTM D120: class 0 up to 1500 V DC and 1000 V AC (trade-facts G01-G06)
    high = Job(highest_dc_v=1500.0, highest_ac_v=1001.0, regime="EU", point_of_work="vehicle side")
    assert {("G-1", "class_too_low"), ("G-2", "class_too_low")} <= {
        (m.subject, m.reason.code) for m in may_start(job_type(), start(job=high))
    }
    nothing_known = tuple(held(type(i.kit)(name=i.kit.name), i.hands) for i in start().kit)
    assert {m.subject for m in may_start(job_type(), start(kit=nothing_known))} == {"G-1", "G-2", "M-1", "L-1", "H-1"}


@pytest.mark.parametrize(
    ("check", "code"),
    [
        (None, "not_checked"),
        (checked("G-1", on=LATELY), "not_checked_today"),
        (checked("G-1", by="sam"), "checked_by_another"),
        (checked("G-1", passed=False), "check_failed"),
        (checked("G-2"), "not_checked"),
    ],
)
def test_the_wearer_has_checked_it_today(check: PreUseCheck | None, code: str) -> None:
    kit = (replace(start().kit[0], check=check), *start().kit[1:])
    assert [(m.subject, m.reason.code) for m in may_start(job_type(), start(kit=kit))] == [("G-1", code)]


def test_one_item_is_not_in_two_hands() -> None:
    kit = (*start().kit, held(HOOK, Hands.LEAD))
    assert codes(may_start(job_type(), start(kit=kit))) == {"in_two_hands"}


def test_what_cannot_be_made_sense_of_does_not_start() -> None:
    odd = start(answers=replace(start().answers, planned_end=datetime(2026, 3, 2, 12)))  # noqa: DTZ001
    assert codes(may_start(job_type(), odd)) == {"unreadable"}


def test_every_kit_kind_of_the_starting_rule_book_is_one_whose_fitness_is_known() -> None:
    book = starting_book()
    kinds = {kind for job in book["job_types"] for kind in job["at_start"]["kit"]}
    assert kinds
    assert kinds <= set(fitness.KINDS)


# ---------------------------------------------------------------- the law
NOT_SAID = {field.name: field.default for field in fields(Answers)}
PEOPLE = ("lead", "second", "supervisor")


def _named(person: str, job: str) -> st.SearchStrategy[Named]:
    made = st.builds(
        decided,
        st.just(job),
        st.sampled_from([Mode.ALONE, Mode.ALONE, Mode.SUPERVISED, Mode.NOT_CLEARED]),
        until=st.sampled_from([END, END - timedelta(hours=1), None]),
        by=st.just(("sam", "uma")),
    )
    return made.map(lambda decision: Named(person=person, decision=decision))


starts = st.builds(
    start,
    lead=_named("lea", "E"),
    second=_named("sam", "second person"),
    supervisor=st.sampled_from(["uma", "sam"]).flatmap(lambda key: _named(key, "E")),
    kit=st.lists(st.sampled_from(start().kit), unique_by=lambda i: i.kit.name).map(tuple),
    answers=st.builds(
        lambda left_out: replace(start().answers, **{name: NOT_SAID[name] for name in left_out}),
        st.sets(st.sampled_from(sorted(NOT_SAID)), max_size=2),
    ),
    other_jobs=st.sampled_from([(), (OtherJob(record=9, person="sam"),)]),
)
asks = st.builds(
    AtStart,
    second_person=st.sampled_from(["", "whole job"]),
    maker_procedure=st.booleans(),
    live_work_order=st.booleans(),
    cordon=st.booleans(),
    kit_kinds=st.lists(st.sampled_from(AT_START.kit_kinds), unique=True).map(tuple),
)


def _without_answer(name: str) -> Callable[[Start], Start]:
    return lambda whole: replace(whole, answers=replace(whole.answers, **{name: NOT_SAID[name]}))


def _without_person(name: str) -> Callable[[Start], Start]:
    return lambda whole: replace(whole, **{name: None})


def _without_item(place: int) -> Callable[[Start], Start]:
    return lambda whole: replace(whole, kit=whole.kit[:place] + whole.kit[place + 1 :])


def _without_check(place: int) -> Callable[[Start], Start]:
    return lambda whole: replace(
        whole, kit=tuple(replace(i, check=None) if n == place else i for n, i in enumerate(whole.kit))
    )


removals = st.one_of(
    st.sampled_from(sorted(NOT_SAID)).map(_without_answer),
    st.sampled_from(PEOPLE).map(_without_person),
    st.integers(0, 4).map(_without_item),
    st.integers(0, 4).map(_without_check),
    st.just(lambda whole: replace(whole, job=Job())),
)


@given(starts, asks, st.lists(removals, min_size=1, max_size=4))
def test_taking_away_a_person_an_item_or_an_answer_never_turns_no_into_yes(
    whole: Start, at_start: AtStart, taken: list[Callable[[Start], Start]]
) -> None:
    less = whole
    for take in taken:
        less = take(less)
    before, after = may_start(job_type(at_start), whole), may_start(job_type(at_start), less)
    assert not before or after


@given(st.integers(0, 4), removals)
def test_only_putting_an_item_away_that_is_itself_not_fit_can_help(place: int, take: Callable[[Start], Start]) -> None:
    # the pair that is not fit must go back to the register: that, and nothing else, is what its reasons ask for
    spoilt = tuple(
        replace(i, kit=replace(i.kit, in_service=False)) if n == place else i for n, i in enumerate(start().kit)
    )
    name = spoilt[place].kit.name
    spare = held(replace(spoilt[place].kit, name="spare", in_service=True), spoilt[place].hands)
    with_spare = start(kit=(*spoilt, spare))
    assert {m.subject for m in may_start(job_type(), with_spare)} == {name}
    put_away = replace(with_spare, kit=tuple(i for i in with_spare.kit if i.kit.name != name))
    assert may_start(job_type(), put_away) == ()
    kept = [i for i in take(with_spare).kit if i.kit.name == name]
    assert not kept or may_start(job_type(), take(with_spare))
