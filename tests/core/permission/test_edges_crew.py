"""Crews at their edges: eight jobs, no end, a gap that opens nothing, and in what order unlocking gaps are told."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from tests.core.permission.test_crew import APPOINTMENT, AT, ENDS, SIGN_OFF, TODAY, decided, gap, job
from training.core.permission.crew import Crew, Unlock, best_crews, may_take, unlocks
from training.core.permission.decision import Decision, Ground, Mode, RemedyKind
from training.core.trade.errors import OutOfRange

INSTANT = timedelta(microseconds=1)


def alone(until: object) -> Decision:
    return replace(decided("C", mode=Mode.ALONE), until=until)


def test_who_is_cleared_alone_to_beyond_the_end_may_take_it_and_nobody_else() -> None:
    assert may_take(alone(ENDS + INSTANT), ENDS)
    assert not may_take(alone(ENDS), ENDS)
    assert not may_take(alone(None), ENDS)
    assert not may_take(None, ENDS)
    assert not may_take(replace(alone(ENDS + INSTANT), mode=Mode.SUPERVISED), ENDS)
    assert not may_take(alone(AT), AT - timedelta(hours=1)), "over already when it was worked out"
    assert may_take(alone(AT + INSTANT), AT - timedelta(hours=1))


def test_eight_jobs_are_staffed_and_nine_are_refused_with_their_number() -> None:
    eight = [job(f"j{n}", "abcdefgh"[n]) for n in range(8)]
    assert len(best_crews(eight)) == 8
    with pytest.raises(OutOfRange, match="up to 8 jobs, and 9 are planned"):
        best_crews([*eight, job("j8", "i")])


def test_where_all_but_one_can_be_staffed_they_are() -> None:
    for number in range(2, 6):
        jobs = [job(f"j{n}", "abcdef"[n] if n else "") for n in range(number)]
        assert [crew.job for crew in best_crews(jobs)] == [f"j{n}" for n in range(1, number)]
    assert best_crews([job("j0")]) == ()
    assert best_crews([]) == ()


def test_somebody_moves_along_where_that_makes_room() -> None:
    for scarce in "ab":
        jobs = [job("j0", "ab"), job("j1", scarce, hour=1)]
        other = "b" if scarce == "a" else "a"
        assert best_crews(jobs) == (Crew(job="j0", lead=other), Crew(job="j1", lead=scarce))
    chain = [job("j0", "abc"), job("j1", "ab", hour=1), job("j2", "a", hour=2), job("j3", "d", hour=3)]
    assert [crew.lead for crew in best_crews(chain)] == ["c", "b", "a", "d"]
    assert [crew.lead for crew in best_crews([job("j0", "cba"), job("j1", "cb", hour=1), job("j2", "c", hour=2)])] == [
        "a",
        "b",
        "c",
    ]


def test_the_second_person_is_named_where_one_is_asked_for_and_is_not_the_lead() -> None:
    assert best_crews([job("j0", "ab", "a")]) == (Crew(job="j0", lead="b", second="a"),)
    assert best_crews([job("j0", "a", "a")]) == ()
    assert Crew(job="j0", lead="a").second == ""


def test_a_gap_that_opens_no_further_job_is_not_told() -> None:
    jobs = [job("j0", "a"), job("j1", "a", hour=1)]
    assert [each.person for each in unlocks(jobs, {"b": {"C": decided("C", SIGN_OFF)}})] == ["b"]
    assert unlocks(jobs[:1], {"b": {"C": decided("C", SIGN_OFF)}}) == ()
    assert unlocks(jobs, {"b": {"D": decided("D", SIGN_OFF)}}) == ()
    closed = [replace(one, closed_to=frozenset("b")) for one in jobs]
    assert unlocks(closed, {"b": {"C": decided("C", SIGN_OFF)}}) == ()


def test_a_gap_as_second_person_opens_no_lead_and_a_gap_as_lead_no_second_person() -> None:
    asks_both = [job("j0", "", "z")]
    assert unlocks(asks_both, {"b": {"second person": decided("second person", SIGN_OFF)}}) == ()
    assert [each.jobs for each in unlocks(asks_both, {"b": {"C": decided("C", SIGN_OFF)}})] == [1]
    second_missing = [job("j0", "z", "")]
    assert unlocks(second_missing, {"b": {"C": decided("C", SIGN_OFF)}}) == ()
    found = unlocks(second_missing, {"b": {"second person": decided("second person", SIGN_OFF)}})
    assert [each.job_types for each in found] == [("second person",)]


def test_a_job_type_with_nothing_to_close_hides_no_other() -> None:
    other = replace(SIGN_OFF, subject="T4")
    by_type = {
        "A": replace(decided("A", mode=Mode.ALONE), until=ENDS),
        "B": decided("B", SIGN_OFF, other),
        "D": decided("D", gap(Ground.UNDER_18, kind=RemedyKind.ENTRY)),
        "C": decided("C", SIGN_OFF),
    }
    assert [each.job_types for each in unlocks([job("j0")], {"b": by_type})] == [("C",)]


@pytest.mark.parametrize(
    "hopeless",
    [
        gap(Ground.UNDER_18, kind=RemedyKind.ENTRY),
        gap(Ground.CHAIN_BROKEN, kind=RemedyKind.ENTRY),
        gap(Ground.CLOCK, kind=RemedyKind.ENTRY),
        gap(Ground.RECORD_UNREADABLE, kind=RemedyKind.ENTRY),
        gap(Ground.JOB_TYPE, kind=RemedyKind.REPAIR),
    ],
    ids=lambda one: str(one.ground),
)
def test_what_nobody_can_close_unlocks_nothing(hopeless: object) -> None:
    assert unlocks([job("j0")], {"b": {"C": decided("C", hopeless)}}) == ()  # type: ignore[arg-type]


def test_of_one_gap_told_in_two_ways_the_first_is_judged_and_told() -> None:
    first, again = SIGN_OFF, replace(SIGN_OFF, sentence="Asked otherwise.")
    broken = gap(Ground.SIGN_OFF, kind=RemedyKind.REPAIR)
    nobody = gap(Ground.NO_SUPERVISOR, "C", kind=RemedyKind.SUPERVISOR)
    found = unlocks([job("j0")], {"b": {"C": decided("C", nobody, first, again, broken)}})
    assert found == (Unlock(person="b", gap=first, job_types=("C",), jobs=1),)
    assert unlocks([job("j0")], {"b": {"C": decided("C", broken, first)}}) == ()


def test_most_jobs_come_first_then_the_soonest_then_the_shortest_then_by_name() -> None:
    jobs = [job("j0", job_type="C"), job("j1", job_type="D"), job("j2", job_type="E", hour=1)]
    long = gap(Ground.SIGN_OFF, minutes=60, kind=RemedyKind.OBSERVATION)
    never = gap(Ground.SIGN_OFF, minutes=1, on=None, kind=RemedyKind.CERTIFICATE)
    later = gap(Ground.SIGN_OFF, minutes=1, on=TODAY + timedelta(days=1), kind=RemedyKind.OBSERVATION)
    people = {"never": never, "later": later, "long": long, "zoe": APPOINTMENT, "ada": APPOINTMENT}
    found = unlocks(jobs, {key: {"C": decided("C", one)} for key, one in people.items()})
    assert [each.person for each in found] == ["ada", "zoe", "long", "later", "never"]
    staffed = [job("j0", "x"), job("j1", "xy"), job("j2", hour=1, job_type="D")]
    decisions = {"a": {"D": decided("D", SIGN_OFF)}, "b": {"D": decided("D", APPOINTMENT)}}
    assert [(each.person, each.jobs) for each in unlocks(staffed, decisions)] == [("b", 1), ("a", 1)]


def test_a_gap_can_be_closed_in_time_on_the_day_itself() -> None:
    for on, in_time in ((TODAY, True), (TODAY + timedelta(days=1), False), (None, False)):
        one = Unlock(person="a", gap=gap(Ground.SIGN_OFF, on=on, kind=RemedyKind.DRILL), job_types=("C",), jobs=1)
        assert one.in_time(TODAY) is in_time
