"""Random houses for the oracle: whole ones, and ones that dwell on mentors, on appointers or on recall."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import cycle, islice
from typing import Any

from hypothesis import strategies as st

from tests.core.permission.builders import (
    AT,
    SHOP,
    TODAY,
    age,
    appointed,
    appointment,
    asks,
    certificate,
    evidence,
    holds,
    named_mentor,
    observed,
    person,
    release,
    sign_off,
    stood_down,
    supervisor,
)
from tests.core.permission.staffs import small_shops
from tests.core.permission.strategies import (
    COMING,
    QUESTIONS,
    RECALL_RULES,
    SUPERVISORS,
    UNSAFE,
    cases,
    few,
    stood_down_once,
)
from training.core.permission.evidence import (
    Appointment,
    Evidence,
    Observation,
    PersonEvidence,
    Supervision,
)
from training.core.permission.rule_book import RuleBook

House = tuple[Evidence, RuleBook]
FOUR = ("mia", "max", "moe", "tom")
ZONES = st.sampled_from(["Europe/Berlin", "Europe/London", "America/New_York", "Asia/Kolkata", "Pacific/Kiritimati"])


def one_in(n: int) -> st.SearchStrategy[bool]:
    return st.sampled_from([*[False] * (n - 1), True])


def day_back(least: int, most: int) -> st.SearchStrategy[date]:
    return st.integers(least, most).map(lambda days: TODAY - timedelta(days=days))


# ---------------------------------------------------------------------------------------------- who may watch whom


def named(draw: st.DrawFn) -> Any:
    """A naming as mentor that mostly holds all along."""
    start = draw(day_back(5, 700))
    signed = {
        "outside": draw(one_in(4)),
        "second_by": draw(st.sampled_from(["chief"] * 14 + ["", "boss", "mia"])),
        "second_on": draw(st.sampled_from([date(2023, 1, 1)] * 14 + [None, start])),
    }
    if not draw(one_in(4)):
        return named_mentor(from_day=date(2023, 1, 1), **signed)
    return named_mentor(
        draw(st.sampled_from([frozenset({"T1", "T2"}), frozenset({"T2"})])),
        by=draw(st.sampled_from(["boss", "mia"])),
        from_day=start,
        through_day=start + timedelta(days=draw(st.integers(20, 900))),
        entered_on=start - timedelta(days=draw(st.sampled_from([0, 5, -30]))),
        confirmed_on=draw(st.sampled_from([None, start, start + timedelta(days=9)])),
        withdrawn_from=draw(st.sampled_from([None, None, start + timedelta(days=40)])),
        **signed,
    )


def course(draw: st.DrawFn) -> Any:
    """A course outside, mostly one that names the task."""
    issued = draw(day_back(600, 1300) | day_back(30, 700))
    entered = issued - timedelta(days=3) if draw(one_in(4)) else None
    return certificate(
        "HV course",
        issued,
        tasks=frozenset({"T1"}) if draw(one_in(6)) else frozenset({"T1", "T2"}),
        through_day=draw(st.sampled_from([None, None, issued + timedelta(days=500)])),
        entered_on=entered,
        confirmed_on=draw(st.sampled_from([None, issued, issued + timedelta(days=20)])) if entered else None,
    )


FOUNDING = certificate("HV course", TODAY - timedelta(days=800), tasks=frozenset({"T1"}))


def signer(draw: st.DrawFn, key: str, watched: list[Observation], founds: bool) -> PersonEvidence:
    stands = [stood_down(AT - timedelta(days=draw(st.integers(9, 500))))]
    seen = [o.record for o in watched[-2:]]
    ended = replace(stands[0], releases=(release(AT - timedelta(days=8), *seen, record=10**9),))
    stands = [draw(st.sampled_from([stands[0], ended]))]
    return PersonEvidence(
        person=key,
        ages=(age(),),
        mentor_appointments=tuple(named(draw) for _ in range(draw(st.sampled_from([1, 1, 1, 0, 2])))),
        certificates=(FOUNDING,) if founds else tuple(course(draw) for _ in range(draw(st.sampled_from([0, 0, 1, 2])))),
        observations=tuple(watched),
        stand_downs=tuple(stands) if draw(one_in(10)) else (),
        unreadable=(5,) if draw(one_in(20)) else (),
    )


def attempt(draw: st.DrawFn, days: int, by: str) -> Observation:
    return observed(
        AT - timedelta(days=days, hours=draw(st.sampled_from([0, 0, 9]))),
        by=by,
        task="T2" if draw(one_in(8)) else "T1",
        passed=not draw(one_in(20)),
        workshop="elsewhere" if draw(one_in(20)) else SHOP,
        done_only=draw(one_in(20)),
        supervision=draw(st.sampled_from([Supervision.ALONE] * 8 + [Supervision.BESIDE, Supervision.WATCHED])),
    )


@st.composite
def chains(draw: st.DrawFn) -> House:
    """Four who watch each other at T1 over two years, from few who hold an outside certificate."""
    n = draw(st.sampled_from([1, 1, 1, 1, 2]))
    months = draw(st.sampled_from([6, 12, 24, 36, 36]))
    beside = draw(st.sampled_from([0, 0, 0, 1]))
    first = sign_off("T1", n, draw(st.integers(1, n)), draw(st.integers(1, n)), months=months, beside=beside)
    rules = asks(first, *([sign_off("T2")] if draw(one_in(4)) else []))
    rules = replace(rules, bootstrap_months=draw(st.sampled_from([0, 3, 6])))
    attempts: dict[str, list[Observation]] = {key: [] for key in FOUR}
    able = ["mia", "max"]
    for days in sorted(draw(st.lists(st.integers(0, 700), min_size=4, max_size=10)), reverse=True):
        who = draw(st.sampled_from(["mia", "max", "tom", *FOUR]))
        by = draw(st.sampled_from([*FOUR, "eve"])) if draw(one_in(6)) else draw(st.sampled_from(able))
        attempts[who].append(attempt(draw, days, by))
        able.append(who)
    founders = draw(st.sampled_from([{"mia"}, {"mia", "max"}]))
    people = {key: signer(draw, key, attempts[key], key in founders) for key in FOUR}
    return (
        evidence(
            people.pop("tom"),
            colleagues=people,
            workshop_opened_on=draw(st.sampled_from([date(2024, 4, 1), date(2024, 4, 1), date(2024, 12, 1)])),
            supervisors=draw(few(SUPERVISORS, 1)),
            small_shops=draw(few(small_shops(700), 1)),
            read_at=AT + timedelta(days=5000),
        ),
        rules,
    )


# ------------------------------------------------------------------------------ few mentors, and one who comes by


def guest(draw: st.DrawFn) -> PersonEvidence:
    """Max, who works elsewhere and mostly is named by two; the course may lapse, also after Max has watched."""
    signed = draw(st.sampled_from(["chief"] * 6 + ["", "boss", "max"]))
    start = date(2023, 6, 1)
    naming = named_mentor(
        from_day=start,
        outside=not draw(one_in(8)),
        second_by=signed,
        second_on=draw(st.sampled_from([start] * 6 + [None, TODAY - timedelta(days=150)])),
    )
    issued = draw(day_back(300, 1000))
    through = issued + timedelta(days=draw(st.integers(300, 900))) if draw(st.booleans()) else None
    return person(
        "max",
        mentor_appointments=(naming,),
        certificates=(certificate("HV course", issued, through_day=through, tasks=frozenset({"T1", "T2"})),),
    )


def seen_by(draw: st.DrawFn, who: list[str], least: int, most: int, days: tuple[int, int]) -> list[Observation]:
    """Attempts by these, most of them plain passes."""
    found = draw(st.lists(st.integers(*days), min_size=least, max_size=most, unique=True))
    return [
        attempt(draw, back, by) if draw(one_in(8)) else observed(AT - timedelta(days=back), by=by)
        for back in found
        for by in [draw(st.sampled_from(who))]
    ]


@st.composite
def small_houses(draw: st.DrawFn) -> House:
    """Mia founded it, Max comes by, Moe learns to watch; more mentors are asked for than there are."""
    n = draw(st.sampled_from([1, 1, 2, 3]))
    rule = sign_off("T1", n, draw(st.sampled_from([2, 2, 3, 1])), 1, months=draw(st.sampled_from([6, 12, 24, 36])))
    rules = asks(rule, *([appointed(12)] if draw(one_in(3)) else []))
    rules = replace(rules, bootstrap_months=draw(st.sampled_from([0, 6, 12])))
    mia = PersonEvidence(
        person="mia",
        mentor_appointments=(named(draw),) * (not draw(one_in(3))),
        certificates=(FOUNDING,),
        observations=tuple(seen_by(draw, ["max"], 0, 4, (300, 700))),
    )
    moe = PersonEvidence(
        person="moe",
        mentor_appointments=(named_mentor(from_day=date(2023, 1, 1)),),
        observations=tuple(seen_by(draw, ["max", "max", "mia"], 2, 5, (200, 500))),
    )
    watching = draw(st.sampled_from([["max"], ["max", "mia"], ["moe"], ["moe", "max"]]))
    tom = person(
        observations=tuple(seen_by(draw, watching, n + 1, 7, (0, 420))),
        appointments=tuple(written(draw, by) for by in draw(st.sampled_from([["boss"], ["max"], ["mia", "boss"]]))),
    )
    return (
        evidence(
            tom,
            colleagues={"mia": mia, "max": guest(draw), "moe": moe},
            workshop_opened_on=draw(st.sampled_from([date(2024, 4, 1), date(2024, 12, 1), date(2025, 6, 1)])),
            small_shops=draw(few(small_shops(500), 3, least=1)),
            read_at=AT + timedelta(days=5000),
        ),
        rules,
    )


def watched(draw: st.DrawFn, *plan: tuple[str, int, int]) -> tuple[Observation, ...]:
    """One plain pass by each of these, so many days back as lies between the two."""
    return tuple(observed(AT - timedelta(days=draw(st.integers(*span))), by=by) for by, *span in plan)


@st.composite
def learners(draw: st.DrawFn) -> House:
    """Moe was watched by Max alone, which is enough to watch Tom only in a small shop; Moe may have signed for it."""
    n = draw(st.sampled_from([1, 1, 2]))
    rules = asks(sign_off("T1", n, 2, 1, months=draw(st.sampled_from([12, 24]))))
    seen = watched(draw, *[("max", 100, 420)] * (n + draw(st.sampled_from([0, 1, 1, 2]))))
    moe = person("moe", mentor_appointments=(named_mentor(from_day=date(2023, 1, 1)),), observations=seen)
    tom = person(observations=watched(draw, ("max", 0, 300), *[("moe", 0, 120)] * n))
    signed = st.sampled_from([("boss", "chief"), ("boss", "chief"), ("moe", "chief"), ("boss", "tom")])
    drawn = draw(few(small_shops(400), 2, least=1))
    shops = [replace(shop, **dict(zip(("by", "second_by"), draw(signed), strict=True))) for shop in drawn]
    return (
        evidence(
            tom,
            colleagues={"max": guest(draw), "moe": moe},
            workshop_opened_on=None,
            small_shops=tuple(shops),
            read_at=AT + timedelta(days=5000),
        ),
        rules,
    )


@st.composite
def pairs(draw: st.DrawFn) -> House:
    """Max saw Mia and Moe once, who watch each other ever since and one of whom watched Tom; Max's course may lapse."""
    days = draw(st.integers(700, 1250))
    seen = {"mia": [observed(AT - timedelta(days=days), by="max")], "moe": []}
    days -= draw(st.integers(1, 90))
    seen["moe"].append(observed(AT - timedelta(days=days), by="max"))
    for who, by in islice(cycle([("mia", "moe"), ("moe", "mia")]), draw(st.integers(2, 7))):
        days = max(days - draw(st.integers(60, 185)), 20)
        seen[who].append(observed(AT - timedelta(days=days), by=by))
    issued = TODAY - timedelta(days=draw(st.integers(1250, 1900)))
    course = certificate(
        "HV course", issued, tasks=frozenset({"T1"}), through_day=draw(st.none() | day_back(400, 1100))
    )
    naming = named_mentor(from_day=date(2020, 1, 1))
    signed = replace(naming, outside=True, second_by=draw(st.sampled_from(["chief"] * 5 + [""])))
    signed = replace(signed, second_on=date(2020, 1, 1))
    pair = {key: person(key, mentor_appointments=(naming,), observations=tuple(seen[key])) for key in seen}
    return (
        evidence(
            person(observations=watched(draw, (draw(st.sampled_from(["mia", "moe"])), 0, 100))),
            colleagues={**pair, "max": person("max", mentor_appointments=(signed,), certificates=(course,))},
            workshop_opened_on=None,
            read_at=AT + timedelta(days=5000),
        ),
        asks(sign_off("T1", months=draw(st.sampled_from([6, 6, 12])))),
    )


