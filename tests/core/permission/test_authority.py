"""Whose observation counts: appointed for the task, own sign-off or a certificate, and nobody for themselves."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from tests.core.permission.builders import (
    AT,
    OPENED,
    SHOP,
    TASKS,
    ZONE,
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
    stood_down,
)
from training.core.permission.authority import Court, House, Refusal, may_observe
from training.core.permission.decision import Mode
from training.core.permission.evidence import PersonEvidence, Supervision
from training.core.permission.rule_book import RuleBook

LONG_AGO = date(2020, 1, 1)  # a workshop long past its first months
RULES = asks(sign_off("T1"))


def house(*people: PersonEvidence, opened_on: date | None = OPENED, rules: RuleBook = RULES) -> House:
    return House(workshop=SHOP, zone=ZONE, opened_on=opened_on, people={p.person: p for p in people}, rule_book=rules)


def refusals(of: PersonEvidence, *others: PersonEvidence, opened_on: date | None = OPENED) -> tuple[Refusal, ...]:
    return may_observe(of.person, "tom", "T1", AT, house(of, *others, opened_on=opened_on))


def test_in_a_new_workshop_an_outside_certificate_that_names_the_task_will_do() -> None:
    assert refusals(mentor("mia")) == ()


def test_nobody_signs_for_themselves() -> None:
    assert may_observe("tom", "tom", "T1", AT, house(mentor("tom"))) == (Refusal.SELF,)


def test_somebody_not_on_record_may_not_observe() -> None:
    assert may_observe("eve", "tom", "T1", AT, house()) == (Refusal.UNKNOWN,)


def test_evidence_filed_under_another_name_is_not_theirs() -> None:
    swapped = House(workshop=SHOP, zone=ZONE, opened_on=OPENED, people={"eve": mentor("mia")}, rule_book=RULES)
    assert may_observe("eve", "tom", "T1", AT, swapped) == (Refusal.UNREADABLE,)


NOT_NAMED = (Refusal.NOT_APPOINTED, Refusal.NO_SIGN_OFF)  # a certificate carries only whom two people appointed
CHANGES: dict[str, tuple[dict[str, Any], tuple[Refusal, ...]]] = {
    "unreadable": ({"unreadable": (3,)}, (Refusal.UNREADABLE,)),
    "stood down": ({"stand_downs": (stood_down(),)}, (Refusal.STOOD_DOWN,)),
    "stood down for one job type": ({"stand_downs": (stood_down(None, "Z"),)}, (Refusal.STOOD_DOWN,)),
    "never appointed": ({"mentor_appointments": ()}, NOT_NAMED),
    "for another task": ({"mentor_appointments": (named_mentor(frozenset({"T2"})),)}, NOT_NAMED),
    "by themselves": ({"mentor_appointments": (named_mentor(by="mia"),)}, NOT_NAMED),
    "elsewhere": ({"mentor_appointments": (named_mentor(workshop="elsewhere"),)}, NOT_NAMED),
    "ended": ({"mentor_appointments": (named_mentor(through_day=date(2026, 3, 1)),)}, NOT_NAMED),
    "written too late": ({"mentor_appointments": (named_mentor(entered_on=date(2026, 3, 3)),)}, NOT_NAMED),
    "starts by itself": ({"mentor_appointments": (named_mentor(entered_on=date(2025, 5, 1)),)}, NOT_NAMED),
    "no certificate": ({"certificates": ()}, (Refusal.NO_SIGN_OFF,)),
    "certificate for another task": (
        {"certificates": (certificate(tasks=frozenset({"T2"})),)},
        (Refusal.NO_SIGN_OFF,),
    ),
    "certificate over": (
        {"certificates": (certificate(tasks=TASKS, through_day=date(2026, 3, 1)),)},
        (Refusal.NO_SIGN_OFF,),
    ),
    "certificate too old": (
        {"certificates": (certificate(tasks=TASKS, issued_on=date(2023, 3, 1)),)},
        (Refusal.NO_SIGN_OFF,),
    ),
    "certificate still to come": (
        {"certificates": (certificate(tasks=TASKS, issued_on=date(2026, 3, 3)),)},
        (Refusal.NO_SIGN_OFF,),
    ),
}


@pytest.mark.parametrize(("changes", "refusal"), CHANGES.values(), ids=CHANGES.keys())
def test_each_thing_that_authority_needs_is_needed(changes: dict[str, Any], refusal: tuple[Refusal, ...]) -> None:
    assert refusals(mentor("mia", **changes)) == refusal


def test_all_refusals_are_told() -> None:
    assert refusals(PersonEvidence(person="mia", stand_downs=(stood_down(),))) == (
        Refusal.STOOD_DOWN,
        Refusal.NOT_APPOINTED,
        Refusal.NO_SIGN_OFF,
    )


def test_an_appointment_that_starts_later_counts_once_confirmed_on_or_after_its_day() -> None:
    early = named_mentor(entered_on=date(2025, 5, 1), confirmed_on=date(2025, 6, 1))
    assert refusals(mentor("mia", mentor_appointments=(early,))) == ()
    too_early = replace(early, confirmed_on=date(2025, 5, 31))
    assert refusals(mentor("mia", mentor_appointments=(too_early,))) == NOT_NAMED
    still_to_come = replace(early, confirmed_on=date(2026, 3, 3))
    assert refusals(mentor("mia", mentor_appointments=(still_to_come,))) == NOT_NAMED


@pytest.mark.parametrize(
    ("opened_on", "may"),
    [
        pytest.param(date(2025, 3, 2), True, id="last day of the first twelve months"),
        pytest.param(date(2025, 3, 1), False, id="a day past them"),
        pytest.param(date(2026, 3, 2), True, id="opening day"),
        pytest.param(date(2026, 3, 3), False, id="not open yet"),
        pytest.param(None, False, id="opening day not on record"),
    ],
)
def test_the_certificate_alone_will_do_in_the_first_months_only(opened_on: date | None, may: bool) -> None:
    assert refusals(mentor("mia"), opened_on=opened_on) == (() if may else (Refusal.NO_SIGN_OFF,))


# -------------------------------------------------------------------------------------------------- own sign-off


def signed(key: str, *observations: Any, certified: bool = False, **fields: Any) -> PersonEvidence:
    """A mentor whose own sign-off rests on observations; named since 2020."""
    since = named_mentor(from_day=LONG_AGO)
    papers = (certificate(tasks=TASKS, issued_on=date(2025, 1, 1)),) if certified else ()
    fields.setdefault("mentor_appointments", (since,))
    return PersonEvidence(person=key, observations=observations, certificates=papers, **fields)


def young_workshop_root(key: str = "ann") -> PersonEvidence:
    """Somebody whose certificate carried their authority in the first months, now over."""
    return signed(key, certified=True)


def test_after_the_first_months_a_valid_own_sign_off_is_needed_and_enough() -> None:
    opened = date(2025, 1, 1)  # first months through 1 Jan 2026
    mia = signed("mia", observed(datetime(2025, 12, 30, 9, tzinfo=UTC), by="ann"))
    assert refusals(mia, young_workshop_root(), opened_on=opened) == ()
    late = signed("mia", observed(datetime(2026, 1, 2, 9, tzinfo=UTC), by="ann"))
    assert refusals(late, young_workshop_root(), opened_on=opened) == (Refusal.NO_SIGN_OFF,)


def test_the_own_sign_off_has_to_be_valid_at_the_instant() -> None:
    opened = date(2025, 1, 1)
    mia = signed("mia", observed(datetime(2025, 2, 1, 9, tzinfo=UTC), by="ann"))
    everybody = house(mia, young_workshop_root(), opened_on=opened)
    last_day, day_after = datetime(2026, 2, 1, 22, 59, tzinfo=UTC), datetime(2026, 2, 1, 23, 0, tzinfo=UTC)
    assert may_observe("mia", "tom", "T1", last_day, everybody) == ()
    assert may_observe("mia", "tom", "T1", day_after, everybody) == (Refusal.NO_SIGN_OFF,)


def test_a_failed_attempt_of_the_mentor_takes_their_authority_from_then_on() -> None:
    opened = date(2025, 1, 1)
    passed = observed(datetime(2025, 12, 1, 9, tzinfo=UTC), by="ann")
    failed = observed(datetime(2026, 2, 1, 9, tzinfo=UTC), by="ann", passed=False)
    everybody = house(signed("mia", passed, failed), young_workshop_root(), opened_on=opened)
    assert may_observe("mia", "tom", "T1", failed.happened_at - timedelta(seconds=1), everybody) == ()
    assert may_observe("mia", "tom", "T1", failed.happened_at, everybody) == (Refusal.NO_SIGN_OFF,)


def test_an_observation_at_the_very_instant_does_not_carry_authority_yet() -> None:
    mia = signed("mia", observed(AT, by="ann"))
    assert refusals(mia, young_workshop_root(), opened_on=date(2025, 6, 1)) == (Refusal.NO_SIGN_OFF,)


def test_the_most_demanding_sign_off_of_the_rule_book_is_asked_of_a_mentor() -> None:
    rules = asks(sign_off("T1", 1), sign_off("T1", 2, 2, 2, months=6))
    first = observed(datetime(2025, 12, 1, 9, tzinfo=UTC), by="ann")
    second = observed(datetime(2025, 12, 2, 9, tzinfo=UTC), by="bea")
    roots = (young_workshop_root("ann"), young_workshop_root("bea"))
    for observations, refusal in [((first,), (Refusal.NO_SIGN_OFF,)), ((first, second), ())]:
        everybody = house(signed("mia", *observations), *roots, opened_on=date(2025, 1, 1), rules=rules)
        assert may_observe("mia", "tom", "T1", AT, everybody) == refusal
    past_six_months = datetime(2026, 6, 2, 9, tzinfo=UTC)
    assert may_observe("mia", "tom", "T1", past_six_months, everybody) == (Refusal.NO_SIGN_OFF,)


def test_a_task_that_the_rule_book_does_not_ask_for_is_seen_once_within_a_year() -> None:
    mia = signed("mia", observed(datetime(2025, 12, 1, 9, tzinfo=UTC), by="ann", task="T2"))
    everybody = house(mia, young_workshop_root(), opened_on=date(2025, 1, 1))
    assert may_observe("mia", "tom", "T2", AT, everybody) == ()


# -------------------------------------------------------------------------------- judged with everything known now


def test_when_a_mentors_authority_falls_what_stood_on_it_falls() -> None:
    given = evidence(person(observations=(observed(days_ago(10), by="mia"),)))
    assert answer(given, RULES).mode is Mode.ALONE
    fallen = mentor("mia", stand_downs=(stood_down(days_ago(20)),))
    assert answer(replace(given, colleagues={"mia": fallen}), RULES).mode is Mode.NOT_CLEARED


def test_what_befalls_a_mentor_later_takes_nothing_of_what_they_saw_before() -> None:
    given = evidence(person(observations=(observed(days_ago(10), by="mia"),)))
    later = mentor("mia", stand_downs=(stood_down(days_ago(9)),))
    assert answer(replace(given, colleagues={"mia": later}), RULES).mode is Mode.ALONE


def test_the_fall_goes_down_the_whole_chain() -> None:
    opened = date(2025, 1, 1)
    mia = signed("mia", observed(datetime(2025, 12, 1, 9, tzinfo=UTC), by="ann"))
    given = evidence(
        person(observations=(observed(days_ago(10), by="mia"),)),
        colleagues={"mia": mia, "ann": young_workshop_root()},
        workshop_opened_on=opened,
    )
    assert answer(given, RULES).mode is Mode.ALONE
    no_root = replace(given, colleagues={"mia": mia, "ann": replace(young_workshop_root(), certificates=())})
    assert answer(no_root, RULES).mode is Mode.NOT_CLEARED


# --------------------------------------------------------------------------------------------- who signed each other


SAW_ANN = datetime(2025, 11, 1, 9, tzinfo=UTC)
SEEN_AGAIN = datetime(2026, 3, 2, 9, tzinfo=UTC)
RECENT, RUNS_OUT_BETWEEN, STALE = date(2024, 1, 15), date(2023, 1, 15), date(2022, 1, 1)


def pair(*, ann: date | None = None, bob: date | None = None) -> House:
    """Root saw Ann and Ann saw Bob in December 2024, Bob saw Ann in November 2025, now Ann is to see Bob again.

    ``ann`` and ``bob``: when their outside certificates were issued. Root's is of June 2024.
    """

    def one(key: str, issued_on: date | None, *observations: Any) -> PersonEvidence:
        papers = (certificate(tasks=TASKS, issued_on=issued_on),) if issued_on else ()
        return replace(signed(key, *observations), certificates=papers)

    by_root = observed(datetime(2024, 12, 1, 9, tzinfo=UTC), by="root")
    people = (
        one("root", date(2024, 6, 1)),
        one("ann", ann, by_root, observed(SAW_ANN, by="bob")),
        one("bob", bob, observed(datetime(2024, 12, 10, 9, tzinfo=UTC), by="ann")),
    )
    return house(*people, opened_on=date(2024, 2, 1))


@pytest.mark.parametrize(
    ("certified", "may"),
    [
        pytest.param({"ann": RECENT, "bob": RECENT}, True, id="both certified"),
        pytest.param({"ann": STALE, "bob": RECENT}, True, id="ann reaches root's certificate"),
        pytest.param({"ann": None, "bob": RECENT}, True, id="ann reaches it without any of her own"),
        pytest.param({"ann": RECENT, "bob": None}, False, id="bob reaches none but through ann"),
        pytest.param({"ann": RECENT, "bob": STALE}, False, id="bob's certificate is past 36 months"),
    ],
)
def test_two_who_sign_each_other_need_an_outside_certificate_behind_each(
    certified: dict[str, date | None], may: bool
) -> None:
    refusal = may_observe("bob", "ann", "T1", SAW_ANN, pair(**certified))
    assert refusal == (() if may else (Refusal.EACH_OTHER,))


def test_the_certificates_have_to_be_recent_at_each_further_exchange() -> None:
    lapsed = pair(ann=RECENT, bob=RUNS_OUT_BETWEEN)
    assert may_observe("bob", "ann", "T1", SAW_ANN, lapsed) == ()
    assert may_observe("ann", "bob", "T1", SEEN_AGAIN, lapsed) == (Refusal.EACH_OTHER,)
    assert may_observe("ann", "bob", "T1", SEEN_AGAIN, pair(ann=RECENT, bob=RECENT)) == ()


def test_the_same_mentor_may_still_observe_everybody_else() -> None:
    assert may_observe("ann", "tom", "T1", SEEN_AGAIN, pair(ann=RECENT, bob=RUNS_OUT_BETWEEN)) == ()


def test_an_exchange_that_may_not_be_carries_nothing_further() -> None:
    assert may_observe("ann", "tom", "T1", SEEN_AGAIN, pair(ann=RECENT, bob=None)) == (Refusal.NO_SIGN_OFF,)


def test_a_sign_off_that_stands_without_the_other_is_no_exchange() -> None:
    given = pair(bob=RUNS_OUT_BETWEEN)
    third = observed(datetime(2025, 11, 2, 9, tzinfo=UTC), by="cat")
    cat = signed("cat", observed(datetime(2024, 12, 5, 9, tzinfo=UTC), by="root"))
    ann = given.people["ann"]
    people = {**given.people, "ann": replace(ann, observations=(*ann.observations, third)), "cat": cat}
    assert may_observe("ann", "bob", "T1", SEEN_AGAIN, given) == (Refusal.EACH_OTHER,)
    assert may_observe("ann", "bob", "T1", SEEN_AGAIN, replace(given, people=people)) == ()


def test_the_way_to_a_certificate_may_lead_over_a_third_person() -> None:
    given = pair(ann=RECENT, bob=RUNS_OUT_BETWEEN)
    by_root = observed(datetime(2024, 12, 2, 9, tzinfo=UTC), by="root")
    bob = given.people["bob"]
    people = {**given.people, "bob": replace(bob, observations=(*bob.observations, by_root))}
    assert may_observe("ann", "bob", "T1", SEEN_AGAIN, replace(given, people=people)) == ()


def test_nobody_reaches_a_certificate_over_somebody_not_on_record() -> None:
    given = pair(ann=RECENT, bob=RECENT)
    without_bob = replace(given, people={key: one for key, one in given.people.items() if key != "bob"})
    assert may_observe("ann", "bob", "T1", SEEN_AGAIN, without_bob) == (Refusal.NO_SIGN_OFF,)


def test_a_thousand_renewals_of_each_other_are_judged_without_running_out_of_stack() -> None:
    rules = asks(sign_off("T1"))
    start = datetime(2025, 1, 2, 9, tzinfo=UTC)
    seen: dict[str, list[Any]] = {"ann": [], "bob": []}
    for n in range(1500):
        whose, by = ("ann", "bob") if n % 2 else ("bob", "ann")
        seen[whose].append(observed(start + timedelta(hours=7 * n), by=by))
    people = [signed(key, *observations, certified=True) for key, observations in seen.items()]
    court = Court(house(*people, opened_on=date(2025, 1, 1), rules=rules))
    assert court.refusals("ann", "tom", "T1", start + timedelta(hours=7 * 1500)) == ()


def test_two_who_watch_each_other_the_later_one_beside_are_judged_to_the_end() -> None:
    """Found by the oracle: what stands beside at an instant may carry only what comes after it."""
    pass_of_mia = observed(datetime(2024, 10, 1, 9, tzinfo=UTC), by="mia")
    by_max = observed(datetime(2026, 3, 2, 9, tzinfo=UTC), by="max", supervision=Supervision.BESIDE)
    by_tom = observed(datetime(2026, 3, 1, 9, tzinfo=UTC), by="tom")
    old = {"mentor_appointments": (named_mentor(from_day=date(2023, 1, 1)),)}
    tom = replace(person(observations=(pass_of_mia, by_max)), **old)
    people = {
        "mia": mentor("mia", certificates=(certificate("HV course", date(2024, 1, 1), tasks=TASKS),), **old),
        "max": mentor("max", observations=(by_tom,), **old),
    }
    given = replace(evidence(tom, colleagues=people), workshop_opened_on=date(2024, 4, 1))
    decision = answer(given, replace(asks(sign_off(months=24)), bootstrap_months=6))
    assert decision.mode is Mode.ALONE, decision.gaps
