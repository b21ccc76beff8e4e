"""Mentors of a small shop: what their own sign-off rests on, and a shop of three from its first to its second year."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

from tests.core.permission.builders import (
    AT,
    SHOP,
    ZONE,
    age,
    answer,
    asks,
    certificate,
    days_ago,
    evidence,
    mentor,
    named_mentor,
    observed,
    person,
    sign_off,
    small_shop,
)
from tests.core.permission.test_small_shop import ALL_BY_OLA, OUTSIDE, TASKS, TWO_BY_TWO, judged, only_gap, seen_by
from training.core.permission.authority import House, Refusal, may_observe
from training.core.permission.decision import Decision, Mode
from training.core.permission.evidence import Observation, PersonEvidence, SmallShop

# ------------------------------------------------------------------------------------------------------ authority

LONG_AGO = date(2020, 1, 1)


def house(*people: PersonEvidence, shops: tuple[SmallShop, ...] = (small_shop(),)) -> House:
    return House(
        workshop=SHOP,
        zone=ZONE,
        opened_on=LONG_AGO,
        people={p.person: p for p in people},
        rule_book=TWO_BY_TWO,
        small_shops=shops,
    )


def owner(*observations: Observation) -> PersonEvidence:
    """A mentor of the workshop without any certificate."""
    return mentor("ida", observations=observations, certificates=())


def test_a_mentor_signed_off_as_in_a_small_shop_has_authority_only_while_the_exception_counts() -> None:
    given = owner(*seen_by(*ALL_BY_OLA))
    assert may_observe("ida", "tom", "T1", AT, house(given, OUTSIDE)) == ()
    for shops in [(), (small_shop(through_day=date(2026, 3, 1)),), (small_shop(second_by=""),)]:
        assert may_observe("ida", "tom", "T1", AT, house(given, OUTSIDE, shops=shops)) == (Refusal.NO_SIGN_OFF,)


def test_a_mentor_signs_no_exception_for_their_own_sign_off_though_for_that_of_others() -> None:
    by_ida = small_shop(by="ida")
    given = house(owner(*seen_by(*ALL_BY_OLA)), OUTSIDE, shops=(by_ida,))
    assert may_observe("ida", "tom", "T1", AT, given) == (Refusal.NO_SIGN_OFF,)
    assert judged(*ALL_BY_OLA, shops=(by_ida,)).mode is Mode.ALONE


def test_a_house_with_an_unreadable_exception_goes_by_the_others() -> None:
    broken = replace(small_shop(), through_day=None)  # type: ignore[arg-type]
    given = owner(*seen_by(*ALL_BY_OLA))
    assert may_observe("ida", "tom", "T1", AT, house(given, OUTSIDE, shops=(broken,))) == (Refusal.NO_SIGN_OFF,)
    assert may_observe("ida", "tom", "T1", AT, house(given, OUTSIDE, shops=(broken, small_shop()))) == ()


def test_whom_a_mentor_signed_off_is_left_out_of_the_small_shop_way_too() -> None:
    """Ola was seen by Ida, whom she saw: a pair, and both have somebody from outside behind them."""
    given = owner(*seen_by(*ALL_BY_OLA))
    ola = replace(OUTSIDE, observations=(observed(days_ago(5), by="ida"),))
    assert may_observe("ida", "ola", "T1", AT, house(given, ola)) == (Refusal.EACH_OTHER,)
    oscar = mentor("oscar", mentor_appointments=(named_mentor(outside=True),))
    by_oscar = owner(*seen_by(*ALL_BY_OLA, *(("oscar", n) for n in (33, 32, 31))))
    assert may_observe("ida", "ola", "T1", AT, house(by_oscar, ola, oscar)) == ()


# --------------------------------------------------------------------------------------------------- a shop of three


OPENING = date(2024, 2, 1)
COURSE = certificate(tasks=TASKS, issued_on=date(2023, 6, 1))
BY_TWO = small_shop(from_day=OPENING, record=7)


def on(year: int, month: int, day: int, hour: int = 9) -> datetime:
    return datetime(year, month, day, hour, tzinfo=UTC)


def of_three(at: datetime, *shops: SmallShop) -> Decision:
    """Ida owns the workshop and is its only mentor, Tom works with her, Ola comes by once a year: as it stood then."""
    since = named_mentor(from_day=OPENING)
    of_ida = [observed(on(2024, 11, day), by="ola") for day in (4, 5, 6)]
    of_tom = [observed(on(year, 3, day), by="ida") for year in (2024, 2025) for day in (4, 5)]
    of_tom.append(observed(on(2024, 11, 4, 15), by="ola"))
    given = evidence(
        person(observations=tuple(o for o in of_tom if o.happened_at <= at), ages=(age(entered_on=OPENING),)),
        colleagues={
            "ida": mentor("ida", mentor_appointments=(since,), certificates=(COURSE,), observations=tuple(of_ida)),
            "ola": mentor("ola", mentor_appointments=(replace(since, outside=True),), certificates=(COURSE,)),
        },
        workshop_opened_on=OPENING,
        small_shops=shops,
        newest_recorded_at=None,
    )
    return answer(given, asks(sign_off("T1", 2, 2, 2)), at=at)


def test_in_a_new_shop_of_three_one_mentor_alone_clears_nobody() -> None:
    decision = of_three(on(2024, 3, 6), BY_TWO)
    assert decision.mode is Mode.NOT_CLEARED
    assert only_gap(decision).remedy.who == ("ola", "ida")


def test_in_a_shop_of_three_ola_is_the_second_mentor_while_the_first_months_last() -> None:
    assert of_three(on(2024, 11, 6)).mode is Mode.ALONE


def test_a_year_on_the_shop_of_three_stands_on_what_ola_saw_of_ida_and_tom() -> None:
    """Tom was seen by two mentors; it is Ida, all of whose observations are Ola's, whom the exception carries."""
    decision = of_three(on(2025, 3, 6), BY_TWO)
    assert (decision.mode, len(decision.proofs)) == (Mode.ALONE, 3)
    assert 7 not in decision.proofs
    assert of_three(on(2025, 3, 6)).mode is Mode.NOT_CLEARED


def test_in_a_shop_of_three_all_ends_when_olas_last_visit_is_a_year_back() -> None:
    decision = of_three(on(2025, 3, 6), BY_TWO)
    assert decision.ends_by is not None
    assert decision.ends_by.by_day == date(2025, 11, 4)
    assert of_three(on(2025, 11, 4), BY_TWO).mode is Mode.ALONE
    gap = only_gap(of_three(on(2025, 11, 5), BY_TWO))
    assert dict(gap.facts) == {"observations": 1, "mentors": 1, "days": 0}
    assert (gap.remedy.who, gap.remedy.earliest_on) == (("ola",), date(2025, 11, 5))