# ------------------------------------------------------------------------------------- who appoints and who watched


def written(draw: st.DrawFn, by: str) -> Appointment:
    """An appointment that mostly counts; now and then for another workshop or written before it starts."""
    start = draw(day_back(3, 300))  # so that none is still to be written
    early = draw(st.sampled_from([0, 0, 0, 0, 4, -3]))
    return appointment(
        by=by,
        from_day=start,
        through_day=draw(day_back(-300, 0)),
        entered_on=start - timedelta(days=early),
        confirmed_on=draw(st.sampled_from([None, start - timedelta(days=1), start, TODAY])) if early > 0 else None,
        workshop="elsewhere" if draw(one_in(10)) else SHOP,
    )


@st.composite
def appointers(draw: st.DrawFn) -> House:
    """Several appointments, some of them by mentors who also watched."""
    rules = asks(appointed(12), sign_off("T1", draw(st.integers(1, 2)), within=draw(st.sampled_from([None, 90]))))
    more = [sign_off("T2", draw(st.integers(1, 2)), months=draw(st.sampled_from([6, 12])))]
    own = rules.job_types[0]
    if draw(st.booleans()):
        more.append(replace(appointed(6)))
    rules = replace(rules, job_types=(replace(own, requirements=(*own.requirements, *more)),))
    writers = draw(st.lists(st.sampled_from(["mia", "max", "moe", "boss", "tom"]), max_size=3))
    signed = [written(draw, by) for by in writers]
    seen = [
        observed(
            AT - timedelta(days=draw(st.integers(0, 250))),
            by=draw(st.sampled_from(["mia", "max", "moe"])),
            task=draw(st.sampled_from(["T1", "T2"])),
            done_only=draw(one_in(6)),
        )
        for _ in range(draw(st.integers(1, 6)))
    ]
    supervisors = tuple(
        supervisor(until=AT + timedelta(days=n)) for n in draw(st.lists(st.integers(1, 90), max_size=2))
    )
    of = person(appointments=tuple(signed), observations=tuple(seen))
    return evidence(of, supervisors=supervisors, read_at=AT + timedelta(days=5000)), rules


