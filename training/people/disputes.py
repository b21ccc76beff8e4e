"""Disputed records: what counts while one is open, and once it is settled."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, TypeVar

from training.people import facts
from training.records.facts import Fact
from training.records.queries import Written, facts_of

SHAPES: tuple[type[Fact], ...] = (facts.Disputed, facts.DisputeSettled)
F = TypeVar("F", bound=Fact)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stance:
    """Whether a fact speaks ``against`` its person, and whether its person is asked to countersign it.

    ``whose`` says whose record it is where it is about something else, such as kit; None: whom it is about.
    """

    against: Callable[[Any], bool]
    countersigned: bool = False
    whose: Callable[[Any], str] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Dispute:
    """A person's word that the record ``of_record`` is wrong; ``stands`` is None until it is settled."""

    number: int
    of_record: int
    what: str
    written_by: str
    happened_at: datetime
    stands: bool | None = None


def disputable(
    shape: type[Fact],
    *,
    against: Callable[[Any], bool],
    countersigned: bool = False,
    whose: Callable[[Any], str] | None = None,
) -> None:
    """Let the app that defines a fact say that it may be disputed, when it speaks against somebody, and whose it is."""
    STANCES[shape] = Stance(against=against, countersigned=countersigned, whose=whose)


def stance_of(fact: Fact | None) -> Stance | None:
    """How a fact may be disputed; None where it may not, or cannot be read."""
    return None if fact is None else STANCES.get(type(fact))


def whose(paper: Written[Any]) -> str:
    """The key of the person who may dispute a record; "" where nobody may, or it cannot be read."""
    stance = stance_of(paper.fact)
    if stance is None:
        return ""
    return stance.whose(paper.fact) if stance.whose else paper.about


def never(_fact: Fact) -> bool:
    """A fact that never speaks against its person."""
    return False


def disputes_in(key: str, papers: Iterable[Written[Any]]) -> tuple[Dispute, ...]:
    """The disputes of one person, oldest first, each with its first settlement by somebody with no part in it."""
    found: dict[int, Dispute] = {}
    for paper in papers:
        fact = paper.fact
        if isinstance(fact, facts.Disputed) and fact.by == key and fact.record < paper.number:
            found[paper.number] = Dispute(
                number=paper.number,
                of_record=fact.record,
                what=fact.what,
                written_by=fact.written_by,
                happened_at=paper.happened_at,
            )
        if isinstance(fact, facts.DisputeSettled) and (one := found.get(fact.record)) is not None:
            found[fact.record] = _settled(one, fact, key)
    return tuple(found.values())


def disputes_of(keys: Iterable[str], *, chain_id: int, known_at: int | None = None) -> dict[str, tuple[Dispute, ...]]:
    """The disputes of these people that have any, as known at a record number."""
    by_person: dict[str, list[Written[Fact]]] = defaultdict(list)
    for paper in facts_of(SHAPES, chain_id=chain_id, about=keys, known_at=known_at):
        by_person[paper.about].append(paper)
    return {key: disputes_in(key, papers) for key, papers in by_person.items()}


def counting(rows: Sequence[Written[F]], disputes: Sequence[Dispute]) -> list[Written[F]]:
    """The records that count beside these disputes.

    What speaks for a person counts only once every dispute of it is settled and it stands. What speaks against them is
    left out only by a recorded decision that it does not. One that cannot be read stays: it blocks.
    """
    return [row for row in rows if not _is_left_out(row, [one for one in disputes if one.of_record == row.number])]


def is_incident(fact: Fact | None) -> bool:
    """A stand-down after an incident: only the releases of two people end it, never one manager's word."""
    return isinstance(fact, facts.StoodDown) and fact.incident


def _settled(dispute: Dispute, fact: facts.DisputeSettled, key: str) -> Dispute:
    if dispute.stands is not None or fact.by in ("", key, dispute.written_by):
        return dispute
    return replace(dispute, stands=fact.stands)


def _is_left_out(row: Written[F], disputes: Sequence[Dispute]) -> bool:
    if not disputes or row.fact is None or is_incident(row.fact):
        return False
    stance = stance_of(row.fact)
    if stance is None or not stance.against(row.fact):
        return any(one.stands is not True for one in disputes)
    settled = [one for one in disputes if one.stands is not None]
    return bool(settled) and settled[-1].stands is False


def _always(_fact: Fact) -> bool:
    return True


def _under_18(fact: facts.AgeEntered) -> bool:
    return fact.under_18


STANCES: dict[type[Fact], Stance] = {
    facts.Appointed: Stance(against=never),
    facts.MentorAppointed: Stance(against=never),
    facts.SecondSigned: Stance(against=never),
    facts.Confirmed: Stance(against=never),
    facts.CertificateSeen: Stance(against=never),
    facts.CertificateVerified: Stance(against=never),
    facts.Instructed: Stance(against=never),
    facts.Released: Stance(against=never),
    facts.AgeEntered: Stance(against=_under_18),
    facts.RoleChanged: Stance(against=never),
    facts.LeavingDay: Stance(against=_always),
    facts.StoodDown: Stance(against=_always),
    facts.Withdrawn: Stance(against=_always),
}
