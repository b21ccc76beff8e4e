"""A small shop: one mentor is enough, with one observation more and one of them by somebody from outside."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from tests.core.permission.builders import (
    AT,
    SHOP,
    TODAY,
    answer,
    appointed,
    appointment,
    asks,
    certificate,
    days_ago,
    evidence,
    grounds,
    mentor,
    named_mentor,
    observed,
    person,
    sign_off,
    small_shop,
    supervisor,
)
from training.core.permission.counting import Asked, Seen, Short, enough_through, short_on
from training.core.permission.decision import Decision, Gap, Ground, Mode, RemedyKind
from training.core.permission.evidence import Evidence, Observation, SmallShop, Supervision
from training.core.permission.rule_book import RuleBook
from training.core.permission.shape import misfits
from training.core.permission.ways import small_shop_for, ways_of

TWO_BY_TWO = asks(sign_off("T1", 2, 2, 1))
TASKS = frozenset({"T1", "T2", "T3"})
INSIDE = mentor("ida")
OUTSIDE = mentor("ola", mentor_appointments=(named_mentor(outside=True),))
TWO_INSIDE_ONE_OUTSIDE = (("ida", 30), ("ida", 20), ("ola", 10))


def seen_by(*seen: tuple[str, float], **fields: Any) -> tuple[Observation, ...]:
    return tuple(observed(days_ago(days), by=by, **fields) for by, days in seen)


def shop_of(*observations: Observation, shops: tuple[SmallShop, ...] = (small_shop(),), **fields: Any) -> Evidence:
    """Tom's workshop: Ida its only mentor, Ola from outside."""
    fields.setdefault("colleagues", {"ida": INSIDE, "ola": OUTSIDE})
    return evidence(person(observations=observations), small_shops=shops, **fields)


def judged(
    *seen: tuple[str, float],
    shops: tuple[SmallShop, ...] = (small_shop(),),
    rules: RuleBook = TWO_BY_TWO,
    at: datetime = AT,
    **fields: Any,
) -> Decision:
    return answer(shop_of(*seen_by(*seen), shops=shops, **fields), rules, at=at)


def only_gap(decision: Decision) -> Gap:
    (gap,) = [gap for gap in decision.gaps if gap.ground is Ground.SIGN_OFF]
    return gap


# ------------------------------------------------------------------------------------------------- what is asked

MORE_BY_IDA, ON_TWO_DAYS = asks(sign_off("T1", 3, 2, 2)), asks(sign_off("T1", 2, 2, 2))
ON_ONE_DAY = (("ola", 10), ("ola", 10.1), ("ola", 10.2))

ENOUGH: dict[str, tuple[RuleBook, tuple[tuple[str, float], ...], bool]] = {
    "two of two mentors, as ever": (TWO_BY_TWO, (("ida", 20), ("ola", 10)), True),
    "by two mentors, one from outside": (MORE_BY_IDA, (("ida", 40), ("ida", 30), ("ola", 10)), True),
    "one more, all from outside": (TWO_BY_TWO, (("ola", 30), ("ola", 20), ("ola", 10)), True),
    "two, both from outside": (TWO_BY_TWO, (("ola", 20), ("ola", 10)), False),
    "one more, none from outside": (TWO_BY_TWO, (("ida", 30), ("ida", 20), ("ida", 10)), False),
    "all on one day where one is asked for": (TWO_BY_TWO, ON_ONE_DAY, True),
    "all on one day where two are asked for": (ON_TWO_DAYS, ON_ONE_DAY, False),
}


@pytest.mark.parametrize(("rules", "seen", "enough"), ENOUGH.values(), ids=ENOUGH.keys())
def test_one_observation_more_and_one_from_outside_make_up_for_the_second_mentor(
    rules: RuleBook, seen: tuple[tuple[str, float], ...], enough: bool
) -> None:
    assert (judged(*seen, rules=rules).mode is Mode.ALONE) is enough


def test_without_the_exception_they_do_not() -> None:
    assert judged(*(("ola", n) for n in (30, 20, 10)), shops=()).mode is Mode.NOT_CLEARED


def test_one_from_outside_more_than_12_months_back_is_not_enough_though_it_is_still_valid() -> None:
    rules = asks(sign_off("T1", 2, 3, 1, months=24))
    by_ola = observed(datetime(2025, 7, 10, 9, tzinfo=UTC), by="ola")
    given = shop_of(by_ola, *seen_by(("ida", 9), ("ida", 8)))
    decision = answer(given, rules)
    assert decision.mode is Mode.ALONE
    assert decision.ends_by is not None
    assert decision.ends_by.by_day == date(2026, 7, 10)
    assert answer(given, rules, at=datetime(2026, 7, 10, 21, 59, tzinfo=UTC)).mode is Mode.ALONE
    late = answer(given, rules, at=datetime(2026, 7, 10, 22, 0, tzinfo=UTC))
    assert late.mode is Mode.NOT_CLEARED
    assert dict(only_gap(late).facts)["outside"] == 1


