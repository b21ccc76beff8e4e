"""One requirement from plain fields and back; a requirement that this program does not know is refused by name."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from training.core.permission.fields import Fields
from training.core.permission.rule_book import (
    AppointedFor,
    CertificateOf,
    HoldsJobType,
    InstructedWithin,
    RecallOf,
    Requirement,
    SignOffOf,
)
from training.core.questions.kinds import Topic

SAID = ("sentence", "source", "law")
Reader = Callable[[Fields, str, dict[str, str]], Requirement]


def read_requirement(fields: Fields) -> Requirement | None:
    """One requirement; None, and a fault noted, where it is not one that we know."""
    asks = [name for name in fields.names() if name not in SAID]
    if len(asks) != 1:
        fields.fault(f"must ask for exactly one thing, not {asks!r}")
        return None
    kind = asks[0]
    if kind not in READERS:
        fields.fault(f"unknown requirement {kind!r}; known are {', '.join(READERS)}")
        return None
    law = fields.text("law", empty=True) if fields.has("law") else ""
    said = {"sentence": fields.text("sentence"), "source": fields.text("source"), "law": law}
    requirement = READERS[kind](fields, kind, said)
    fields.nothing_else()
    return requirement


def requirement_mapping(requirement: Requirement) -> dict[str, Any]:
    """The plain fields that ``read_requirement`` reads back."""
    said = {"sentence": requirement.sentence, "source": requirement.source, "law": requirement.law}
    return {**_asks(requirement), **said}


def _recall(fields: Fields, kind: str, said: dict[str, str]) -> RecallOf:
    inner = fields.under(kind)
    requirement = RecallOf(
        topics=_topics(inner),
        life_floor=inner.floor("life_floor"),
        topic_mean_floor=inner.floor_or_none("topic_mean_floor"),
        most_life_questions=inner.whole_or_none("most_life_questions", least=1),
        most_a_topic=inner.whole_or_none("most_a_topic", least=1) if inner.has("most_a_topic") else None,
        **said,
    )
    inner.nothing_else()
    return requirement


def _topics(inner: Fields) -> tuple[Topic, ...]:
    names = inner.texts("topics")
    known = [topic.value for topic in Topic]
    for name in names:
        if name not in known:
            inner.fault(f"unknown topic {name!r}")
    return tuple(Topic(name) for name in names if name in known)


def _sign_off(fields: Fields, kind: str, said: dict[str, str]) -> SignOffOf:
    inner = fields.under(kind)
    requirement = SignOffOf(
        task=inner.text("task"),
        observations=inner.whole("observations", least=1),
        mentors=inner.whole("mentors", least=1),
        days=inner.whole("days", least=1),
        valid_months=inner.whole("valid_months", least=1),
        done_within_days=inner.whole_or_none("done_within_days", least=1),
        beside_first=inner.whole("beside_first", least=0, default=0),
        **said,
    )
    inner.nothing_else()
    if max(requirement.mentors, requirement.days) > requirement.observations:
        inner.fault("asks for more mentors or days than observations")
    return requirement


def _certificate(fields: Fields, kind: str, said: dict[str, str]) -> CertificateOf:
    inner = fields.under(kind)
    requirement = CertificateOf(
        kind=inner.text("kind"),
        valid_months=inner.whole("valid_months", least=1),
        verify_months=inner.whole_or_none("verify_months", least=1) if inner.has("verify_months") else None,
        **said,
    )
    inner.nothing_else()
    return requirement


def _appointed(fields: Fields, kind: str, said: dict[str, str]) -> AppointedFor:
    inner = fields.under(kind)
    requirement = AppointedFor(valid_months=inner.whole("valid_months", least=1), **said)
    inner.nothing_else()
    return requirement


def _instructed(fields: Fields, kind: str, said: dict[str, str]) -> InstructedWithin:
    inner = fields.under(kind)
    requirement = InstructedWithin(
        months=inner.whole("months", least=1),
        months_under_18=inner.whole("months_under_18", least=1),
        **said,
    )
    inner.nothing_else()
    return requirement


def _holds(fields: Fields, kind: str, said: dict[str, str]) -> HoldsJobType:
    return HoldsJobType(job_type=fields.text(kind), **said)


READERS: dict[str, Reader] = {
    "recall": _recall,
    "sign_off": _sign_off,
    "certificate": _certificate,
    "appointed": _appointed,
    "instructed": _instructed,
    "holds": _holds,
}


def _asks(requirement: Requirement) -> dict[str, Any]:
    match requirement:
        case RecallOf():
            return {
                "recall": {
                    "topics": [topic.value for topic in requirement.topics],
                    "life_floor": requirement.life_floor,
                    "topic_mean_floor": requirement.topic_mean_floor,
                    "most_life_questions": requirement.most_life_questions,
                    "most_a_topic": requirement.most_a_topic,
                }
            }
        case SignOffOf():
            names = ("task", "observations", "mentors", "days", "valid_months", "done_within_days", "beside_first")
            return {"sign_off": {name: getattr(requirement, name) for name in names}}
        case CertificateOf():
            fields = ("kind", "valid_months", "verify_months")
            return {"certificate": {name: getattr(requirement, name) for name in fields}}
        case AppointedFor():
            return {"appointed": {"valid_months": requirement.valid_months}}
        case InstructedWithin():
            return {"instructed": {"months": requirement.months, "months_under_18": requirement.months_under_18}}
    return {"holds": requirement.job_type}
