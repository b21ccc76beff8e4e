"""What differs between two rule books, line by line in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields

from django.utils.translation import gettext as _

from training.board.rules.words import (
    Titles,
    figures_of,
    in_100,
    law_words,
    sentence_of,
    start_words,
    subject_of,
    young_words,
)
from training.core.permission.rule_book import HoldsJobType, JobType, RecallOf, Requirement, RuleBook

Place = tuple[str, str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Differs:
    """One difference: where, about what, and how it reads before and after ("": there is none)."""

    where: str
    what: str
    before: str
    after: str


def difference(before: RuleBook | None, after: RuleBook, tasks: Mapping[str, str]) -> list[Differs]:
    """All that differs between two rule books, the general part first, then by job type."""
    old = {one.key: one for one in before.job_types} if before else {}
    new = {one.key: one for one in after.job_types}
    said = Titles(tasks=tasks, job_types={key: one.title for key, one in {**old, **new}.items()})
    found = list(_general(before, after)) if before else []
    for key in dict.fromkeys([*new, *old]):
        found += _job_types(old.get(key), new.get(key), said)
    return found


def _general(before: RuleBook, after: RuleBook) -> Iterator[Differs]:
    yield from _lines(_("General"), _general_words(before), _general_words(after))


def _general_words(book: RuleBook) -> dict[str, str]:
    house = {f.name: getattr(book.house, f.name) for f in fields(book.house)}
    return {
        _("Title"): book.title,
        _("Note"): book.note,
        _("Days in use before a question counts"): str(book.in_use_days),
        _("Other questions answered, in 100"): in_100(book.share_of_others_answered),
        _("Months in which an outside certificate makes a mentor"): str(book.bootstrap_months),
        **{
            _("Kit") + ": " + name.replace("_", " "): "" if value is None else str(value)
            for name, value in house.items()
        },
    }


def _job_types(before: JobType | None, after: JobType | None, said: Titles) -> Iterator[Differs]:
    one = after or before
    assert one is not None
    where = said.job_type(one.key)
    if before is None or after is None:
        there = (_("not in it"), _("new job type")) if before is None else (_("in it"), _("taken out"))
        yield Differs(where=where, what=_("Job type"), before=there[0], after=there[1])
        return
    yield from _lines(where, _own_words(before), _own_words(after))
    old, new = _placed(before.requirements), _placed(after.requirements)
    for place in dict.fromkeys([*old, *new]):
        yield from _requirements(where, old.get(place), new.get(place), said)


def _own_words(one: JobType) -> dict[str, str]:
    return {
        _("Title"): one.title,
        _("What it is"): one.says,
        _("Under 18"): young_words(one),
        _("Supervised work"): _("yes") if one.supervised_allowed else _("no"),
        _("A start of work asks for"): "; ".join(start_words(one.at_start)),
    }


def _requirements(where: str, before: Requirement | None, after: Requirement | None, said: Titles) -> Iterator[Differs]:
    if before is None or after is None:
        one = after or before
        assert one is not None
        sentence, what = sentence_of(one, said), _("New requirement") if before is None else _("Requirement taken out")
        yield Differs(
            where=where, what=what, before="" if before is None else sentence, after=sentence if after else ""
        )
        return
    what = subject_of(after, said) or sentence_of(after, said).split(":")[0]
    old, new = _said(before, said), _said(after, said)
    for name in [name for name in dict.fromkeys([*old, *new]) if old.get(name, "") != new.get(name, "")]:
        yield Differs(where=where, what=what, before=old.get(name, ""), after=new.get(name, ""))


def _said(one: Requirement, said: Titles) -> dict[str, str]:
    topics = {"topics": subject_of(one, said)} if isinstance(one, RecallOf) else {}
    return {**topics, **figures_of(one), "sentence": one.sentence, "source": one.source, "law": law_words(one)}


def _placed(requirements: Iterable[Requirement]) -> dict[Place, Requirement]:
    """Requirements by kind and subject, so that one that moved is the same; the second of a kind is a second one."""
    seen: Counter[tuple[str, str]] = Counter()
    placed = {}
    for one in requirements:
        about = type(one).__name__, _about(one)
        seen[about] += 1
        placed[(*about, seen[about])] = one
    return placed


def _about(one: Requirement) -> str:
    if isinstance(one, HoldsJobType):
        return one.job_type
    return str(getattr(one, "task", getattr(one, "kind", "")))


def _lines(where: str, before: Mapping[str, str], after: Mapping[str, str]) -> Iterator[Differs]:
    for what in before:
        if before[what] != after[what]:
            yield Differs(where=where, what=what, before=before[what], after=after[what])
