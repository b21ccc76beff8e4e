"""Laws of the decision over random evidence: P1 to P9 and P14 of reliability.md section 2."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import fields, replace
from datetime import date, datetime, timedelta
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.core.permission.builders import (
    AT,
    RANK,
    TODAY,
    age,
    answer,
    appointment,
    certificate,
    no_better,
    observed,
    person,
    question,
    stood_down,
    supervisor,
    unsafe,
)
from tests.core.permission.strategies import COMING, FOREIGN, cases
from training.core.permission.decision import Mode
from training.core.permission.evidence import Evidence, Supervision
from training.core.permission.rule_book import (
    AppointedFor,
    CertificateOf,
    InstructedWithin,
    JobType,
    RecallOf,
    Requirement,
    RuleBook,
    SignOffOf,
    YoungPerson,
)
from training.core.permission.shape import misfits
from training.core.questions.kinds import Consequence, Topic

Case = tuple[Evidence, RuleBook]


def without(values: tuple[Any, ...], n: int) -> tuple[Any, ...]:
    return values[:n] + values[n + 1 :]


# ------------------------------------------------------------------------------------- P1: less that clears, no more

POSITIVE = ("appointments", "certificates", "instructions", "observations")


def taken_away(given: Evidence, data: st.DataObject) -> Evidence | None:
    """The evidence without one thing that clears; None where it has nothing of the kind drawn."""
    kinds = [
        *POSITIVE,
        "supervisors",
        "answers",
        "talk-through",
        "mentor's paper",
        "releases",
        "checks with the issuer",
    ]
    kind = data.draw(st.sampled_from(kinds))
    if kind in POSITIVE:
        values = getattr(given.of, kind)
        n = data.draw(st.integers(0, max(0, len(values) - 1)))
        if not values or getattr(values[n], "passed", True) is False:
            return None
        return replace(given, of=replace(given.of, **{kind: without(values, n)}))
    if kind == "releases":
        return of_all(given, "stand_downs", lambda s: replace(s, releases=s.releases[1:]))
    if kind == "checks with the issuer":
        return of_all(given, "certificates", lambda c: replace(c, verified_on=c.verified_on[1:]))
    if kind == "supervisors":
        return replace(given, supervisors=given.supervisors[1:])
    if kind == "answers":
        n = data.draw(st.integers(0, len(given.gates) - 1))
        unlearnt = replace(given.gates[n], gate=None, answered=False)
        return replace(given, gates=(*without(given.gates, n), unlearnt))
    if kind == "talk-through":
        return replace(given, unsafe=tuple(replace(u, closed_at=None) for u in given.unsafe))
    mentor = data.draw(st.sampled_from(sorted(given.colleagues)))
    return replace(given, colleagues={**given.colleagues, mentor: replace(given.colleagues[mentor], certificates=())})


def of_all(given: Evidence, kind: str, changed: Callable[[Any], Any]) -> Evidence:
    """The person's evidence with every record of one kind changed."""
    return replace(given, of=replace(given.of, **{kind: tuple(map(changed, getattr(given.of, kind)))}))


@given(cases(), st.data())
def test_p1_taking_away_what_clears_never_clears(one: Case, data: st.DataObject) -> None:
    given_evidence, rules = one
    less = taken_away(given_evidence, data)
    assert less is None or no_better(answer(less, rules), answer(given_evidence, rules))


# ----------------------------------------------------------------------------------------- P2: more that blocks