def test_the_one_from_outside_has_to_be_made_alone_as_all_the_others() -> None:
    beside = observed(days_ago(10), by="ola", supervision=Supervision.BESIDE)
    given = shop_of(*seen_by(("ida", 30), ("ida", 20), ("ida", 15)), beside)
    assert answer(given, TWO_BY_TWO).mode is Mode.NOT_CLEARED


def test_the_one_from_outside_has_to_be_given_by_somebody_who_was_from_outside_then() -> None:
    paper = certificate(tasks=TASKS, through_day=days_ago(15).date())
    lapsed = replace(OUTSIDE, certificates=(paper,), observations=(observed(days_ago(60), by="ida"),))
    rules = asks(sign_off("T1", 3, 2, 1))
    seen = (*(("ida", n) for n in (30, 20, 10)), ("ola", 5))
    known = {"ida": INSIDE, "ola": OUTSIDE}
    assert judged(*seen, rules=rules, shops=(), colleagues=known).mode is Mode.ALONE  # two mentors, in the ordinary way
    only_ola = tuple(("ola", n) for n in (13, 12, 11, 10))
    assert judged(*only_ola, rules=rules, colleagues=known).mode is Mode.ALONE
    assert judged(*only_ola, rules=rules, colleagues={**known, "ola": lapsed}).mode is Mode.NOT_CLEARED


def test_whoever_appointed_does_not_give_the_one_from_outside() -> None:
    rules = asks(appointed(), sign_off("T1", 1, 2, 1))
    given = shop_of(*seen_by(("ida", 20), ("ida", 15), ("ola", 10)))
    by = {key: replace(given, of=replace(given.of, appointments=(appointment(by=key),))) for key in ("ola", "boss")}
    assert answer(by["boss"], rules).mode is Mode.ALONE
    assert answer(by["ola"], rules).mode is Mode.NOT_CLEARED
    assert only_gap(answer(by["ola"], rules)).remedy.kind is RemedyKind.SIGNATURE


# ------------------------------------------------------------------------------------------- which exception counts

ALL_BY_OLA = tuple(("ola", n) for n in (30, 20, 10))
EXCEPTIONS: dict[str, tuple[SmallShop, bool]] = {
    "signed by two": (small_shop(), True),
    "for the task": (small_shop(frozenset({"T1"})), True),
    "for other tasks": (small_shop(frozenset({"T2"})), False),
    "elsewhere": (small_shop(workshop="elsewhere"), False),
    "signed by one only": (small_shop(second_by=""), False),
    "signed by nobody first": (small_shop(by=""), False),
    "signed twice by the same": (small_shop(second_by="boss"), False),
    "signed by the person": (small_shop(by="tom"), False),
    "signed second by the person": (small_shop(second_by="tom"), False),
    "ends today": (small_shop(through_day=TODAY), True),
    "ended yesterday": (small_shop(through_day=date(2026, 3, 1)), False),
    "withdrawn from tomorrow": (small_shop(withdrawn_from=date(2026, 3, 3)), True),
    "withdrawn from today": (small_shop(withdrawn_from=TODAY), False),
    "written tomorrow": (small_shop(entered_on=date(2026, 3, 3)), False),
    "began later than written, unconfirmed": (small_shop(entered_on=date(2025, 12, 1)), False),
    "confirmed on its day": (small_shop(entered_on=date(2025, 12, 1), confirmed_on=date(2026, 1, 1)), True),
    "confirmed too early": (small_shop(entered_on=date(2025, 12, 1), confirmed_on=date(2025, 12, 31)), False),
    "begins tomorrow": (small_shop(from_day=date(2026, 3, 3), entered_on=date(2026, 3, 1)), False),
}


@pytest.mark.parametrize(("shop", "counts"), EXCEPTIONS.values(), ids=EXCEPTIONS.keys())
def test_an_exception_counts_only_in_force_for_the_task_and_signed_by_two_others(shop: SmallShop, counts: bool) -> None:
    assert (judged(*ALL_BY_OLA, shops=(shop,)).mode is Mode.ALONE) is counts


