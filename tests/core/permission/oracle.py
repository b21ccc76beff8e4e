"""A slow second opinion on ``decide``: every requirement is judged at single instants; ends are found by trying them.

Written from DESIGN section 3 and the words of the evidence and the rule book, with nothing of ``core.permission`` but
its values: no ends are computed here. Whether somebody is cleared is worked out afresh at each instant tried, and the
end is the first whole minute at which they are cleared for less.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, fields
from datetime import date, datetime, timedelta
from itertools import product

from tests.core.permission.oracle_mentors import LATELY, Pass, Watched
from training.core.memory.gates import mean_gate_low
from training.core.permission.decision import Ground, Mode
from training.core.permission.evidence import Evidence, OutsideCertificate, QuestionGate
from training.core.permission.rule_book import (
    AppointedFor,
    CertificateOf,
    HoldsJobType,
    InstructedWithin,
    JobType,
    RecallOf,
    RuleBook,
    SignOffOf,
    YoungPerson,
)
from training.core.questions.kinds import Consequence, Topic
from training.core.trade.calendar import add_months, close_of_day, local_day

MINUTE = timedelta(minutes=1)
HORIZON = timedelta(days=30 * 365)
WORTH = {Mode.NOT_CLEARED: 0, Mode.SUPERVISED: 1, Mode.ALONE: 2}
Gaps = frozenset[tuple[Ground, str]]


@dataclass(frozen=True)
class Opinion:
    """The mode; its end (None: not cleared, or not within 30 years); and the gaps.

    Where several appointments leave equally many sign-offs missing, naming those of any one of them is right.
    """

    mode: Mode
    until: datetime | None
    gaps: frozenset[Gaps]


@dataclass(frozen=True)
class Judged:
    """One job type at one instant: what is missing whatever is chosen, and the choices of missing practice."""

    rest: Gaps
    held_practice: tuple[frozenset[Gaps], ...]
    practice: frozenset[Gaps]


def consult(evidence: Evidence, rules: RuleBook, key: str, *, at: datetime, known_at: int) -> Opinion:
    """What the oracle thinks."""
    return Oracle(evidence, rules, key, known_at).opinion(at)


class Oracle:
    """One person and one job type, asked about any instants."""

    def __init__(self, evidence: Evidence, rules: RuleBook, key: str, known_at: int) -> None:
        self.evidence, self.rules, self.known_at = evidence, rules, known_at
        self.me, self.zone = evidence.of, evidence.zone
        self.by_key = {job_type.key: job_type for job_type in rules.job_types}
        self.asked = self.by_key[key]
        self.watched = Watched(evidence, rules)

    def opinion(self, at: datetime) -> Opinion:
        states = {q.question for q in self.evidence.gates}
        if len(states) < len(set(self.evidence.gates)):  # contradictory: nothing that was read can be trusted
            return Opinion(Mode.NOT_CLEARED, None, frozenset({frozenset({(Ground.RECORD_UNREADABLE, "evidence")})}))
        mode, gaps = self.snapshot(at)
        return Opinion(mode, None if mode is Mode.NOT_CLEARED else self.first_drop(at, WORTH[mode]), gaps)

    # ------------------------------------------------------------------------------------------------- the end

    def first_drop(self, at: datetime, worth: int) -> datetime | None:
        """The first whole minute after ``at`` at which the person is cleared for less."""
        before = at
        for instant in self.turning_points(at):
            if self.worth(instant) < worth:
                return self.minute_of_drop(before, instant, worth)
            before = instant
        return None

    def minute_of_drop(self, still: datetime, no_more: datetime, worth: int) -> datetime:
        """Between two instants at which something turns, people only forget."""
        still = whole(still)
        while no_more - still > MINUTE:
            middle = still + (no_more - still) // MINUTE // 2 * MINUTE
            if self.worth(middle) < worth:
                no_more = middle
            else:
                still = middle
        return no_more

    def worth(self, instant: datetime) -> int:
        return WORTH[self.snapshot(instant)[0]]

    def turning_points(self, at: datetime) -> list[datetime]:
        """Every instant at which something else than forgetting can change, and many at which nothing does."""
        days = {local_day(at, self.zone) + timedelta(days=1)}
        for day in self.days_on_record():
            days |= {day, day + timedelta(days=1), day + timedelta(days=self.rules.in_use_days)}
            days.add(add_months(day, LATELY) + timedelta(days=1))
            for rule in (r for job_type in self.rules.job_types for r in job_type.requirements):
                spans = [getattr(rule, f.name) for f in fields(rule) if f.name.startswith(("valid_months", "months"))]
                days |= {add_months(day, months) + timedelta(days=1) for months in spans}
                days.add(day + timedelta(days=(getattr(rule, "done_within_days", 0) or 0) + 1))
        midnights = {close_of_day(day - timedelta(days=1), self.zone) for day in days}
        ends = {whole(s.until) for s in self.evidence.supervisors}
        return sorted(instant for instant in midnights | ends | {whole(at) + HORIZON} if instant > at)

    def days_on_record(self) -> Iterator[date]:
        me = self.me
        yield from (local_day(o.happened_at, self.zone) for o in me.observations)
        papers = (*me.appointments, *me.certificates, *me.instructions, *me.ages, *self.evidence.small_shops)
        for paper in (*papers, *self.evidence.gates):
            found = (getattr(paper, field.name) for field in fields(paper))
            yield from (day for day in found if isinstance(day, date) and not isinstance(day, datetime))

    # ------------------------------------------------------------------------------------------- at one instant

    def snapshot(self, at: datetime) -> tuple[Mode, frozenset[Gaps]]:
        """The mode, and the sets of gaps of which any is right."""
        day = local_day(at, self.zone)
        judged = self.judge(self.asked, at, day)
        always = self.always(at, day) | judged.rest
        young = self.too_young(day)
        only_practice = not always and all(frozenset() in choice for choice in judged.held_practice)
        if only_practice and not young and frozenset() in judged.practice:
            return Mode.ALONE, frozenset({frozenset()})
        young_may = not young or self.column() is YoungPerson.SUPERVISED
        mode, more = Mode.NOT_CLEARED, young
        if only_practice and self.asked.supervised_allowed and young_may:
            supervised = self.is_supervised(at)
            mode = Mode.SUPERVISED if supervised else Mode.NOT_CLEARED
            more = young if supervised else young | {(Ground.NO_SUPERVISOR, self.asked.key)}
        chosen = product(*judged.held_practice, judged.practice)
        return mode, frozenset(always.union(more, *each) for each in chosen)

    def is_supervised(self, at: datetime) -> bool:
        return any(
            s.job_type == self.asked.key and s.person != self.me.person and at < whole(s.until)
            for s in self.evidence.supervisors
        )

    def always(self, at: datetime, day: date) -> Gaps:
        """What has to hold whatever is asked."""
        evidence, found = self.evidence, set()
        if not evidence.chain_sound:
            found.add((Ground.CHAIN_BROKEN, "records"))
        if evidence.head > self.known_at or self.me.unreadable:
            found.add((Ground.RECORD_UNREADABLE, "records"))
        clock, newest = evidence.read_at or at, evidence.newest_recorded_at
        if newest is not None and (newest - clock).total_seconds() > 2:
            found.add((Ground.CLOCK, "clock"))
        if self.age(day) is None:
            found.add((Ground.AGE_UNKNOWN, "age"))
        return frozenset(found)

    def age(self, day: date) -> bool | None:
        """Under 18 or not, as entered last."""
        under_18 = None
        for entry in sorted(self.me.ages, key=lambda entry: (entry.entered_on, entry.record)):
            if entry.entered_on <= day:
                under_18 = entry.under_18
        return under_18

    def too_young(self, day: date) -> Gaps:
        limited = self.age(day) is True and self.column() is not YoungPerson.ALONE
        return frozenset({(Ground.UNDER_18, self.asked.key)}) if limited else frozenset()

    def column(self) -> YoungPerson:
        """The least that the job type and all that are held for it allow."""
        columns = {job_type.young_person for job_type in self.with_held(self.asked)}
        return next(each for each in (YoungPerson.NO, YoungPerson.SUPERVISED, YoungPerson.ALONE) if each in columns)

    def with_held(self, job_type: JobType) -> list[JobType]:
        held = [self.by_key.get(r.job_type) for r in job_type.requirements if isinstance(r, HoldsJobType)]
        return [job_type, *(more for each in held if each for more in self.with_held(each))]

    def judge(self, job_type: JobType, at: datetime, day: date) -> Judged:
        """A job type and all that are held for it."""
        rest: set[tuple[Ground, str]] = set()
        held_practice: list[frozenset[Gaps]] = []
        touching = [s for s in self.me.stand_downs if s.job_types is None or job_type.key in s.job_types]
        if any(self.watched.is_down(self.me.person, s, at) for s in touching):
            rest.add((Ground.STOOD_DOWN, job_type.key))
        for requirement in job_type.requirements:
            if isinstance(requirement, HoldsJobType) and requirement.job_type in self.by_key:
                held = self.judge(self.by_key[requirement.job_type], at, day)
                rest |= held.rest
                held_practice += [*held.held_practice, held.practice]
            else:
                rest |= self.missing(job_type, requirement, at, day)
        return Judged(frozenset(rest), tuple(held_practice), self.practice(job_type, at, day))

    def missing(self, job_type: JobType, requirement: object, at: datetime, day: date) -> set[tuple[Ground, str]]:
        match requirement:
            case RecallOf():
                return {gap for topic in requirement.topics for gap in self.recall(requirement, topic, at, day)}
            case CertificateOf():
                return set() if self.certified(requirement, day) else {(Ground.CERTIFICATE, requirement.kind)}
            case AppointedFor():
                named = self.appointers(job_type, requirement, day)
                return set() if named else {(Ground.APPOINTMENT, job_type.key)}
            case InstructedWithin():
                return set() if self.instructed(requirement, day) else {(Ground.INSTRUCTION, "instruction")}
            case HoldsJobType():
                return {(Ground.JOB_TYPE, requirement.job_type)}
        return set()

    # ------------------------------------------------------------------------------------------------- papers

    def certified(self, rule: CertificateOf, day: date) -> bool:
        return any(
            c.kind == rule.kind
            and c.issued_on <= day <= min(c.through_day or date.max, add_months(c.issued_on, rule.valid_months))
            and gained(c.issued_on, c.entered_on or c.issued_on, c.confirmed_on, day)
            and (c.withdrawn_from is None or day < c.withdrawn_from)
            and self.was_checked(c, rule.verify_months, day)
            for c in self.me.certificates
        )

    def was_checked(self, paper: OutsideCertificate, months: int | None, day: date) -> bool:
        """Whether some check with its issuer, the entering among them, lies no more than so many months back."""
        checks = {paper.entered_on or paper.issued_on}.union(on for on in paper.verified_on if on <= day)
        return months is None or any(day <= add_months(on, months) for on in checks)

    def appointers(self, job_type: JobType, rule: AppointedFor, day: date) -> set[str]:
        """Who wrote an appointment for the job type that counts today."""
        return {
            a.by
            for a in self.me.appointments
            if job_type.key in a.job_types
            and a.workshop == self.evidence.workshop
            and a.by != self.me.person
            and max(a.from_day, a.entered_on) <= day <= a.through_day
            and day <= add_months(a.from_day, rule.valid_months)
            and (a.withdrawn_from is None or day < a.withdrawn_from)
            and gained(a.from_day, a.entered_on, a.confirmed_on, day)
        }

    def instructed(self, rule: InstructedWithin, day: date) -> bool:
        months = rule.months if self.age(day) is False else min(rule.months, rule.months_under_18)
        return any(
            i.workshop == self.evidence.workshop and i.given_on <= day <= add_months(i.given_on, months)
            for i in self.me.instructions
        )

    # ----------------------------------------------------------------------------------------------- practice

    def practice(self, job_type: JobType, at: datetime, day: date) -> frozenset[Gaps]:
        """The sign-offs and what was not done lately, by each appointer with whom least is missing."""
        rules = [r for r in job_type.requirements if isinstance(r, SignOffOf)]
        namings = [r for r in job_type.requirements if isinstance(r, AppointedFor)]
        left_out = {by for naming in namings for by in self.appointers(job_type, naming, day)} or {""}
        lately = {(Ground.NOT_DONE_LATELY, r.task) for r in rules if not self.done_lately(r, at, day)}
        tried = [[r.task for r in rules if not self.signed_off(r, by, at, day)] for by in left_out]
        fewest = min(map(len, tried))
        return frozenset(
            frozenset(lately.union((Ground.SIGN_OFF, task) for task in tasks))
            for tasks in tried
            if len(tasks) == fewest
        )

    def passes(self, task: str, at: datetime, beside: int = 0) -> list[Pass]:
        return self.watched.passes(self.me.person, task, lambda instant: instant <= at, at, beside)

    def signed_off(self, rule: SignOffOf, left_out: str, at: datetime, day: date) -> bool:
        kept = [p for p in self.passes(rule.task, at, rule.beside_first) if p.observer != left_out]
        figures = (rule.observations, rule.mentors, rule.days, rule.valid_months, rule.beside_first)
        return self.watched.is_proved(self.me.person, rule.task, kept, day, figures)

    def done_lately(self, rule: SignOffOf, at: datetime, day: date) -> bool:
        if rule.done_within_days is None:
            return True
        jobs = [
            o
            for o in self.me.observations
            if o.done_only
            and o.passed
            and (o.task, o.workshop) == (rule.task, self.evidence.workshop)
            and o.observer != self.me.person
            and o.happened_at <= at
        ]
        done = {local_day(o.happened_at, self.zone) for o in (*jobs, *self.passes(rule.task, at))}
        return any((day - each).days <= rule.done_within_days for each in done)

    # ------------------------------------------------------------------------------------------------- recall

    def recall(self, rule: RecallOf, topic: Topic, at: datetime, day: date) -> set[tuple[Ground, str]]:
        unsafe = {
            (Ground.UNSAFE_ANSWER, str(topic))
            for u in self.evidence.unsafe
            if u.topic == topic and u.consequence is Consequence.LIFE and u.happened_at <= at
            if u.closed_at is None or not u.happened_at < u.closed_at <= at
        }
        begun = {q: begins for q, begins in self.asked_in(rule, topic).items() if begins <= day}
        if not begun:
            return unsafe | {(Ground.NO_QUESTIONS, str(topic))}
        counted = {q: begins for q, begins in begun.items() if self.within_limit(rule, q)}
        life_low = any(self.low([q], at) < rule.life_floor for q in counted if q.consequence is Consequence.LIFE)
        topic_low = any(
            self.falls_short(rule, [q for q, begins in counted.items() if begins <= until], at)
            for until in begun.values()
        )
        found = {Ground.RECALL_LIFE_QUESTIONS: life_low, Ground.RECALL_TOPIC: topic_low}
        return unsafe | {(ground, str(topic)) for ground, is_missing in found.items() if is_missing}

    def asked_in(self, rule: RecallOf, topic: Topic) -> dict[QuestionGate, date]:
        """The questions asked about in a topic, and the day from which each counts."""
        asked = {
            q
            for q in self.evidence.gates
            if q.topic == topic and (rule.topic_mean_floor is not None or q.consequence is Consequence.LIFE)
        }
        first = min((q.accepted_on for q in asked), default=None)
        in_use = timedelta(days=self.rules.in_use_days)
        return {q: q.accepted_on if q.accepted_on == first else q.accepted_on + in_use for q in asked}

    def within_limit(self, rule: RecallOf, question: QuestionGate) -> bool:
        """Whether fewer than the limits of questions of its sort, life or other, come before this one."""
        life = question.consequence is Consequence.LIFE
        rivals = {
            q: begins
            for topic in rule.topics
            for q, begins in self.asked_in(rule, topic).items()
            if (q.consequence is Consequence.LIFE) == life
        }
        if rule.most_a_topic is not None:
            rivals = {
                q: begins
                for q, begins in rivals.items()
                if sum(o.topic == q.topic and (rivals[o], o.question) < (begins, q.question) for o in rivals)
                < rule.most_a_topic
            }
        if question not in rivals:
            return False
        if rule.most_life_questions is None or not life:
            return True

        def place(q: QuestionGate) -> tuple[date, int, str, str]:
            turn = [o for o in rivals if (o.topic, rivals[o]) == (q.topic, rivals[q]) and comes_before(o, q)]
            return rivals[q], len(turn), q.topic, q.question

        return sum(place(other) < place(question) for other in rivals) < rule.most_life_questions

    def falls_short(self, rule: RecallOf, questions: Sequence[QuestionGate], at: datetime) -> bool:
        """Whether the mean or the share answered is too low, of these questions."""
        if rule.topic_mean_floor is None:
            return False
        others = [q for q in questions if q.consequence is not Consequence.LIFE]
        share = round(self.rules.share_of_others_answered * 1000)
        too_few = 1000 * sum(q.answered for q in others) < share * len(others)
        return too_few or self.low(questions, at) < rule.topic_mean_floor

    def low(self, questions: Iterable[QuestionGate], at: datetime) -> float:
        """Recall low at the first whole minute after ``at``: if that meets the floor, the end lies ahead."""
        who = self.evidence.moments
        gates = [None if q.gate is None or (q.gate.last_at and q.gate.last_at > at) else q.gate for q in questions]
        return 0.0 if who is None else mean_gate_low(gates, who, whole(at) + MINUTE, self.evidence.parameters)


def comes_before(one: QuestionGate, other: QuestionGate) -> bool:
    return (one.accepted_on, one.question) < (other.accepted_on, other.question)


def gained(starts_on: date, entered_on: date, confirmed_on: date | None, day: date) -> bool:
    """What starts later than it was written gains nothing until somebody confirms it on or after that day."""
    return starts_on <= entered_on or (confirmed_on is not None and starts_on <= confirmed_on <= day)


def whole(instant: datetime) -> datetime:
    return instant.replace(second=0, microsecond=0)