BLOCKS: dict[str, Callable[[Evidence], Evidence]] = {
    "stand-down": lambda e: with_more(e, stand_downs=stood_down()),
    "narrow stand-down": lambda e: with_more(e, stand_downs=stood_down(None, "A")),
    "failed attempt": lambda e: with_more(e, observations=observed(AT - timedelta(days=3), passed=False)),
    "failed elsewhere": lambda e: with_more(e, observations=observed(AT, passed=False, workshop="elsewhere")),
    "found to be under 18": lambda e: with_more(e, ages=age(True, TODAY)),
    "unreadable": lambda e: with_more(e, unreadable=3),
    "unsafe answer": lambda e: replace(e, unsafe=(*e.unsafe, unsafe())),
    "unsafe answer of less consequence": lambda e: replace(
        e, unsafe=(*e.unsafe, unsafe(consequence=Consequence.DAMAGE))
    ),
    "new life question": lambda e: replace(e, gates=(*e.gates, question("new", ln_hold=None))),
    "new lesser question": lambda e: replace(
        e, gates=(*e.gates, question("new", ln_hold=None, consequence=Consequence.DAMAGE))
    ),
    "broken chain": lambda e: replace(e, chain_sound=False),
    "mentor stood down": lambda e: mentor_changed(e, stand_downs=(stood_down(AT - timedelta(days=200)),)),
    "failed with the mentor beside": lambda e: with_more(
        e, observations=observed(AT - timedelta(days=3), passed=False, supervision=Supervision.BESIDE)
    ),
    "appointments withdrawn": lambda e: of_all(e, "appointments", lambda a: replace(a, withdrawn_from=TODAY)),
    "certificates withdrawn": lambda e: of_all(e, "certificates", lambda c: replace(c, withdrawn_from=TODAY)),
    "incidents after all": lambda e: of_all(e, "stand_downs", lambda s: replace(s, incident=True)),
    "a releaser had given the job": lambda e: of_all(e, "stand_downs", lambda s: replace(s, job_given_by="boss")),
    "mentor withdrawn": lambda e: mentor_changed(
        e,
        mentor_appointments=tuple(
            replace(a, withdrawn_from=TODAY - timedelta(days=60)) for a in e.colleagues["mia"].mentor_appointments
        ),
    ),
    "mentor's record unreadable": lambda e: mentor_changed(e, unreadable=(1,)),
}


def with_more(given: Evidence, **one: Any) -> Evidence:
    return replace(given, of=replace(given.of, **{name: (*getattr(given.of, name), v) for name, v in one.items()}))


def mentor_changed(given: Evidence, **changes: Any) -> Evidence:
    return replace(given, colleagues={**given.colleagues, "mia": replace(given.colleagues["mia"], **changes)})


@given(cases(), st.sampled_from(sorted(BLOCKS)))
def test_p2_adding_what_blocks_never_clears(one: Case, block: str) -> None:
    given_evidence, rules = one
    assert no_better(answer(BLOCKS[block](given_evidence), rules), answer(given_evidence, rules))


# --------------------------------------------------------------------------- P3 and P4: time, and the exact end


@given(cases(), COMING, st.sampled_from([0, 7, 28]), st.floats(0, 60) | st.floats(0, 800), st.floats(0, 100))
def test_p3_time_alone_never_clears(one: Case, new: list[Any], in_use: int, first: float, further: float) -> None:
    """Questions accepted in the last 28 days, known or not, come into use meanwhile."""
    given_evidence, rules = one
    with_new = replace(given_evidence, gates=(*given_evidence.gates, *new))
    rules = replace(rules, in_use_days=in_use)
    earlier, later = AT + timedelta(days=first), AT + timedelta(days=first + further)
    assert no_better(answer(with_new, rules, at=later), answer(with_new, rules, at=earlier))


@given(cases(), COMING, st.lists(st.floats(0, 1), max_size=6))
def test_p4_until_is_exact(one: Case, new: list[Any], shares: list[float]) -> None:
    given_evidence, rules = one
    with_new = replace(given_evidence, gates=(*given_evidence.gates, *new))
    decision = answer(with_new, rules)
    if decision.until is None or decision.ends_by is None:
        assert decision.mode is Mode.NOT_CLEARED
        return
    assert decision.ends_by.at == decision.until > AT
    for at in [AT + share * (decision.until - AT) for share in shares] + [decision.until - timedelta(microseconds=1)]:
        if at < decision.until:
            then = answer(with_new, rules, at=at)
            assert (then.mode, then.until, then.ends_by) == (decision.mode, decision.until, decision.ends_by)
    assert RANK[answer(with_new, rules, at=decision.until).mode] < RANK[decision.mode]


@given(cases(), st.integers(0, 140), st.integers(0, 60), st.sampled_from(["paper", "seen", "told"]))
def test_p5_later_evidence_never_ends_earlier(one: Case, days: int, later: int, kind: str) -> None:
    given_evidence, rules = one

    def dated(days_back: int) -> Evidence:
        day = TODAY - timedelta(days=days_back)
        if kind == "paper":
            return with_more(given_evidence, certificates=certificate("medical", day))
        if kind == "seen":
            return with_more(given_evidence, observations=observed(AT - timedelta(days=days_back), by="moe"))
        return with_more(given_evidence, appointments=appointment(from_day=day, through_day=date(2030, 1, 1)))

    assert no_better(answer(dated(days + later), rules), answer(dated(days), rules))


