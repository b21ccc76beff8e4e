"""Withdrawing a mentor takes exactly what stood on their signature: compared with a search through the signatures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from tests.core.permission.builders import AT, SHOP, TODAY, ZONE, asks, certificate, named_mentor, observed, sign_off
from training.core.permission.authority import Court, House
from training.core.permission.evidence import MentorAppointment, Observation, PersonEvidence
from training.core.trade.calendar import add_months, local_day

MONTHS = 6
OPENED = date(2024, 4, 1)
RULES = asks(sign_off("T1", months=MONTHS))
LADDER = ("ann", "ben", "cat", "dan", "eve", "fay")
"""Each is observed only by somebody further to the left, so that no two ever observe each other."""

Signed = tuple[str, Observation]


@st.composite
def ladders(draw: st.DrawFn) -> House:
    """Six who were watched over two years, most by somebody who had been watched before; Ann holds a certificate."""
    seen: dict[str, list[Observation]] = {key: [] for key in LADDER}
    for days in draw(st.lists(st.integers(0, 700), min_size=3, max_size=14)):
        place = draw(st.integers(1, len(LADDER) - 1))
        by = LADDER[draw(st.integers(0, place - 1))]
        seen[LADDER[place]].append(observed(AT - timedelta(days=days), by=by))
    holds = draw(st.sets(st.sampled_from(LADDER[1:3]))) | {"ann"}
    people = {
        key: PersonEvidence(
            person=key,
            observations=tuple(seen[key]),
            mentor_appointments=(named_mentor(frozenset({"T1"}), from_day=OPENED),),
            certificates=(certificate("HV course", OPENED, tasks=frozenset({"T1"})),) if key in holds else (),
        )
        for key in LADDER
    }
    return House(workshop=SHOP, zone=ZONE, opened_on=OPENED, people=people, rule_book=RULES)


def withdrawn(house: House, mentor: str, day: date) -> House:
    def ended(one: MentorAppointment) -> MentorAppointment:
        return replace(one, withdrawn_from=day)

    of = house.people[mentor]
    void = replace(of, mentor_appointments=tuple(map(ended, of.mentor_appointments)))
    return replace(house, people={**house.people, mentor: void})


def judged_standing(house: House) -> set[Signed]:
    court = Court(house)
    return {(key, o) for key, one in house.people.items() for o in one.observations if court.stands(key, o)}


def signatures(house: House) -> Mapping[Signed, set[Signed]]:
    """For each observation all those that could carry its observer then; order, age and names alone decide."""
    every = [(key, o) for key, one in house.people.items() for o in one.observations]
    return {(key, o): {(who, e) for who, e in every if who == o.observer and carries(e, o)} for key, o in every}


def carries(earlier: Observation, later: Observation) -> bool:
    last = add_months(local_day(earlier.happened_at, ZONE), MONTHS)
    return earlier.happened_at < later.happened_at and local_day(later.happened_at, ZONE) <= last


def reached(house: House, cut: set[Signed]) -> set[Signed]:
    """What signatures lead to from the certificates of the first months, by way of nothing that is cut."""
    carried_by = signatures(house)
    founding = add_months(OPENED, RULES.bootstrap_months)
    roots = {
        (key, o)
        for key, o in carried_by
        if house.people[o.observer].certificates and OPENED <= local_day(o.happened_at, ZONE) <= founding
    }
    found: set[Signed] = set()
    while more := {s for s in carried_by if s not in found | cut and (s in roots or carried_by[s] & found)}:
        found |= more
    return found


@given(ladders(), st.sampled_from(LADDER[:4]), st.integers(-1, 720))
def test_p16_withdrawing_a_mentor_takes_exactly_what_stood_on_their_signature(
    house: House, mentor: str, days: int
) -> None:
    day = TODAY - timedelta(days=days)
    cut = {s for s in signatures(house) if s[1].observer == mentor and local_day(s[1].happened_at, ZONE) >= day}
    before, after = judged_standing(house), judged_standing(withdrawn(house, mentor, day))
    assert before == reached(house, set())
    assert before - after == reached(house, set()) - reached(house, cut)
    assert after <= before


def test_a_second_signature_keeps_what_only_one_of_two_withdrew() -> None:
    by_ann, by_ben = observed(AT - timedelta(days=600), by="ann"), observed(AT - timedelta(days=590), by="ben")
    of_dan = observed(AT - timedelta(days=500), by="cat")
    named, papers = (named_mentor(frozenset({"T1"}), from_day=OPENED),), (certificate(tasks=frozenset({"T1"})),)
    papers = (replace(papers[0], issued_on=OPENED),)
    people = {
        **{k: PersonEvidence(person=k, mentor_appointments=named, certificates=papers) for k in ("ann", "ben")},
        "cat": PersonEvidence(person="cat", mentor_appointments=named, observations=(by_ann, by_ben)),
        "dan": PersonEvidence(person="dan", observations=(of_dan,)),
    }
    house = House(workshop=SHOP, zone=ZONE, opened_on=OPENED, people=people, rule_book=RULES)
    without_ann = withdrawn(house, "ann", OPENED)
    assert judged_standing(house) - judged_standing(without_ann) == {("cat", by_ann)}
    assert judged_standing(withdrawn(without_ann, "ben", OPENED)) == set()
