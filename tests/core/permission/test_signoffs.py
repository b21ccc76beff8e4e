"""Sign-offs: how many, by whom, on which days, until when; what a failed attempt takes; when it was last done."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.permission.builders import (
    AT,
    MENTORS,
    TODAY,
    answer,
    appointed,
    appointment,
    asks,
    days_ago,
    evidence,
    grounds,
    mentor,
    observed,
    person,
    sign_off,
    supervisor,
)
from training.core.permission.counting import Asked, Seen, Short, enough_through, first_day_possible, short_on
from training.core.permission.decision import Decision, Gap, Ground, Mode, RemedyKind
from training.core.permission.evidence import Observation
from training.core.permission.rule_book import RuleBook

THREE_BY_TWO = asks(sign_off("T1", 3, 2, 2))


def judged(rules: RuleBook, *observations: Observation, at: datetime = AT) -> Decision:
    return answer(evidence(person(observations=observations)), rules, at=at)


def only_gap(decision: Decision, ground: Ground = Ground.SIGN_OFF) -> Gap:
    (gap,) = [gap for gap in decision.gaps if gap.ground is ground]
    return gap


def facts(gap: Gap) -> dict[str, object]:
    return dict(gap.facts)


def test_one_passed_observation_is_a_sign_off_where_one_is_asked() -> None:
    assert judged(asks(sign_off()), observed()).mode is Mode.ALONE


def test_without_any_the_gap_says_how_many_by_how_many_on_how_many_days() -> None:
    gap = only_gap(judged(THREE_BY_TWO))
    assert facts(gap) == {"observations": 3, "mentors": 2, "days": 2}
    assert gap.remedy.kind is RemedyKind.OBSERVATION
    assert gap.remedy.who == ("max", "mia", "moe")
    assert gap.remedy.minutes == 90
    assert gap.remedy.minutes_by_day == ((0, 60), (1, 30))
    assert gap.remedy.earliest_on == date(2026, 3, 3)


@pytest.mark.parametrize(
    ("seen", "short"),
    [
        pytest.param([("mia", 5), ("max", 4)], {"observations": 1, "mentors": 0, "days": 0}, id="two of three"),
        pytest.param(
            [("mia", 5), ("mia", 4), ("mia", 3)], {"observations": 1, "mentors": 1, "days": 0}, id="one mentor"
        ),
        pytest.param([("mia", 5), ("max", 5), ("moe", 5)], {"observations": 1, "mentors": 0, "days": 1}, id="one day"),
        pytest.param([("mia", 5), ("max", 4), ("mia", 3)], {}, id="enough"),
        pytest.param([("mia", 5), ("max", 4), ("tom", 3)], {"observations": 1, "mentors": 0, "days": 0}, id="himself"),
        pytest.param([("mia", 5), ("max", 4), ("eve", 3)], {"observations": 1, "mentors": 0, "days": 0}, id="stranger"),
    ],
)
def test_observations_mentors_and_days_are_each_counted(seen: list[tuple[str, int]], short: dict[str, int]) -> None:
    observations = [observed(days_ago(days) + timedelta(minutes=n), by=by) for n, (by, days) in enumerate(seen)]
    decision = judged(THREE_BY_TWO, *observations)
    assert [facts(gap) for gap in decision.gaps if gap.ground is Ground.SIGN_OFF] == ([short] if short else [])


def test_a_local_day_decides_not_a_day_of_utc() -> None:
    # 23:30 UTC on 24 Feb is 00:30 on 25 Feb in Berlin
    evening, night = datetime(2026, 2, 24, 20, 0, tzinfo=UTC), datetime(2026, 2, 24, 23, 30, tzinfo=UTC)
    assert judged(asks(sign_off("T1", 2, 1, 2)), observed(evening), observed(night)).mode is Mode.ALONE


def test_the_same_attempt_written_twice_counts_once() -> None:
    one = observed()
    again = observed(one.happened_at)
    assert judged(asks(sign_off("T1", 2)), one, again).mode is Mode.NOT_CLEARED


def test_the_end_is_when_the_count_first_falls_short() -> None:
    newest = [observed(days_ago(days), by=by) for by, days in [("mia", 90), ("max", 60), ("moe", 30), ("mia", 2)]]
    decision = judged(THREE_BY_TWO, *newest)
    # four held, three asked: the one 90 days back may go, the one 60 days back (1 Jan 2026) may not
    assert decision.ends_by is not None
    assert decision.ends_by.by_day == date(2027, 1, 1)
    assert judged(THREE_BY_TWO, *newest, at=datetime(2027, 1, 1, 22, 59, tzinfo=UTC)).mode is Mode.ALONE
    assert judged(THREE_BY_TWO, *newest, at=datetime(2027, 1, 1, 23, 0, tzinfo=UTC)).mode is Mode.NOT_CLEARED


def test_the_end_is_when_the_second_mentor_is_lost_though_enough_are_left() -> None:
    seen = [observed(days_ago(days), by=by) for by, days in [("max", 80), ("mia", 60), ("mia", 30), ("mia", 2)]]
    decision = judged(THREE_BY_TWO, *seen)
    assert decision.ends_by is not None
    assert decision.ends_by.by_day == date(2026, 12, 12)  # 80 days before 2 Mar 2026 is 12 Dec 2025


def test_an_observation_of_the_31st_is_valid_through_the_last_day_of_a_shorter_month() -> None:
    decision = judged(asks(sign_off(months=6)), observed(datetime(2025, 10, 31, 9, 0, tzinfo=UTC)))
    assert decision.ends_by is not None
    assert decision.ends_by.by_day == date(2026, 4, 30)  # Reg. 1182/71 Art 3(2)(c)


def test_an_observation_still_to_come_does_not_count_yet() -> None:
    tomorrow = observed(AT + timedelta(days=1))
    assert judged(asks(sign_off()), tomorrow).mode is Mode.NOT_CLEARED
    assert judged(asks(sign_off()), observed(AT)).mode is Mode.ALONE


# --------------------------------------------------------------------------------------------------- failed attempts


def test_a_failed_attempt_takes_all_earlier_passes_at_once() -> None:
    # 14 CFR 135.301(b): fail and one may not serve until the check is passed
    failed = observed(days_ago(5), passed=False)
    assert judged(asks(sign_off()), observed(days_ago(9)), failed).mode is Mode.NOT_CLEARED
    assert judged(asks(sign_off()), observed(days_ago(9)), failed, at=days_ago(6)).mode is Mode.ALONE
    assert judged(asks(sign_off()), observed(days_ago(9)), failed, observed(days_ago(4))).mode is Mode.ALONE


def test_a_pass_at_the_same_instant_as_a_failure_does_not_count() -> None:
    assert judged(asks(sign_off()), observed(AT), observed(AT, passed=False)).mode is Mode.NOT_CLEARED


@pytest.mark.parametrize(
    "failed",
    [
        pytest.param(observed(days_ago(5), passed=False, workshop="elsewhere"), id="elsewhere"),
        pytest.param(observed(days_ago(5), passed=False, by="eve"), id="seen by a stranger"),
        pytest.param(observed(days_ago(5), passed=False, done_only=True), id="a job that went wrong"),
    ],
)
def test_a_failure_counts_wherever_and_whoever_saw_it(failed: Observation) -> None:
    assert judged(asks(sign_off()), observed(days_ago(9)), failed).mode is Mode.NOT_CLEARED


def test_a_failure_at_another_task_takes_nothing() -> None:
    failed = observed(days_ago(5), passed=False, task="T2")
    assert judged(asks(sign_off()), observed(days_ago(9)), failed).mode is Mode.ALONE


# -------------------------------------------------------------------------------------------------------- last done

LATELY = asks(sign_off(within=90))


def test_last_done_counts_dates_and_day_90_still_counts() -> None:
    # 14 CFR 61.57(a): 2 Mar 2026 looks back 90 days to 2 Dec 2025, and not to 1 Dec
    assert judged(LATELY, observed(datetime(2025, 12, 2, 9, 0, tzinfo=UTC))).mode is Mode.ALONE
    decision = judged(LATELY, observed(datetime(2025, 12, 1, 9, 0, tzinfo=UTC)))
    assert grounds(decision) == [Ground.NOT_DONE_LATELY, Ground.NO_SUPERVISOR]
    assert only_gap(decision, Ground.NOT_DONE_LATELY).remedy.who == ("max", "mia", "moe")


def test_a_job_confirmed_by_somebody_else_counts_as_done_but_not_as_seen() -> None:
    seen, done = observed(days_ago(200)), observed(days_ago(3), by="eve", done_only=True)
    assert judged(LATELY, seen, done).mode is Mode.ALONE
    assert Ground.SIGN_OFF in grounds(judged(LATELY, done))


@pytest.mark.parametrize(
    "done",
    [
        pytest.param(observed(days_ago(3), by="tom", done_only=True), id="own word"),
        pytest.param(observed(days_ago(3), by="eve", done_only=True, workshop="elsewhere"), id="elsewhere"),
        pytest.param(observed(days_ago(3), by="eve", done_only=True, task="T2"), id="another task"),
        pytest.param(observed(AT + timedelta(hours=1), by="eve", done_only=True), id="still to come"),
        pytest.param(observed(days_ago(3), by="eve"), id="a pass that does not stand"),
    ],
)
def test_what_does_not_count_as_done(done: Observation) -> None:
    assert Ground.NOT_DONE_LATELY in grounds(judged(LATELY, observed(days_ago(200)), done))


def test_the_end_of_currency_is_named() -> None:
    decision = judged(LATELY, observed(days_ago(80)))
    assert decision.ends_by is not None
    assert (decision.ends_by.because, decision.ends_by.by_day) == (Ground.NOT_DONE_LATELY, date(2026, 3, 12))


# ----------------------------------------------------------------------------------- who appointed did not decide it

NAMED = asks(appointed(), sign_off("T1", 2, 1, 2))
BY_MIA_AND_MAX = (observed(days_ago(9), by="mia", record=1), observed(days_ago(8), by="max", record=2))


def named(*appointments: object, seen: tuple[Observation, ...] = BY_MIA_AND_MAX, **fields: object) -> Decision:
    return answer(evidence(person(observations=seen, appointments=appointments), **fields), NAMED)  # type: ignore[arg-type]


def test_who_appointed_did_not_give_a_deciding_observation() -> None:
    assert named(appointment(by="boss")).mode is Mode.ALONE
    decision = named(appointment(by="mia"))
    assert decision.mode is Mode.NOT_CLEARED
    gap = only_gap(decision)
    assert gap.remedy.kind is RemedyKind.SIGNATURE
    assert facts(gap) == {"appointed_by_observer": "mia"}


def test_an_observation_by_the_appointer_that_decides_nothing_does_no_harm() -> None:
    third = observed(days_ago(7), by="moe", record=3)
    assert named(appointment(by="mia"), seen=(*BY_MIA_AND_MAX, third)).mode is Mode.ALONE


def test_a_second_appointment_by_somebody_else_mends_it_and_its_end_counts() -> None:
    ends_soon = appointment(by="boss", through_day=date(2026, 4, 1))
    decision = named(appointment(by="mia"), ends_soon)
    assert decision.mode is Mode.ALONE
    assert decision.ends_by is not None
    assert (decision.ends_by.because, decision.ends_by.by_day) == (Ground.APPOINTMENT, date(2026, 4, 1))


def test_the_appointer_is_not_sent_to_observe_what_is_missing() -> None:
    gap = only_gap(named(appointment(by="mia"), seen=()))
    assert gap.remedy.kind is RemedyKind.OBSERVATION
    assert gap.remedy.who == ("max", "moe")


def test_a_learner_appointed_by_a_mentor_may_still_be_supervised() -> None:
    decision = named(appointment(by="mia"), supervisors=(supervisor(),))
    assert decision.mode is Mode.SUPERVISED


# -------------------------------------------------------------------------------------------------------- remedies


def test_without_enough_permitted_mentors_no_day_is_promised() -> None:
    alone = evidence(colleagues={"mia": MENTORS["mia"]})
    gap = only_gap(answer(alone, asks(sign_off("T1", 2, 2))))
    assert gap.remedy.who == ("mia",)
    assert gap.remedy.earliest_on is None
    nobody = only_gap(answer(evidence(colleagues={}), asks(sign_off())))
    assert nobody.remedy.who == ()
    assert nobody.remedy.earliest_on is None


def test_mentors_who_have_not_yet_seen_the_person_come_first() -> None:
    gap = only_gap(judged(THREE_BY_TWO, observed(days_ago(5), by="max")))
    assert gap.remedy.who == ("mia", "moe", "max")


def test_a_new_day_is_asked_for_where_today_counts_already() -> None:
    gap = only_gap(judged(asks(sign_off("T1", 2, 1, 2)), observed(AT - timedelta(hours=1))))
    assert gap.remedy.minutes_by_day == ((1, 30),)
    assert gap.remedy.earliest_on == date(2026, 3, 3)


def test_what_lapses_before_the_last_further_day_is_made_up_for() -> None:
    asked = Asked(observations=3, mentors=1, days=3, valid_months=12)
    attempts = [
        Seen(record=1, observer="mia", happened_at=days_ago(365), day=date(2025, 3, 2), through=TODAY),
        Seen(record=2, observer="mia", happened_at=AT, day=TODAY, through=date(2027, 3, 2)),
    ]
    assert short_on(TODAY, attempts, asked) == Short(observations=1, mentors=0, days=1)
    short, days_from_now = first_day_possible(TODAY, attempts, asked)
    assert short == Short(observations=2, mentors=0, days=2)
    assert days_from_now == (1, 2)


SEEN = st.builds(
    lambda by, days: Seen(
        record=days,
        observer=by,
        happened_at=days_ago(days),
        day=TODAY - timedelta(days=days),
        through=TODAY - timedelta(days=days - 60),
    ),
    st.sampled_from(["mia", "max", "moe"]),
    st.integers(0, 60),
)


def some_subset_does(attempts: list[Seen], asked: Asked, day: date) -> bool:
    """By brute force: some choice of the valid attempts has enough of them, of mentors and of days."""
    valid = [a for a in attempts if day <= a.through]
    return any(
        len(chosen) >= asked.observations
        and len({a.observer for a in chosen}) >= asked.mentors
        and len({a.day for a in chosen}) >= asked.days
        for size in range(len(valid) + 1)
        for chosen in combinations(valid, size)
    )


@given(st.lists(SEEN, max_size=5, unique=True), st.integers(1, 3), st.integers(1, 3), st.integers(1, 3))
def test_the_last_day_agrees_with_a_scan_of_every_day_and_every_choice(
    attempts: list[Seen], n: int, k: int, d: int
) -> None:
    asked = Asked(observations=n, mentors=min(k, n), days=min(d, n), valid_months=2)
    days = [date(2026, 1, 1) + timedelta(days=day) for day in range(130)]
    enough = [day for day in days if some_subset_does(attempts, asked, day)]
    assert enough_through(attempts, asked) == max(enough, default=None)


def test_no_observations_are_never_enough() -> None:
    assert enough_through([], Asked(observations=1, mentors=1, days=1, valid_months=1)) is None


def test_a_mentor_for_another_task_only_is_not_named() -> None:
    colleagues = {"mia": MENTORS["mia"], "ned": mentor("ned", frozenset({"T2"}))}
    gap = only_gap(answer(evidence(colleagues=colleagues), asks(sign_off())))
    assert gap.remedy.who == ("mia",)
    assert gap.remedy.earliest_on == TODAY