@pytest.mark.parametrize(
    "ends", [{"through_day": date(2026, 5, 10)}, {"withdrawn_from": date(2026, 5, 11)}], ids=["ends", "is withdrawn"]
)
def test_the_clearance_ends_at_the_close_of_the_last_day_of_the_exception(ends: dict[str, date]) -> None:
    decision = judged(*ALL_BY_OLA, shops=(small_shop(**ends),))
    assert decision.ends_by is not None
    assert (decision.ends_by.because, decision.ends_by.by_day) == (Ground.SIGN_OFF, date(2026, 5, 10))
    last = datetime(2026, 5, 10, 21, 59, tzinfo=UTC)
    assert judged(*ALL_BY_OLA, shops=(small_shop(**ends),), at=last).mode is Mode.ALONE
    assert judged(*ALL_BY_OLA, shops=(small_shop(**ends),), at=last + timedelta(minutes=1)).mode is Mode.NOT_CLEARED


def test_of_several_exceptions_the_one_lasting_longest_and_then_the_oldest_is_named_among_the_proofs() -> None:
    soon, long = small_shop(record=70, through_day=date(2026, 5, 10)), small_shop(record=71)
    same = small_shop(record=72)
    for shops in [(soon, long, same), (same, long, soon)]:
        decision = judged(*ALL_BY_OLA, shops=shops)
        assert {70, 71, 72} & set(decision.proofs) == {71}
        assert decision.ends_by is not None
        assert decision.ends_by.by_day == date(2027, 1, 31)  # 30 days before 2 Mar 2026 is 31 Jan 2026


def test_where_the_ordinary_way_is_met_the_exception_proves_nothing_but_may_last_longer() -> None:
    shop = small_shop(record=70)
    seen = (("ida", 300), ("ola", 40), ("ola", 30), ("ola", 20))
    opened = {"workshop_opened_on": date(2025, 4, 1)}
    known = {"ida": mentor("ida", mentor_appointments=(named_mentor(from_day=date(2025, 4, 1)),)), "ola": OUTSIDE}
    known["ida"] = replace(known["ida"], certificates=(certificate(tasks=TASKS, issued_on=date(2025, 1, 1)),))
    ordinary = judged(*seen, shops=(), colleagues=known, **opened)
    both = judged(*seen, shops=(shop,), colleagues=known, **opened)
    assert ordinary.ends_by is not None
    assert both.ends_by is not None
    assert ordinary.ends_by.by_day == date(2026, 5, 6)  # Ida's, 300 days before 2 Mar 2026, is of 6 May 2025
    assert both.ends_by.by_day == date(2027, 1, 21)  # the first of three by Ola, 40 days before, is of 21 Jan 2026
    assert len(both.proofs) == 4
    assert 70 not in both.proofs


def test_where_one_mentor_is_asked_for_an_exception_changes_nothing() -> None:
    plain, given = asks(sign_off("T1", 1, 1)), shop_of(*seen_by(("ida", 10)))
    assert answer(given, plain) == answer(replace(given, small_shops=()), plain)
    assert len(ways_of(Asked(observations=1, mentors=1, days=1, valid_months=12), small_shop())) == 1


def test_a_learner_in_a_small_shop_may_be_supervised_meanwhile() -> None:
    assert judged(supervisors=(supervisor(),)).mode is Mode.SUPERVISED


JUNK: list[dict[str, Any]] = [
    {"tasks": "T1"},
    {"tasks": ("T1",)},
    {"by": None},
    {"second_by": 3},
    {"through_day": AT},
    {"from_day": "2026-01-01"},
    {"record": True},
    {"withdrawn_from": 7},
]


@pytest.mark.parametrize("junk", JUNK, ids=[next(iter(each)) for each in JUNK])
def test_an_exception_that_cannot_be_read_clears_nobody(junk: dict[str, Any]) -> None:
    broken = replace(small_shop(), **junk)
    assert misfits(broken, SmallShop) == tuple(junk)
    decision = judged(*ALL_BY_OLA, shops=(small_shop(), broken))
    assert (decision.mode, grounds(decision)) == (Mode.NOT_CLEARED, [Ground.RECORD_UNREADABLE])


# -------------------------------------------------------------------------------------------------- what to do


def test_the_ordinary_remedy_is_told_where_it_can_be_had_and_is_no_longer() -> None:
    gap = only_gap(judged(("ida", 20)))
    assert dict(gap.facts) == {"observations": 1, "mentors": 1, "days": 0}
    assert gap.remedy.who == ("ola", "ida")


