"""Reading the bank: versions as core questions, what is accepted where, and the practical tasks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from training.bank.facts import Accepted
from training.bank.models import QuestionVersion, TaskVersion
from training.core.permission.practical import PracticalTask, task_from
from training.core.questions.kinds import Consequence, Kind, Question, Regime, Topic
from training.core.questions.reading import Refused, question_from, worked_out_from
from training.core.questions.variants import DrawFailed, UnknownGenerator, draw
from training.people.models import Workshop
from training.records.queries import facts_of


@dataclass(frozen=True, slots=True, kw_only=True)
class AcceptedQuestion:
    """The newest accepted version of a question at a workshop, and since when the question is in use there."""

    ident: str
    version: int
    topic: Topic
    kind: Kind
    consequence: Consequence
    regime: Regime
    accepted_on: date
    version_id: int


class Unreadable(RuntimeError):
    """A stored question that this program cannot show; the message says why."""


def question_of(version: QuestionVersion, seed: int) -> Question:
    """The question as one person meets it; ``seed`` settles the numbers of a worked-out one.

    Raises ``Unreadable`` when the stored content no longer reads, or this seed draws nothing sound: never shown.
    """
    try:
        if not version.worked_out:
            return question_from(version.content, Topic(version.topic), author=version.author)
        entry = worked_out_from(version.content)
        return draw(entry.generator, seed, id=entry.id, review_by=entry.review_by)
    except (Refused, UnknownGenerator, DrawFailed) as problem:
        raise Unreadable(f"{version} cannot be shown: {problem}") from problem


def newest_versions(group_id: int) -> Mapping[str, QuestionVersion]:
    """The newest version of every question of a group, by id."""
    rows = QuestionVersion.objects.filter(question__group_id=group_id).select_related("question").order_by("number")
    return {row.question.ident: row for row in rows}


def accepted_in(workshop: Workshop, *, known_at: int | None = None) -> list[AcceptedQuestion]:
    """Questions accepted for this workshop in its regime, as known at a record number, in order of their ids.

    A later version takes over the day the question came into use; only an accepted version is ever asked.
    """
    newest: dict[str, tuple[int, date]] = {}
    written = facts_of([Accepted], chain_id=workshop.group.chain_id, about=workshop.key, known_at=known_at)
    for fact in (row.fact for row in written if row.fact):
        for ident, number in fact.questions:
            since = newest[ident][1] if ident in newest else fact.accepted_on
            newest[ident] = (number, since)
    versions = QuestionVersion.objects.filter(question__group_id=workshop.group_id, question__ident__in=newest)
    found = [_accepted(row, *newest[row.question.ident]) for row in versions.select_related("question")]
    return sorted(
        (row for row in found if row and row.regime in (Regime.ALL, workshop.regime)), key=lambda row: row.ident
    )


def unreadable_acceptances(workshop: Workshop, *, known_at: int | None = None) -> tuple[int, ...]:
    """Records of acceptances here that cannot be read: what they accepted is unknown, so they block and never clear."""
    written = facts_of([Accepted], chain_id=workshop.group.chain_id, about=workshop.key, known_at=known_at)
    return tuple(row.number for row in written if row.fact is None)


def _accepted(row: QuestionVersion, number: int, since: date) -> AcceptedQuestion | None:
    if row.number != number:
        return None
    return AcceptedQuestion(
        ident=row.question.ident, version=number, topic=Topic(row.topic), kind=Kind(row.kind),
        consequence=Consequence(row.consequence), regime=Regime(row.regime), accepted_on=since, version_id=row.pk,
    )  # fmt: skip


def waiting_for_acceptance(workshop: Workshop) -> list[QuestionVersion]:
    """Newest versions in the workshop's regime that no checker has accepted here yet."""
    accepted = {(row.ident, row.version) for row in accepted_in(workshop)}
    rows = newest_versions(workshop.group_id)
    fits = {Regime.ALL.value, workshop.regime}
    return [row for ident, row in sorted(rows.items()) if row.regime in fits and (ident, row.number) not in accepted]


def newest_tasks(group_id: int) -> Mapping[str, TaskVersion]:
    """The newest version of every practical task, by id, in the order T1, T2, ... T10."""
    rows = {row.ident: row for row in TaskVersion.objects.filter(group_id=group_id).order_by("number")}
    return dict(sorted(rows.items(), key=lambda pair: (len(pair[0]), pair[0])))


def task_of(version: TaskVersion) -> PracticalTask:
    """A stored task version as the core reads it. Raises ``reading.Refused`` when it no longer reads."""
    return task_from(version.content)


def titles_of(group_id: int, idents: Iterable[str]) -> Mapping[str, str]:
    """Titles of practical tasks by id; an unknown one keeps its id."""
    known = newest_tasks(group_id)
    return {ident: known[ident].title if ident in known else ident for ident in idents}
