"""Small-shop exceptions in words: what became of each, and what is said where a clearance rests on one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import gettext as _

from training.board.labels import Voice, day_words, moment_words
from training.core.permission.decision import Decision
from training.core.permission.evidence import SmallShop
from training.core.permission.validity import appointed_through
from training.people.sentences import said
from training.people.small_shops import starts_later
from training.records.facts import Fact
from training.records.queries import Written


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One exception as its page shows it. ``waits`` for the second signature, ``ready`` to be put into force."""

    record: int
    tasks: str
    days: str
    state: str
    reason: str
    signed: str
    waits: bool
    ready: bool
    lasts: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One record in a sentence, with who wrote it when."""

    number: int
    text: str
    reason: str
    by: str
    at: str


def rests_on(decision: Decision, small_shops: Iterable[SmallShop], voice: Voice) -> list[str]:
    """What the card says of the exceptions that are among a decision's proofs."""
    said = _(
        "Small-shop exception: one mentor, one observation more, one of them by a mentor from outside. "
        "Signed by %(by)s, through %(day)s (record %(number)d)."
    )
    return [
        said % {"by": signers_words(one, voice), "day": day_words(appointed_through(one), voice), "number": one.record}
        for one in small_shops
        if one.record in decision.proofs and decision.until is not None
    ]


def signers_words(one: SmallShop, voice: Voice) -> str:
    """Who signed it, by name."""
    names = [voice.names.get(key, "?") for key in (one.by, one.second_by) if key]
    return _("%(first)s and %(second)s") % {"first": names[0], "second": names[1]} if len(names) > 1 else names[0]


def line_of(one: SmallShop, written: Iterable[Written[Fact]], voice: Voice) -> Line:
    """One exception with what became of it by today."""
    lasts = one.withdrawn_from is None and one.through_day >= voice.today
    waits = lasts and not one.second_by
    comes = lasts and not waits and starts_later(one) and one.confirmed_on is None
    reasons = [getattr(row.fact, "reason", "") for row in written if row.number == one.record]
    tasks = _("All practical tasks") if one.tasks is None else ", ".join(_titles(one.tasks, voice))
    span = {"from": day_words(one.from_day, voice), "through": day_words(one.through_day, voice)}
    return Line(
        record=one.record,
        tasks=tasks,
        days=_("from %(from)s through %(through)s") % span,
        state=state_words(one, voice),
        reason="".join(reasons),
        signed=signers_words(one, voice),
        waits=waits,
        ready=comes and one.from_day <= voice.today,
        lasts=lasts,
    )


def state_words(one: SmallShop, voice: Voice) -> str:
    """What became of an exception."""
    if one.withdrawn_from is not None:
        return _("withdrawn: void from %(day)s on") % {"day": day_words(one.withdrawn_from, voice)}
    if one.through_day < voice.today:
        return _("over")
    if not one.second_by:
        return _("proposed, waits for a second person")
    if starts_later(one) and one.confirmed_on is None:
        come = one.from_day <= voice.today
        return _("waits to be put into force") if come else _("signed by two people, to be put into force on its day")
    return _("in force")


def history_of(written: Iterable[Written[Fact]], voice: Voice) -> list[Told]:
    """All records about the exceptions of a workshop, newest first."""
    return [
        Told(
            number=row.number,
            text=said(row, voice.names),
            reason=getattr(row.fact, "reason", ""),
            by=voice.names.get(getattr(row.fact, "by", ""), "?"),
            at=moment_words(row.happened_at, voice),
        )
        for row in reversed(list(written))
    ]


def _titles(tasks: Iterable[str], voice: Voice) -> list[str]:
    return [voice.tasks.get(task, task) for task in sorted(tasks)]