def test_where_only_one_mentor_may_observe_the_remedy_is_that_of_the_small_shop() -> None:
    shop = small_shop(record=70)
    gap = only_gap(judged(("ola", 20), shops=(shop,), colleagues={"ola": OUTSIDE}))
    assert dict(gap.facts) == {"observations": 2, "mentors": 0, "days": 0, "small_shop": 70}
    assert (gap.remedy.who, gap.remedy.minutes, gap.remedy.earliest_on) == (("ola",), 60, TODAY)
    without = only_gap(judged(("ola", 20), shops=(), colleagues={"ola": OUTSIDE}))
    assert dict(without.facts) == {"observations": 1, "mentors": 1, "days": 0}
    assert without.remedy.earliest_on is None


def test_the_mentor_from_outside_is_named_first_where_an_observation_from_outside_is_short() -> None:
    rules = asks(sign_off("T1", 2, 3, 1))  # three mentors, and there are but two
    gap = only_gap(judged(("ola", 400), ("ida", 20), rules=rules, shops=(small_shop(record=70),)))
    assert dict(gap.facts) == {"observations": 2, "mentors": 0, "days": 0, "small_shop": 70, "outside": 1}
    assert gap.remedy.who == ("ola", "ida")
    assert gap.remedy.earliest_on == TODAY


def test_the_shorter_way_is_told_though_both_can_be_had() -> None:
    max_too = {"ida": INSIDE, "ola": OUTSIDE, "max": mentor("max"), "moe": mentor("moe")}
    rules = asks(sign_off("T1", 1, 3, 1))
    gap = only_gap(judged(rules=rules, shops=(small_shop(record=70),), colleagues=max_too))
    assert dict(gap.facts) == {"observations": 2, "mentors": 1, "days": 1, "small_shop": 70, "outside": 1}
    assert gap.remedy.who[0] == "ola"


def test_with_nobody_from_outside_and_one_mentor_no_day_is_promised_and_it_says_what_is_short() -> None:
    gap = only_gap(judged(("ida", 20), shops=(small_shop(record=70),), colleagues={"ida": INSIDE}))
    assert dict(gap.facts) == {"observations": 2, "mentors": 0, "days": 0, "small_shop": 70, "outside": 1}
    assert gap.remedy.earliest_on is None


def test_no_day_is_promised_beyond_the_last_day_of_the_exception() -> None:
    rules, seen = asks(sign_off("T1", 2, 2, 2)), [("ola", 0.1), ("ola", 0.2)]
    gap = only_gap(judged(*seen, rules=rules, colleagues={"ola": OUTSIDE}))
    assert gap.remedy.earliest_on == date(2026, 3, 3)
    ends_today = small_shop(through_day=TODAY)
    gap = only_gap(judged(*seen, rules=rules, shops=(ends_today,), colleagues={"ola": OUTSIDE}))
    assert gap.remedy.earliest_on is None


# -------------------------------------------------------------------------------------------------------- counting


def test_what_is_from_outside_speaks_as_such_for_a_year_and_no_longer_than_it_is_valid() -> None:
    asked = Asked(observations=1, mentors=1, days=1, valid_months=6, outside=1)

    def one(through: date, outside_through: date | None) -> Seen:
        return Seen(
            record=1, observer="ola", happened_at=AT, day=TODAY, through=through, outside_through=outside_through
        )

    short_lived, long_lived = one(date(2026, 9, 2), date(2027, 3, 2)), one(date(2028, 3, 2), date(2027, 3, 2))
    assert enough_through([short_lived], asked) == date(2026, 9, 2)
    assert enough_through([long_lived], asked) == date(2027, 3, 2)
    assert enough_through([one(date(2028, 3, 2), None)], asked) is None
    short = short_on(date(2027, 3, 3), [long_lived], asked)
    assert short == Short(observations=0, mentors=0, days=0, outside=1)
    assert short.attempts == 1


def test_a_way_of_a_small_shop_ends_with_it() -> None:
    asked = Asked(observations=1, mentors=2, days=1, valid_months=12)
    ordinary, second = ways_of(asked, small_shop(through_day=date(2026, 4, 1)))
    seen = [
        Seen(record=n, observer="ola", happened_at=days_ago(n), day=TODAY, through=date(2027, 3, 2),
             outside_through=date(2027, 3, 2)) for n in (1, 2)
    ]  # fmt: skip
    assert ordinary.through(seen) is None
    assert second.through(seen) == date(2026, 4, 1)
    assert second.is_met(seen, date(2026, 4, 1))
    assert not second.is_met(seen, date(2026, 4, 2))


def test_without_any_exception_none_counts() -> None:
    assert small_shop_for((), person="tom", task="T1", workshop=SHOP, day=TODAY) is None
