"""Crews against brute force: as many jobs as anybody could staff, the earliest first; and what unlocks most."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from training.core.permission.crew import Crew, CrewJob, Unlock, best_crews, may_take, unlocks
from training.core.permission.decision import Decision, Gap, Ground, Mode, Remedy, RemedyKind
from training.core.trade.errors import OutOfRange

AT = datetime(2026, 3, 2, 7, tzinfo=UTC)
TODAY = date(2026, 3, 2)
ENDS = AT + timedelta(hours=6)
PEOPLE = "abcde"


def job(key: str, leads: str = "", seconds: str | None = None, *, hour: int = 0, job_type: str = "C") -> CrewJob:
    return CrewJob(
        key=key,
        job_type=job_type,
        starts=AT + timedelta(hours=hour),
        ends=ENDS,
        asks_second=seconds is not None,
        may_lead=frozenset(leads),
        may_second=frozenset(seconds or ""),
    )


def gap(ground: Ground, subject: str = "T3", *, minutes: int = 30, on: date | None = TODAY, kind: RemedyKind) -> Gap:
    remedy = Remedy(kind=kind, minutes=minutes, earliest_on=on)
    return Gap(ground=ground, subject=subject, sentence="Asked.", source="common practice, no source", remedy=remedy)


SIGN_OFF = gap(Ground.SIGN_OFF, kind=RemedyKind.OBSERVATION)
APPOINTMENT = gap(Ground.APPOINTMENT, "C", minutes=5, kind=RemedyKind.SIGNATURE)


def decided(job_type: str, *gaps: Gap, mode: Mode = Mode.NOT_CLEARED, until: datetime | None = None) -> Decision:
    return Decision(
        mode=mode,
        job_type=job_type,
        at=AT,
        known_at=1,
        until=until,
        ends_by=None,
        gaps=gaps,
        proofs=(),
        supervisors=(),
        rule_book_version=1,
        parameter_set=1,
        head=1,
    )


# ---------------------------------------------------------------- brute force
def every_staffing(jobs: list[CrewJob]) -> Iterator[dict[str, Crew]]:
    """Every way of giving each job a crew or none, with nobody on two."""
    options = [[None, *_crews_of(one)] for one in jobs]
    for choice in product(*options):
        crews = [crew for crew in choice if crew is not None]
        people = [person for crew in crews for person in (crew.lead, crew.second) if person]
        if len(people) == len(set(people)):
            yield {crew.job: crew for crew in crews}


def _crews_of(one: CrewJob) -> list[Crew]:
    if not one.asks_second:
        return [Crew(job=one.key, lead=lead) for lead in sorted(one.may_lead)]
    return [
        Crew(job=one.key, lead=lead, second=second)
        for lead in sorted(one.may_lead)
        for second in sorted(one.may_second)
        if lead != second
    ]


someone = st.frozensets(st.sampled_from(PEOPLE), max_size=4)
some_jobs = st.lists(
    st.builds(
        lambda leads, seconds, asks, hour: (leads, seconds, asks, hour),
        someone,
        someone,
        st.booleans(),
        st.integers(0, 3),
    ),
    max_size=4,
).map(
    lambda rows: [
        CrewJob(
            key=f"j{number}",
            job_type="C",
            starts=AT + timedelta(hours=hour),
            ends=ENDS,
            asks_second=asks,
            may_lead=leads,
            may_second=seconds,
        )
        for number, (leads, seconds, asks, hour) in enumerate(rows)
    ]
)


def test_whoever_has_the_fewest_options_waits_where_another_job_has_nobody_else() -> None:
    jobs = [job("j1", "ab"), job("j2", "a", hour=1), job("j3", "b", hour=2), job("j4", "b", hour=3)]
    assert best_crews(jobs) == (Crew(job="j1", lead="b"), Crew(job="j2", lead="a"))


@given(some_jobs)
def test_it_staffs_as_many_jobs_as_anybody_could_and_of_equals_the_earliest(jobs: list[CrewJob]) -> None:
    found = {crew.job: crew for crew in best_crews(jobs)}
    ways = list(every_staffing(jobs))
    assert found in ways, "everybody is cleared for their place, and nobody has two"
    most = max(len(way) for way in ways)
    assert len(found) == most
    order = [one.key for one in sorted(jobs, key=lambda one: (one.starts, one.key))]
    earliest = min(sorted(order.index(key) for key in way) for way in ways if len(way) == most)
    assert sorted(order.index(key) for key in found) == earliest


@given(some_jobs)
def test_of_the_ways_to_staff_the_same_jobs_it_takes_people_with_the_fewest_options_first(jobs: list[CrewJob]) -> None:
    found = best_crews(jobs)
    everybody = [p for one in jobs for p in [*one.may_lead, *(one.may_second if one.asks_second else ())]]

    def cost(crews: tuple[Crew, ...]) -> list[tuple[int, str]]:
        places = [person for crew in crews for person in (crew.lead, crew.second) if person]
        return [(everybody.count(person), person) for person in places]

    same = [
        tuple(way[crew.job] for crew in found) for way in every_staffing(jobs) if set(way) == {c.job for c in found}
    ]
    assert cost(found) == min(cost(way) for way in same)


@given(some_jobs, st.randoms(use_true_random=False))
def test_the_order_in_which_jobs_are_given_changes_nothing(jobs: list[CrewJob], chance: object) -> None:
    shuffled = list(jobs)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]
    assert best_crews(shuffled) == best_crews(jobs)


# ---------------------------------------------------------------- examples
def test_the_only_one_who_can_do_it_is_kept_for_it() -> None:
    jobs = [job("early", "ab", "c"), job("late", "a", "cd", hour=1)]
    assert best_crews(jobs) == (
        Crew(job="early", lead="b", second="c"),
        Crew(job="late", lead="a", second="d"),
    )


def test_nobody_leads_and_stands_by_on_the_same_job() -> None:
    assert best_crews([job("one", "a", "a")]) == ()
    assert best_crews([job("one", "a", "")]) == ()
    assert best_crews([]) == ()


def test_eight_jobs_are_worked_out_and_nine_are_refused_with_a_sentence() -> None:
    eight = [job(f"j{n}", PEOPLE + "fghijklmnop", PEOPLE + "fghijklmnop", hour=n) for n in range(8)]
    assert len(best_crews(eight)) == 8
    with pytest.raises(OutOfRange, match="up to 8 jobs, and 9 are planned"):
        best_crews([*eight, job("j8")])
    with pytest.raises(OutOfRange, match="by hand"):
        unlocks([*eight, job("j8")], {})


@pytest.mark.parametrize(
    ("decision", "may"),
    [
        (None, False),
        (decided("C", mode=Mode.ALONE, until=ENDS + timedelta(minutes=1)), True),
        (decided("C", mode=Mode.ALONE, until=ENDS), False),
        (decided("C", mode=Mode.ALONE), False),
        (decided("C", mode=Mode.SUPERVISED, until=ENDS + timedelta(days=1)), False),
        (decided("C", SIGN_OFF), False),
    ],
)
def test_only_a_clearance_alone_beyond_the_planned_end_counts(decision: Decision | None, may: bool) -> None:
    assert may_take(decision, ENDS) is may


# ---------------------------------------------------------------- what unlocks most
def test_the_single_gap_that_staffs_most_jobs_comes_first() -> None:
    jobs = [job("one", "", "x"), job("two", "", "y", hour=1), job("three", "", "z", hour=2, job_type="D")]
    decisions = {
        "a": {"C": decided("C", SIGN_OFF), "D": decided("D", SIGN_OFF)},
        "b": {"C": decided("C", SIGN_OFF, APPOINTMENT)},
        "c": {"D": decided("D", APPOINTMENT)},
    }
    found = unlocks(jobs, decisions)
    assert [(one.person, one.job_types, one.jobs) for one in found] == [("c", ("D",), 1), ("a", ("C", "D"), 1)]
    assert found[0].gap == APPOINTMENT, "of equals the shorter way"


def test_a_second_person_who_is_missing_unlocks_as_well_and_a_later_day_is_not_in_time() -> None:
    later = gap(Ground.SIGN_OFF, "T8", on=TODAY + timedelta(days=3), kind=RemedyKind.OBSERVATION)
    decisions = {"b": {"second person": decided("second person", later)}}
    (found,) = unlocks([job("one", "a", "")], decisions)
    assert (found.person, found.jobs) == ("b", 1)
    assert not found.in_time(TODAY)
    assert found.in_time(TODAY + timedelta(days=3))
    no_day = replace(later, remedy=replace(later.remedy, earliest_on=None))
    assert not Unlock(person="b", gap=no_day, job_types=(), jobs=1).in_time(date.max)


@pytest.mark.parametrize(
    "gaps",
    [
        (),
        (SIGN_OFF, APPOINTMENT),
        (gap(Ground.UNDER_18, kind=RemedyKind.ENTRY),),
        (gap(Ground.UNKNOWN_REQUIREMENT, kind=RemedyKind.REPAIR),),
        (gap(Ground.CHAIN_BROKEN, kind=RemedyKind.ENTRY),),
    ],
)
def test_what_no_single_step_closes_unlocks_nothing(gaps: tuple[Gap, ...]) -> None:
    assert unlocks([job("one")], {"a": {"C": decided("C", *gaps)}}) == ()


def test_who_could_only_be_supervised_unlocks_when_one_thing_is_missing_for_alone() -> None:
    nobody_to_supervise = gap(Ground.NO_SUPERVISOR, "C", kind=RemedyKind.SUPERVISOR)
    decisions = {"a": {"C": decided("C", SIGN_OFF, nobody_to_supervise)}}
    assert [one.gap for one in unlocks([job("one")], decisions)] == [SIGN_OFF]
    supervised = {"a": {"C": decided("C", SIGN_OFF, mode=Mode.SUPERVISED, until=ENDS)}}
    assert [one.person for one in unlocks([job("one")], supervised)] == ["a"]
    alone = {"a": {"C": decided("C", SIGN_OFF, mode=Mode.ALONE, until=ENDS)}}
    assert unlocks([job("one")], alone) == ()


def test_whose_appointment_does_not_reach_the_vehicle_unlocks_nothing_there() -> None:
    closed = replace(job("one"), closed_to=frozenset("a"))
    assert unlocks([closed], {"a": {"C": decided("C", SIGN_OFF)}}) == ()


@given(some_jobs, st.sampled_from(PEOPLE))
def test_what_is_said_to_be_unlocked_is_what_closing_the_gap_gives(jobs: list[CrewJob], person: str) -> None:
    cleared = [replace(one, may_lead=one.may_lead | {person}) for one in jobs]
    more = len(best_crews(cleared)) - len(best_crews(jobs))
    found = unlocks(jobs, {person: {"C": decided("C", SIGN_OFF)}})
    assert [one.jobs for one in found] == ([more] if more else [])