# ----------------------------------------------------------------------------------------------------------- recall


@st.composite
def rememberers(draw: st.DrawFn) -> House:
    """Recall alone, with many questions, some of which come into use."""
    recall = draw(st.lists(RECALL_RULES, min_size=1, max_size=2))
    figures = {
        "in_use_days": draw(st.sampled_from([28, 28, 0, 7])),
        "share_of_others_answered": draw(st.sampled_from([0.8, 0.8, 0.0, 0.5, 1.0])),
    }
    questions = draw(st.lists(QUESTIONS, min_size=1, max_size=6, unique_by=lambda q: q.question))
    given_evidence = evidence(
        draw(stood_down_once(person())) if draw(one_in(8)) else person(),
        gates=(*questions, *draw(COMING)),
        unsafe=draw(few(UNSAFE, 2)) if draw(one_in(4)) else (),
        read_at=AT + timedelta(days=5000),
    )
    return given_evidence, replace(asks(*recall), **figures)


# ---------------------------------------------------------------------------------------------------------- anything


@st.composite
def whole_houses(draw: st.DrawFn) -> House:
    """Any case, with questions that come into use."""
    given_evidence, rules = draw(cases())
    return replace(given_evidence, gates=(*given_evidence.gates, *draw(COMING))), rules


@st.composite
def houses(draw: st.DrawFn) -> House:
    """Any house in any zone, now and then with something broken."""
    mentors = (chains(), small_houses(), learners(), pairs())
    given_evidence, rules = draw(st.one_of(whole_houses(), *mentors, appointers(), rememberers()))
    given_evidence = replace(given_evidence, zone=draw(ZONES))
    return broken(draw, given_evidence, rules) if draw(one_in(20)) else (given_evidence, rules)


def broken(draw: st.DrawFn, given_evidence: Evidence, rules: RuleBook) -> House:
    doubled = [replace(q, gate=None, answered=False) for q in given_evidence.gates[:1]]
    changes: list[dict[str, Any]] = [
        {"gates": (*given_evidence.gates, *doubled)},
        {"chain_sound": False},
        {"head": 1001},
        {"moments": None},
        {"newest_recorded_at": AT + timedelta(days=1), "read_at": AT},
        {"of": replace(given_evidence.of, unreadable=(3,))},
        {"of": replace(given_evidence.of, ages=())},
    ]
    chosen = draw(st.integers(0, len(changes)))
    if chosen < len(changes):
        return replace(given_evidence, **changes[chosen]), rules
    own = rules.job_types[-1]
    unknown = replace(own, requirements=(*own.requirements, holds("nowhere")))
    return given_evidence, replace(rules, job_types=(*rules.job_types[:-1], unknown))
