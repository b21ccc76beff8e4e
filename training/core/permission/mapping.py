"""A decision as plain JSON values and back: the same bytes for the same decision, whoever computed it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from typing import Any

from training.core.permission.decision import Decision, Ending, Gap, Ground, Mode, Remedy, RemedyKind

JsonObject = dict[str, Any]


def as_mapping(decision: Decision) -> JsonObject:
    """Plain values only: text, whole numbers, truth values, lists, objects. Instants are UTC, days are ISO dates."""
    return {
        "mode": decision.mode.value,
        "job_type": decision.job_type,
        "at": _instant_text(decision.at),
        "known_at": decision.known_at,
        "until": _instant_text(decision.until) if decision.until else None,
        "ends_by": _ending_mapping(decision.ends_by) if decision.ends_by else None,
        "gaps": [_gap_mapping(gap) for gap in decision.gaps],
        "proofs": list(decision.proofs),
        "supervisors": list(decision.supervisors),
        "rule_book_version": decision.rule_book_version,
        "parameter_set": decision.parameter_set,
        "head": decision.head,
    }


def from_mapping(plain: Mapping[str, Any]) -> Decision:
    """The decision that ``as_mapping`` wrote; KeyError, TypeError or ValueError on anything else."""
    return Decision(
        mode=Mode(plain["mode"]),
        job_type=plain["job_type"],
        at=_instant(plain["at"]),
        known_at=plain["known_at"],
        until=_instant(plain["until"]) if plain["until"] else None,
        ends_by=_ending(plain["ends_by"]) if plain["ends_by"] else None,
        gaps=tuple(_gap(gap) for gap in plain["gaps"]),
        proofs=tuple(plain["proofs"]),
        supervisors=tuple(plain["supervisors"]),
        rule_book_version=plain["rule_book_version"],
        parameter_set=plain["parameter_set"],
        head=plain["head"],
    )


def _gap_mapping(gap: Gap) -> JsonObject:
    return {
        "ground": gap.ground.value,
        "subject": str(gap.subject),
        "sentence": gap.sentence,
        "source": gap.source,
        "remedy": _remedy_mapping(gap.remedy),
        "records": list(gap.records),
        "facts": [[name, value] for name, value in gap.facts],
        "through": gap.through,
    }


def _gap(plain: Mapping[str, Any]) -> Gap:
    return Gap(
        ground=Ground(plain["ground"]),
        subject=plain["subject"],
        sentence=plain["sentence"],
        source=plain["source"],
        remedy=_remedy(plain["remedy"]),
        records=tuple(plain["records"]),
        facts=tuple((name, value) for name, value in plain["facts"]),
        through=plain["through"],
    )


def _remedy_mapping(remedy: Remedy) -> JsonObject:
    return {
        "kind": remedy.kind.value,
        "minutes": remedy.minutes,
        "earliest_on": remedy.earliest_on.isoformat() if remedy.earliest_on else None,
        "minutes_by_day": [list(pair) for pair in remedy.minutes_by_day],
        "questions": list(remedy.questions),
        "who": list(remedy.who),
    }


def _remedy(plain: Mapping[str, Any]) -> Remedy:
    return Remedy(
        kind=RemedyKind(plain["kind"]),
        minutes=plain["minutes"],
        earliest_on=_day(plain["earliest_on"]),
        minutes_by_day=_pairs(plain["minutes_by_day"]),
        questions=tuple(plain["questions"]),
        who=tuple(plain["who"]),
    )


def _ending_mapping(ending: Ending) -> JsonObject:
    return {
        "at": _instant_text(ending.at),
        "because": ending.because.value,
        "subject": str(ending.subject),
        "by_day": ending.by_day.isoformat() if ending.by_day else None,
    }


def _ending(plain: Mapping[str, Any]) -> Ending:
    return Ending(
        at=_instant(plain["at"]),
        because=Ground(plain["because"]),
        subject=plain["subject"],
        by_day=_day(plain["by_day"]),
    )


def _instant_text(instant: datetime) -> str:
    return instant.astimezone(UTC).isoformat().replace("+00:00", "Z")


def _instant(text: str) -> datetime:
    return datetime.fromisoformat(text).astimezone(UTC)


def _day(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None


def _pairs(plain: Sequence[Sequence[int]]) -> tuple[tuple[int, int], ...]:
    return tuple((day, minutes) for day, minutes in plain)
