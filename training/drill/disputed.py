"""A person's answers beside what they dispute of them: what of each still counts, and for what."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

from django.db.models import OuterRef, QuerySet, Subquery
from msgspec.structs import replace as with_changed

from training.drill.facts import Answered
from training.drill.models import PersonBelief
from training.people.disputes import Dispute, counting, disputes_of
from training.people.facts import Disputed, DisputeSettled
from training.people.models import Person, WorkshopGroup
from training.records.models import Record
from training.records.queries import Written

MOVES_RECALL = (Answered.kind, Disputed.kind, DisputeSettled.kind)
Rows = Sequence[Written[Answered]]


def counted_answers(rows: Rows, disputes: Sequence[Dispute]) -> tuple[list[Written[Answered]], tuple[int, ...]]:
    """The answers as they count, and the numbers of those that count for nothing.

    A wrong answer is left out once it was decided that it is withdrawn. A right one that is disputed counts as if too
    fast to have been read: for nothing, while its session still counts as one in which the question was seen.
    """
    counted = {row.number for row in counting(rows, disputes)}
    discounted = tuple(row.number for row in rows if row.number not in counted and row.fact and row.fact.right)
    answers = [_for_nothing(row) if row.number in discounted else row for row in rows]
    return [row for row in answers if row.number in counted or row.number in discounted], discounted


def seen_and_counted(rows: Rows, discounted: Collection[int]) -> list[Written[Answered]]:
    """The answers that recall is folded from: a question answered only by what counts for nothing was not answered."""
    answered = {row.fact.question for row in rows if row.fact and row.number not in discounted}
    return [row for row in rows if row.fact and row.fact.question in answered]


def as_given(rows: Rows, discounted: Collection[int]) -> list[Written[Answered]]:
    """The same answers, were the discounted ones not disputed."""
    return [
        replace(row, fact=with_changed(row.fact, too_fast=False)) if row.fact and row.number in discounted else row
        for row in rows
    ]


def disputes_answers(person: Person) -> bool:
    """Whether a person disputed any answer, settled or not: recall is then folded anew at each further one."""
    chain_id = person.group.chain_id
    disputed = [one.of_record for one in disputes_of([person.key], chain_id=chain_id).get(person.key, ())]
    rows = Record.objects.filter(chain_id=chain_id, number__in=disputed, kind=Answered.kind)
    return bool(disputed) and rows.exists()


def beliefs_behind(group: WorkshopGroup) -> QuerySet[PersonBelief]:
    """The caches of a group that do not hold what moved recall last."""
    moved = Record.objects.filter(
        chain_id=group.chain_id, about=OuterRef("person__key"), kind__in=MOVES_RECALL
    ).order_by("-number")
    return PersonBelief.objects.filter(person__group=group).exclude(newest_answer=Subquery(moved.values("number")[:1]))


def _for_nothing(row: Written[Answered]) -> Written[Answered]:
    assert row.fact is not None
    return replace(row, fact=with_changed(row.fact, too_fast=True))
