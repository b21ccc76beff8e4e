"""Reading what an answer about the past stood on: the people of a workshop ever, and records by number, in words."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from training.board.labels import Voice, moment_words
from training.drill.facts import Answered
from training.people.models import Person, Workshop
from training.people.queries import is_manager
from training.people.sentences import all_said, names_of, reason_for
from training.records.queries import numbered


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """One record in words. ``proves``: the answer stands on it; otherwise it stood in the way."""

    number: int
    text: str
    reason: str
    by: str
    happened: str
    recorded: str
    proves: bool


def team_ever(workshop: Workshop) -> QuerySet[Person]:
    """Everybody of a workshop by tally, those who have left since too."""
    return Person.objects.filter(workshop=workshop).order_by("tally")


def proofs_of(
    workshop: Workshop,
    numbers: Collection[int],
    voice: Voice,
    *,
    proved: Collection[int],
    viewer: Person,
    sees_answers: bool,
) -> list[Proof]:
    """The records of these numbers, oldest first; a single answer only for those who may see it."""
    names, manages = names_of(workshop.group_id), is_manager(viewer)
    rows = numbered(numbers, chain_id=workshop.group.chain_id)
    hidden = set() if sees_answers else {row.number for row in rows if isinstance(row.fact, Answered)}
    shown = [row for row in rows if row.number not in hidden]
    texts = dict(zip([row.number for row in shown], all_said(shown, names), strict=True))
    return [
        Proof(
            number=row.number,
            text=texts.get(row.number) or _("An answer in a drill."),
            reason=reason_for(viewer, row, manages=manages),
            by=names.get(getattr(row.fact, "by", ""), ""),
            happened=moment_words(row.happened_at, voice),
            recorded=moment_words(row.recorded_at, voice),
            proves=row.number in proved,
        )
        for row in rows
    ]
