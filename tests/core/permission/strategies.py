"""Random evidence and rule books, so built that every mode is met often."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import cycle, islice
from typing import Any

from hypothesis import strategies as st

from tests.core.permission.builders import (
    AT,
    MENTORS,
    TODAY,
    age,
    appointed,
    appointment,
    book,
    certificate,
    certificate_of,
    evidence,
    holds,
    instructed,
    instruction,
    job_type,
    mentor,
    named_mentor,
    observed,
    person,
    question,
    recall_of,
    release,
    sign_off,
    stood_down,
    supervisor,
    unsafe,
)
from tests.core.permission.staffs import SECOND, past_day, small_shop, small_shops, staff
from training.core.permission.evidence import (
    Evidence,
    Observation,
    PersonEvidence,
    QuestionGate,
    Supervision,
)
from training.core.permission.rule_book import (
    AppointedFor,
    CertificateOf,
    InstructedWithin,
    RecallOf,
    Requirement,
    RuleBook,
    SignOffOf,
    YoungPerson,
)
from training.core.questions.kinds import Consequence, Topic

KINDS = ("first aid and CPR", "medical")
MODES = st.sampled_from(list(YoungPerson))


# ------------------------------------------------------------------------------------------------------- rule books

SIGN_OFFS = st.builds(
    lambda task, n, k, d, months, within, beside: sign_off(
        task, n, min(k, n), min(d, n), months=months, within=within, beside=beside
    ),
    st.sampled_from(["T1", "T2"]),
    st.integers(1, 3),
    st.sampled_from([1, 2, 2, 3]),
    st.integers(1, 2),
    st.sampled_from([6, 12, 24]),
    st.sampled_from([None, None, 90, 300]),
    st.sampled_from([0, 0, 0, 1, 2]),
)
PAPER_RULES = st.one_of(
    st.builds(certificate_of, st.sampled_from(KINDS), st.sampled_from([12, 24, 36]), st.sampled_from([None, None, 6])),
    st.builds(appointed, st.sampled_from([6, 12])),
    st.builds(instructed, st.sampled_from([6, 12]), st.sampled_from([3, 6])),
)
RECALL_RULES = st.builds(
    lambda topic, life, mean, most, a_topic: recall_of(topic, life=life, mean=mean, most=most, a_topic=a_topic),
    st.sampled_from([Topic.RESCUE, Topic.PPE]),
    st.sampled_from([0.3, 0.6]),
    st.sampled_from([None, 0.2, 0.4]),
    st.sampled_from([None, 2]),
    st.sampled_from([None, None, 1, 2]),
)


@st.composite
def rule_books(draw: st.DrawFn, recall: bool = True) -> RuleBook:
    """Job type J, which now and then has to hold A."""
    kinds = [SIGN_OFFS, PAPER_RULES, *([RECALL_RULES] if recall else [])]
    asks = draw(st.lists(st.one_of(kinds), min_size=1, max_size=3))
    held = draw(st.lists(st.one_of(kinds), min_size=1, max_size=2)) if draw(st.integers(0, 3)) == 0 else []
    young = draw(st.sampled_from([YoungPerson.ALONE, *YoungPerson]))
    own = job_type(*([holds("A")] if held else []), *asks, key="J", young=young, supervised=draw(st.integers(0, 3)) > 0)
    return book(*([job_type(*held, key="A", young=draw(MODES))] if held else []), own)


# --------------------------------------------------------------------------------------------------------- evidence


def attempts(passed: st.SearchStrategy[bool], most_days: int = 250) -> st.SearchStrategy[Observation]:
    return st.builds(
        lambda days, hour, by, task, ok, done, workshop, how: observed(
            AT - timedelta(days=days, hours=hour),
            by=by,
            task=task,
            passed=ok,
            done_only=done,
            workshop=workshop,
            supervision=how,
        ),
        st.integers(0, most_days),
        st.integers(0, 23),
        st.sampled_from(["mia", "max", "moe", "mia", "max", "tom", "eve"]),
        st.sampled_from(["T1", "T2"]),
        passed,
        st.sampled_from([False, False, False, True]),
        st.sampled_from(["shop", "shop", "shop", "elsewhere"]),
        st.sampled_from([Supervision.ALONE] * 5 + [Supervision.BESIDE, Supervision.BESIDE, Supervision.WATCHED]),
    )


PASSES = attempts(st.just(True))
APPOINTMENTS = st.builds(
    lambda start, length, by, key, early, gone: appointment(
        key,
        by=by,
        from_day=start,
        through_day=start + timedelta(days=length),
        entered_on=start - timedelta(days=early),
        withdrawn_from=None if gone is None else start + timedelta(days=gone),
    ),
    past_day(200),
    st.integers(30, 500),
    st.sampled_from(["boss", "boss", "mia"]),
    st.sampled_from(["J", "J", "A", "K"]),
    st.sampled_from([0, 0, 0, 5]),
    st.sampled_from([None, None, None, 0, 60, 300]),
)
CERTIFICATES = st.builds(
    lambda kind, issued, length, gone, checked: certificate(
        kind,
        issued,
        through_day=None if length is None else issued + timedelta(days=length),
        withdrawn_from=None if gone is None else issued + timedelta(days=gone),
        verified_on=tuple(min(TODAY, issued + timedelta(days=days)) for days in checked),
    ),
    st.sampled_from(KINDS),
    past_day(),
    st.sampled_from([None, 100, 400]),
    st.sampled_from([None, None, None, 90, 300]),
    st.lists(st.integers(-30, 500), max_size=2),
)
INSTRUCTIONS = past_day(250).map(instruction)
STAND_DOWNS = st.builds(
    lambda days, keys, incident, medical, giver: stood_down(
        AT - timedelta(days=days), *keys, incident=incident, medical=medical, job_given_by=giver
    ),
    st.integers(5, 100),
    st.sampled_from([(), ("J",), ("A",), ("K",)]),
    st.booleans(),
    st.booleans(),
    st.sampled_from(["", "chief"]),
)


@st.composite
def stood_down_once(draw: st.DrawFn, person: PersonEvidence) -> PersonEvidence:
    """Somebody with a stand-down, mostly with something seen since, and releases that mostly name it."""
    down = draw(STAND_DOWNS)
    seen_at = down.happened_at + timedelta(days=draw(st.sampled_from([1, 1, 1, 0, -1])))
    supervision = draw(st.sampled_from([Supervision.ALONE, Supervision.ALONE, Supervision.BESIDE]))
    fresh = observed(seen_at, by=draw(st.sampled_from(["mia", "max", person.person])), supervision=supervision)
    answered = certificate("medical", seen_at.date())
    named = st.sampled_from([(fresh.record,), (answered.record,), (fresh.record, answered.record), ()])
    releases = tuple(
        release(down.happened_at + timedelta(days=days), *draw(named), by=draw(st.sampled_from(RELEASERS)))
        for days in draw(st.lists(st.sampled_from([0, 1, 2, 4]), max_size=3))
    )
    return replace(
        person,
        observations=(*person.observations, fresh),
        certificates=(*person.certificates, answered),
        stand_downs=(*person.stand_downs, replace(down, releases=releases)),
    )


RELEASERS = ["boss", "boss", "chief", "tom", "mia"]


def questions(names: st.SearchStrategy[str], accepted: st.SearchStrategy[date]) -> st.SearchStrategy[QuestionGate]:
    return st.builds(
        lambda name, ln_hold, days, topic, consequence, accepted_on: question(
            name,
            ln_hold=ln_hold,
            last_at=AT - timedelta(days=days),
            topic=topic,
            consequence=consequence,
            accepted_on=accepted_on,
        ),
        names,
        st.sampled_from([0.0, -1.0, -2.0, -3.0, -5.0, None]),
        st.integers(0, 6),
        st.sampled_from([Topic.RESCUE, Topic.RESCUE, Topic.PPE]),
        st.sampled_from([Consequence.LIFE, Consequence.DAMAGE]),
        accepted,
    )


QUESTIONS = questions(
    st.sampled_from([f"q{n}" for n in range(12)]), past_day(200).map(lambda day: day - timedelta(days=28))
)
COMING = st.lists(
    questions(st.sampled_from([f"new {n}" for n in range(9)]), past_day(28)), max_size=4, unique_by=lambda q: q.question
)
UNSAFE = st.builds(
    lambda days, consequence, closed: unsafe(
        at=AT - timedelta(days=days),
        consequence=consequence,
        closed_at=AT - timedelta(days=days - 1) if closed else None,
    ),
    st.integers(1, 50),
    st.sampled_from([Consequence.LIFE, Consequence.DAMAGE]),
    st.booleans(),
)
SUPERVISORS = st.builds(
    lambda who, days, key: supervisor(who, AT + timedelta(days=days, seconds=days), key),
    st.sampled_from(["sue", "sam", "tom"]),
    st.integers(-2, 400),
    st.sampled_from(["J", "J", "J", "K"]),
)
AGES = st.builds(lambda young, day: age(young, day), st.sampled_from([False, False, True]), past_day())


def few(each: st.SearchStrategy[Any], most: int, least: int = 0) -> st.SearchStrategy[tuple[Any, ...]]:
    return st.lists(each, min_size=least, max_size=most).map(tuple)


@st.composite
def persons(draw: st.DrawFn) -> Any:
    """Tom, who mostly has enough of everything, and now and then a failure or a stand-down."""
    tom = person(
        observations=draw(few(PASSES, 7)) + draw(few(attempts(st.just(False)), 1)) * (draw(st.integers(0, 3)) == 0),
        appointments=draw(few(APPOINTMENTS, 3)),
        certificates=draw(few(CERTIFICATES, 4)),
        instructions=draw(few(INSTRUCTIONS, 2)),
        ages=draw(few(AGES, 2, least=1)),
    )
    return draw(stood_down_once(tom)) if draw(st.integers(0, 3)) == 0 else tom


@st.composite
def evidences(draw: st.DrawFn) -> Evidence:
    """Everything in it has happened by ``AT``; questions that count, each once."""
    questions = {q.question: q for q in draw(st.lists(QUESTIONS, min_size=1, max_size=6))}
    given = evidence(
        draw(persons()),
        gates=tuple(questions.values()),
        unsafe=draw(few(UNSAFE, 1)),
        supervisors=draw(few(SUPERVISORS, 2)),
        colleagues=staff(draw),
        small_shops=draw(few(small_shops(), 2)),
        read_at=AT + timedelta(days=5000),
    )
    return replace(given, workshop_opened_on=draw(st.sampled_from([date(2025, 6, 1), date(2025, 4, 1), None, None])))


def _as_small_shop(draw: st.DrawFn, given: Evidence, rules: RuleBook) -> tuple[Evidence, RuleBook]:
    """The case with hardly a mentor but Max, who comes by, in a workshop that two people found too small for more."""
    max_only = {"max": (named_mentor(outside=True, **SECOND),)}
    named = draw(st.sampled_from([max_only, max_only, {**max_only, "mia": (named_mentor(**SECOND),)}]))
    colleagues = {key: mentor(key, mentor_appointments=named.get(key, ())) for key in MENTORS}
    shop = small_shop(TODAY - timedelta(days=90), 300, 0, ("boss", "chief"), tasks=None, workshop="shop", gone=None)

    def by_two(requirement: Requirement) -> Requirement:
        if not isinstance(requirement, SignOffOf):
            return requirement
        most = max(2, requirement.mentors)
        return replace(requirement, mentors=most, observations=max(most, requirement.observations))

    *held, own = rules.job_types
    if not any(isinstance(r, SignOffOf) for r in own.requirements):
        own = replace(own, requirements=(*own.requirements, draw(SIGN_OFFS)))
    harder = [replace(j, requirements=tuple(map(by_two, j.requirements))) for j in (*held, own)]
    shops = draw(st.sampled_from([(shop,), (shop,), (shop, *given.small_shops), given.small_shops]))
    return replace(given, colleagues=colleagues, small_shops=shops), replace(rules, job_types=tuple(harder))


@st.composite
def cases(draw: st.DrawFn, recall: bool = True) -> tuple[Evidence, RuleBook]:
    """A rule book, and evidence to which mostly all that it asks for has been added, of any age."""
    rules = draw(rule_books(recall))
    given = draw(evidences())
    small = draw(st.integers(0, 2)) == 0
    if small:
        given, rules = _as_small_shop(draw, given, rules)
    if draw(st.integers(0, 2)) == 0:
        return given, rules
    given = replace(given, of=replace(given.of, stand_downs=(), ages=(age(draw(st.integers(0, 4)) == 0),)), unsafe=())
    learner = not small and draw(st.booleans())
    if learner:
        given = replace(given, of=replace(given.of, observations=()), supervisors=draw(few(SUPERVISORS, 3, least=2)))
    for asked in rules.job_types:
        for requirement in asked.requirements:
            practice = learner and asked.key == "J" and isinstance(requirement, SignOffOf)
            if draw(st.integers(0, 9)) > (5 if practice else 0):
                given = _with_proof(draw, given, asked.key, requirement)
    return given, rules


def _with_proof(draw: st.DrawFn, given: Evidence, key: str, requirement: Requirement) -> Evidence:
    of, day = given.of, draw(past_day(100))
    match requirement:
        case SignOffOf():
            days = draw(st.lists(st.integers(0, 120), min_size=4, max_size=4, unique=True))
            able = [key for key, one in given.colleagues.items() if one.mentor_appointments] or ["mia"]
            watching = islice(cycle(able[: draw(st.sampled_from([3, 3, 1]))]), len(days))
            seen = [
                observed(AT - timedelta(days=n), by=by, task=requirement.task)
                for n, by in zip(days, watching, strict=True)
            ]
            return replace(given, of=replace(of, observations=(*of.observations, *seen)))
        case CertificateOf():
            return replace(given, of=replace(of, certificates=(*of.certificates, certificate(requirement.kind, day))))
        case AppointedFor():
            named = appointment(key, from_day=day, through_day=date(2027, 3, 1))
            return replace(given, of=replace(of, appointments=(*of.appointments, named)))
        case InstructedWithin():
            return replace(given, of=replace(of, instructions=(*of.instructions, instruction(day))))
        case RecallOf():
            known = [question(f"{t} {n}", ln_hold=-1.0 - n, topic=t) for t in requirement.topics for n in range(2)]
            kept = [q for q in given.gates if q.topic not in requirement.topics]
            return replace(given, gates=(*kept, *known))
    return given


FOREIGN = {"foe": person("foe", observations=(observed(task="T1", passed=False),))}
