"""Second signatures under a mentor's appointment, and mentors from outside, whose certificate carries them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

import pytest

from tests.core.permission.builders import (
    AT,
    OPENED,
    SHOP,
    TASKS,
    TODAY,
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
from training.core.permission.evidence import PersonEvidence

RULES = asks(sign_off("T1"))
LONG_AGO = date(2020, 1, 1)  # a workshop long past its first months


def house(*people: PersonEvidence, opened_on: date | None = LONG_AGO) -> House:
    return House(workshop=SHOP, zone=ZONE, opened_on=opened_on, people={p.person: p for p in people}, rule_book=RULES)


def refusals(of: PersonEvidence, *, opened_on: date | None = LONG_AGO, at: datetime = AT) -> tuple[Refusal, ...]:
    return may_observe(of.person, "tom", "T1", at, house(of, opened_on=opened_on))


def named(key: str = "ola", **fields: Any) -> PersonEvidence:
    """Named as mentor with these fields, and certified for the tasks."""
    return mentor(key, mentor_appointments=(named_mentor(**fields),))


# ------------------------------------------------------------------------------------------- the second signature

SIGNATURES: dict[str, tuple[dict[str, Any], bool]] = {
    "by a second person": ({"second_by": "chief", "second_on": date(2025, 6, 1)}, True),
    "by a second person on the very day": ({"second_by": "chief", "second_on": TODAY}, True),
    "missing": ({"second_by": "", "second_on": None}, False),
    "without its day": ({"second_by": "chief", "second_on": None}, False),
    "a day without a name": ({"second_by": "", "second_on": date(2025, 6, 1)}, False),
    "by the same person": ({"by": "boss", "second_by": "boss"}, False),
    "by the mentor": ({"second_by": "ola"}, False),
    "later than the observation": ({"second_by": "chief", "second_on": date(2026, 3, 3)}, False),
}


@pytest.mark.parametrize(("signed", "counts"), SIGNATURES.values(), ids=SIGNATURES.keys())
@pytest.mark.parametrize("where", ["first months", "from outside"])
def test_a_certificate_carries_only_whom_two_people_appointed(where: str, signed: dict[str, Any], counts: bool) -> None:
    outside, opened_on = where == "from outside", LONG_AGO if where == "from outside" else OPENED
    found = refusals(named(outside=outside, **signed), opened_on=opened_on)
    assert found == (() if counts else (Refusal.NO_SIGN_OFF,))


def test_the_appointment_that_two_signed_has_itself_to_be_in_force() -> None:
    over = named_mentor(through_day=date(2026, 3, 1))
    of_one = named_mentor(second_by="", second_on=None)
    assert refusals(mentor("ola", mentor_appointments=(over, of_one)), opened_on=OPENED) == (Refusal.NO_SIGN_OFF,)


def test_whoever_was_signed_off_here_needs_no_second_signature() -> None:
    by_ann = observed(days_ago(20), by="ann")
    mia = replace(named("mia", second_by="", second_on=None), certificates=(), observations=(by_ann,))
    ann = named("ann", outside=True)
    assert may_observe("mia", "tom", "T1", AT, house(mia, ann)) == ()


# ------------------------------------------------------------------------------------------------- from outside


def test_a_mentor_from_outside_may_observe_long_after_the_first_months_and_whenever_the_workshop_opened() -> None:
    assert refusals(named(outside=True)) == ()
    assert refusals(named(outside=True), opened_on=None) == ()
    assert refusals(named(outside=False)) == (Refusal.NO_SIGN_OFF,)


PAPERS: dict[str, dict[str, Any]] = {
    "none": {},
    "for another task": {"tasks": frozenset({"T2"})},
    "over since yesterday": {"tasks": TASKS, "through_day": date(2026, 3, 1)},
    "past 36 months": {"tasks": TASKS, "issued_on": date(2023, 3, 1)},
    "withdrawn": {"tasks": TASKS, "withdrawn_from": TODAY},
    "still to come": {"tasks": TASKS, "issued_on": date(2026, 3, 3)},
    "issued after it was entered, and not confirmed since": {"tasks": TASKS, "entered_on": date(2025, 4, 1)},
}


@pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS.keys())
def test_without_a_certificate_in_force_somebody_from_outside_carries_nothing(paper: dict[str, Any]) -> None:
    ola = replace(named(outside=True), certificates=(certificate(**paper),))
    assert refusals(ola) == (Refusal.NO_SIGN_OFF,)


def test_a_certificate_of_36_months_to_the_day_still_carries() -> None:
    ola = replace(named(outside=True), certificates=(certificate(tasks=TASKS, issued_on=date(2023, 3, 2)),))
    assert refusals(ola) == ()


def test_somebody_from_outside_is_refused_for_all_else_like_anybody() -> None:
    assert refusals(replace(named(outside=True), stand_downs=(stood_down(),))) == (Refusal.STOOD_DOWN,)
    assert Refusal.NOT_APPOINTED in refusals(named(outside=True, through_day=date(2026, 3, 1)))
    assert may_observe("ola", "ola", "T1", AT, house(named(outside=True))) == (Refusal.SELF,)


def test_somebody_from_outside_who_was_signed_off_here_does_without_certificate_and_second_signature() -> None:
    by_ann = observed(days_ago(20), by="ann")
    ola = replace(named(outside=True, second_by="", second_on=None), certificates=(), observations=(by_ann,))
    assert may_observe("ola", "tom", "T1", AT, house(ola, named("ann", outside=True))) == ()


def test_when_the_certificate_turns_out_withdrawn_what_was_signed_by_them_falls() -> None:
    given = evidence(
        person(observations=(observed(days_ago(10), by="ola"),)),
        colleagues={"ola": named(outside=True)},
        workshop_opened_on=LONG_AGO,
    )
    assert answer(given, RULES).mode is Mode.ALONE
    void = certificate(tasks=TASKS, withdrawn_from=TODAY)
    later_void = replace(given, colleagues={"ola": replace(named(outside=True), certificates=(void,))})
    assert answer(later_void, RULES).mode is Mode.ALONE
    void_before = replace(void, withdrawn_from=date(2026, 2, 1))
    before = replace(given, colleagues={"ola": replace(named(outside=True), certificates=(void_before,))})
    assert answer(before, RULES).mode is Mode.NOT_CLEARED


def test_who_is_from_outside_is_judged_at_the_instant() -> None:
    signed_late = named(outside=True, second_by="chief", second_on=TODAY)
    court = Court(house(signed_late, named("mia")))
    assert court.is_from_outside("ola", "T1", AT)
    assert not court.is_from_outside("ola", "T1", days_ago(1))
    assert not court.is_from_outside("ola", "T9", AT)
    assert not court.is_from_outside("mia", "T1", AT)
    assert not court.is_from_outside("nobody", "T1", AT)


# --------------------------------------------------------------- behind two who signed each other's sign-off

SAW_EACH_OTHER = datetime(2025, 12, 1, 9, tzinfo=UTC)


def two_of(*, seen_by_ola: datetime, certified_through: date | None = None, **fields: Any) -> House:
    """Ola saw Bob, Bob saw Ann, and Ann is to see Bob again. Ola comes from outside; Ann holds a certificate."""

    def inside(key: str, *observations: Any) -> PersonEvidence:
        since = named_mentor(from_day=LONG_AGO, second_by="", second_on=None)
        return PersonEvidence(person=key, mentor_appointments=(since,), observations=observations)

    since = named_mentor(from_day=LONG_AGO, outside=True, **fields)
    paper = certificate(tasks=TASKS, issued_on=date(2023, 1, 15), through_day=certified_through)
    ola = mentor("ola", mentor_appointments=(since,), certificates=(paper,))
    bob = inside("bob", observed(seen_by_ola, by="ola"))
    ann = inside("ann", observed(SAW_EACH_OTHER, by="bob"))
    ann = replace(ann, certificates=(certificate(tasks=TASKS, issued_on=date(2025, 1, 1)),))
    people = {p.person: p for p in (ola, bob, ann)}
    return House(workshop=SHOP, zone=ZONE, opened_on=LONG_AGO, people=people, rule_book=asks(sign_off("T1", months=36)))


def test_an_observation_by_somebody_from_outside_stands_behind_one_of_a_pair_though_their_certificate_ran_out() -> None:
    given = two_of(seen_by_ola=datetime(2025, 6, 1, 9, tzinfo=UTC), certified_through=date(2025, 7, 1))
    assert may_observe("ann", "bob", "T1", AT, given) == ()


def test_it_does_no_longer_after_36_months_nor_where_nobody_was_from_outside() -> None:
    seen = datetime(2025, 6, 1, 9, tzinfo=UTC)
    of_long_standing = two_of(seen_by_ola=seen, certified_through=date(2025, 7, 1))
    renewed = observed(datetime(2028, 5, 1, 9, tzinfo=UTC), by="bob")  # Ann again, by Bob whose sign-off still lasts
    ann = of_long_standing.people["ann"]
    paper = certificate(tasks=TASKS, issued_on=date(2028, 1, 1))
    ann = replace(ann, observations=(renewed,), certificates=(paper,))
    later = replace(of_long_standing, people={**of_long_standing.people, "ann": ann})
    last, day_after = datetime(2028, 6, 1, 9, tzinfo=UTC), datetime(2028, 6, 2, 9, tzinfo=UTC)
    assert may_observe("ann", "bob", "T1", last, later) == ()
    assert may_observe("ann", "bob", "T1", day_after, later) == (Refusal.EACH_OTHER,)
    unsigned = two_of(seen_by_ola=seen, certified_through=date(2025, 7, 1), second_by="", second_on=None)
    assert may_observe("ann", "bob", "T1", AT, unsigned) == (Refusal.NO_SIGN_OFF,)


def test_the_signature_of_the_one_to_be_observed_is_left_out_from_outside_or_not() -> None:
    given = two_of(seen_by_ola=datetime(2025, 6, 1, 9, tzinfo=UTC), certified_through=date(2025, 7, 1))
    assert may_observe("bob", "ola", "T1", AT, given) == (Refusal.EACH_OTHER,)
    assert may_observe("bob", "tom", "T1", AT, given) == ()