# ------------------------------------------------------------------- P6, P7, P9: order, duplicates, what is foreign

LISTS = ("observations", "appointments", "certificates", "instructions", "stand_downs", "ages")
LISTS_OF_ALL = ("gates", "unsafe", "supervisors")


@given(cases(), st.data())
def test_p6_the_order_of_arrival_changes_nothing(one: Case, data: st.DataObject) -> None:
    given_evidence, rules = one
    of = replace(
        given_evidence.of,
        **{name: tuple(data.draw(st.permutations(getattr(given_evidence.of, name)))) for name in LISTS},
    )
    other = {name: tuple(data.draw(st.permutations(getattr(given_evidence, name)))) for name in LISTS_OF_ALL}
    backwards = dict(reversed(given_evidence.colleagues.items()))
    shuffled = replace(given_evidence, of=of, colleagues=backwards, **other)
    assert answer(shuffled, rules) == answer(given_evidence, rules)


@given(cases())
def test_p7_duplicates_change_nothing(one: Case) -> None:
    given_evidence, rules = one
    of = replace(given_evidence.of, **{name: getattr(given_evidence.of, name) * 2 for name in LISTS})
    doubled = replace(given_evidence, of=of, **{name: getattr(given_evidence, name) * 2 for name in LISTS_OF_ALL})
    assert answer(doubled, rules) == answer(given_evidence, rules)


@given(cases())
def test_p9_what_is_foreign_changes_nothing(one: Case) -> None:
    given_evidence, rules = one
    tom = given_evidence.of
    crowded = replace(
        given_evidence,
        of=replace(
            tom,
            observations=(*tom.observations, observed(task="T9", passed=False), observed(task="T9")),
            certificates=(*tom.certificates, certificate("forklift")),
            stand_downs=(*tom.stand_downs, stood_down(None, "Z")),
        ),
        gates=(*given_evidence.gates, question("elsewhere", topic=Topic.LIFTING, ln_hold=None)),
        unsafe=(*given_evidence.unsafe, unsafe(topic=Topic.LIFTING)),
        supervisors=(*given_evidence.supervisors, supervisor("sid", job="Z")),
        colleagues={
            **given_evidence.colleagues,
            **FOREIGN,
            **{f"x{n}": person(f"x{n}", observations=(observed(by="foe"),)) for n in range(5)},
        },
    )
    assert answer(crowded, rules) == answer(given_evidence, rules)


# ------------------------------------------------------------------------------------------------ P8: stricter rules


def stricter_requirement(requirement: Requirement) -> list[Requirement]:
    match requirement:
        case SignOffOf():
            months = max(1, requirement.valid_months - 3)
            return [
                replace(requirement, observations=requirement.observations + 1),
                replace(requirement, mentors=requirement.mentors + 1),
                replace(requirement, days=requirement.days + 1),
                replace(requirement, valid_months=months),
                replace(requirement, done_within_days=min(30, requirement.done_within_days or 30)),
                replace(requirement, beside_first=requirement.beside_first + 1),
            ]
        case CertificateOf():
            return [
                replace(requirement, valid_months=requirement.valid_months - 5),
                replace(requirement, verify_months=min(3, requirement.verify_months or 3)),
            ]
        case AppointedFor():
            return [replace(requirement, valid_months=requirement.valid_months - 5)]
        case InstructedWithin():
            return [replace(requirement, months=requirement.months - 3), replace(requirement, months_under_18=1)]
        case RecallOf():
            mean = requirement.topic_mean_floor
            return (
                [
                    replace(requirement, life_floor=requirement.life_floor + 0.2),
                    *([replace(requirement, topic_mean_floor=mean + 0.2)] if mean is not None else []),
                    replace(requirement, topics=(Topic.RESCUE, Topic.PPE)),
                ]
                if requirement.most_life_questions is None and requirement.most_a_topic is None
                else [replace(requirement, life_floor=0.9)]
            )
    return [requirement]


