"""The rule book: job types and what each asks for, as data; each requirement with a plain sentence and its source."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from training.core.questions.kinds import Topic
from training.core.trade.fitness import House


@dataclass(frozen=True, slots=True, kw_only=True)
class RecallOf:
    """Mean recall low per topic and recall low of each life-consequence question.

    ``topic_mean_floor`` None: life questions only. ``most_life_questions`` keeps those that count from the earliest day
    (then topics in turn, then by id), so that one that begins to count later never takes the place of one that counts.
    ``most_a_topic`` first keeps so many life questions, and as many others, of each topic. ``law`` says what law asks,
    here and in all requirements; "" where it asks nothing and this is the workshop's own rule.
    """

    topics: tuple[Topic, ...]
    life_floor: float
    topic_mean_floor: float | None
    sentence: str
    source: str
    law: str = ""
    most_life_questions: int | None = None
    most_a_topic: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SignOffOf:
    """Enough passed observations of one practical task: n of them, by >= k mentors, on >= d local days, none older than
    m months; last done within ``done_within_days`` (None: not asked).

    Only attempts made alone count, and only after ``beside_first`` earlier ones with the mentor beside.
    """

    task: str
    observations: int
    mentors: int
    days: int
    valid_months: int
    done_within_days: int | None
    sentence: str
    source: str
    law: str = ""
    beside_first: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class CertificateOf:
    """An outside certificate of one kind, valid through its own day, never longer than ``valid_months`` from issue.

    It has to be checked with its issuer at least every ``verify_months`` (None: not asked).
    """

    kind: str
    valid_months: int
    sentence: str
    source: str
    law: str = ""
    verify_months: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AppointedFor:
    """A manager's written appointment for this job type, at most ``valid_months`` old."""

    valid_months: int
    sentence: str
    source: str
    law: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class InstructedWithin:
    """Instruction at this workshop within so many months; fewer for under-18s."""

    months: int
    months_under_18: int
    sentence: str
    source: str
    law: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldsJobType:
    """Everything that another job type asks for, so that one must be held alone (its young-person column apart)."""

    job_type: str
    sentence: str
    source: str
    law: str = ""


Requirement = RecallOf | SignOffOf | CertificateOf | AppointedFor | InstructedWithin | HoldsJobType


class YoungPerson(StrEnum):
    """The most that an under-18 may get for a job type."""

    ALONE = "alone"
    SUPERVISED = "supervised"
    NO = "no"


@dataclass(frozen=True, slots=True, kw_only=True)
class AtStart:
    """What a start of work asks for besides the clearances (kit kinds as in core.trade.fitness)."""

    second_person: str = ""  # "" none | "until proved dead" | "whole job" | "in sight, nothing else"
    maker_procedure: bool = False
    live_work_order: bool = False
    cordon: bool = False
    kit_kinds: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class JobType:
    """``key`` is short and stable ("A" ... "G", "second person"); ``title`` is what people read."""

    key: str
    title: str
    says: str
    requirements: tuple[Requirement, ...]
    young_person: YoungPerson
    supervised_allowed: bool
    at_start: AtStart


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleBook:
    """One version of a workshop's rules.

    ``in_use_days`` is how long a question must be in use before it counts; the first of a topic count at once.
    """

    version: int
    regime: str
    title: str
    note: str
    job_types: tuple[JobType, ...]
    in_use_days: int = 28
    share_of_others_answered: float = 0.8
    bootstrap_months: int = 12
    house: House = House()

    def job_type(self, key: str) -> JobType:
        """The job type with this key; KeyError says which keys there are."""
        for job_type in self.job_types:
            if job_type.key == key:
                return job_type
        raise KeyError(f"no job type {key!r}; this rule book has {', '.join(j.key for j in self.job_types)}")


def holds_of(rule_book: RuleBook, job_type: JobType) -> tuple[JobType, ...]:
    """All job types that have to be held for this one, through any number of steps; unknown ones are left out."""
    by_key = {j.key: j for j in rule_book.job_types}
    waiting, found = [job_type], dict[str, JobType]()
    while waiting:
        for requirement in waiting.pop().requirements:
            held = by_key.get(requirement.job_type) if isinstance(requirement, HoldsJobType) else None
            if held is not None and held.key not in found:
                found[held.key] = held
                waiting.append(held)
    return tuple(found.values())