def stricter(rules: RuleBook, data: st.DataObject) -> RuleBook:
    def of(job_type: JobType) -> JobType:
        n = data.draw(st.integers(0, len(job_type.requirements) - 1))
        changed = data.draw(st.sampled_from(stricter_requirement(job_type.requirements[n])))
        return replace(job_type, requirements=(*job_type.requirements[:n], changed, *job_type.requirements[n + 1 :]))

    if data.draw(st.booleans()):
        return replace(rules, job_types=tuple(map(of, rules.job_types)))
    young = replace(rules.job_types[-1], young_person=YoungPerson.NO)
    return data.draw(
        st.sampled_from(
            [
                replace(rules, bootstrap_months=1),
                replace(rules, share_of_others_answered=1.0),
                replace(rules, job_types=(*rules.job_types[:-1], young)),
                replace(rules, job_types=(*rules.job_types[:-1], replace(young, supervised_allowed=False))),
            ]
        )
    )


@given(cases(), st.data())
def test_p8_stricter_rules_clear_no_more(one: Case, data: st.DataObject) -> None:
    given_evidence, rules = one
    assert no_better(answer(given_evidence, stricter(rules, data)), answer(given_evidence, rules))


# --------------------------------------------------------------------------------- P10: scope of blocks and namings


@given(cases())
def test_p10_a_wider_stand_down_or_narrower_naming_clears_no_more(one: Case) -> None:
    given_evidence, rules = one
    tom = given_evidence.of
    wider = tuple(replace(s, job_types=None) for s in tom.stand_downs)
    narrower = tuple(replace(a, job_types=a.job_types - {"A"}) for a in tom.appointments)
    before = answer(given_evidence, rules)
    assert no_better(answer(replace(given_evidence, of=replace(tom, stand_downs=wider)), rules), before)
    for_fewer_reasons = of_all(given_evidence, "stand_downs", lambda s: replace(s, medical=False))
    assert no_better(answer(for_fewer_reasons, rules), before)
    assert no_better(answer(replace(given_evidence, of=replace(tom, appointments=narrower)), rules), before)


# ------------------------------------------------------------------------------------------------- P14: never raises

JUNK: list[Any] = [
    None,
    "x",
    -1,
    float("nan"),
    {},
    (None,),
    ("x",),
    date.min,
    date.max,
    datetime(1, 1, 1),  # noqa: DTZ001
    datetime.max,  # noqa: DTZ901
    object(),
]


def is_sound(given_evidence: Evidence) -> bool:
    """Junk may happen to be sound: another name or day, which is other evidence and no corruption."""
    return not misfits(given_evidence, Evidence)


def altered(value: Any, **changes: Any) -> Any:
    """The value with junk in it; as it was where its own class refuses the junk, which then never gets as far."""
    try:
        return replace(value, **changes)
    except (TypeError, ValueError):
        return value


def corrupted(value: Any, data: st.DataObject) -> Any:
    """One field, at some depth, replaced by junk."""
    name = data.draw(st.sampled_from([field.name for field in fields(value)]))
    inner = getattr(value, name)
    if isinstance(inner, tuple) and inner and data.draw(st.booleans()):
        n = data.draw(st.integers(0, len(inner) - 1))
        if hasattr(inner[n], "__dataclass_fields__"):
            return altered(value, **{name: (*inner[:n], corrupted(inner[n], data), *inner[n + 1 :])})
    if hasattr(inner, "__dataclass_fields__") and data.draw(st.booleans()):
        return altered(value, **{name: corrupted(inner, data)})
    return altered(value, **{name: data.draw(st.sampled_from(JUNK))})


@given(cases(), st.data())
def test_p14_corrupt_evidence_raises_nothing_and_clears_nobody(one: Case, data: st.DataObject) -> None:
    given_evidence, rules = one
    broken = corrupted(given_evidence, data)
    decision = answer(broken, rules)
    assert decision.mode is not Mode.ALONE or decision.until is not None
    assert (decision.mode is Mode.NOT_CLEARED) <= bool(decision.gaps)
    assert no_better(decision, answer(given_evidence, rules)) or is_sound(broken)


def test_the_random_cases_meet_every_mode_often() -> None:
    met: Counter[Mode] = Counter()

    @settings(max_examples=300, database=None)
    @given(cases())
    def meet(one: Case) -> None:
        met[answer(*one).mode] += 1

    meet()
    assert min(met[mode] for mode in Mode) >= 5
