"""A rule book as its page shows it: job types and requirements in words, who wrote it, and what waits."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from training.bank.queries import newest_tasks
from training.bank.rule_book_checks import may_confirm
from training.bank.rule_history import BookWritten, Rules
from training.board.labels import Voice, day_words, moment_words
from training.board.rules.words import figures_of, law_words, start_words, titles_for, young_words
from training.core.permission.rule_book import JobType, Requirement, RuleBook
from training.people.models import Person, RoleHeld, Workshop
from training.people.queries import roles_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One requirement in words."""

    sentence: str
    figures: str
    law: str
    is_law: bool
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """One job type in words."""

    key: str
    title: str
    says: str
    young: str
    supervised: bool
    start: str
    requirements: tuple[Asked, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One rule book in the history: its record, what became of it, and who wrote and confirmed it when."""

    record: int
    version: int
    state: str
    first_day: str
    written: str
    by: str
    confirmed_by: str
    since: str
    reason: str
    readable: bool
    waits: bool


def shown(book: RuleBook, workshop: Workshop) -> list[Shown]:
    """Every job type of a rule book in words."""
    tasks = {ident: row.title for ident, row in newest_tasks(workshop.group_id).items()}
    titles = titles_for(book, tasks)
    return [_job_type(one, titles.job_type(one.key)) for one in book.job_types]


def _job_type(one: JobType, title: str) -> Shown:
    return Shown(
        key=one.key,
        title=title,
        says=one.says,
        young=young_words(one),
        supervised=one.supervised_allowed,
        start="; ".join(start_words(one.at_start)),
        requirements=tuple(_asked(requirement) for requirement in one.requirements),
    )


def _asked(one: Requirement) -> Asked:
    figures = "; ".join(figures_of(one).values())
    return Asked(sentence=one.sentence, figures=figures, law=law_words(one), is_law=bool(one.law), source=one.source)


def lines_of(rules: Rules, voice: Voice) -> list[Line]:
    """All rule books of a workshop, the newest first."""
    return [_line(one, rules, voice) for one in reversed(rules.everything())]


def _line(one: BookWritten, rules: Rules, voice: Voice) -> Line:
    return Line(
        record=one.record,
        version=one.version,
        state=state_words(one, rules, voice.today),
        first_day=day_words(one.from_day, voice),
        written=moment_words(one.written_at, voice),
        by=voice.names.get(one.by, "?"),
        confirmed_by=voice.names.get(one.confirmed_by, "?") if one.confirmed_by else "",
        since=moment_words(one.since, voice) if one.since else "",
        reason=one.reason,
        readable=one.text is not None,
        waits=one in rules.proposed or one in rules.coming,
    )


def state_words(one: BookWritten, rules: Rules, today: date) -> str:
    """What became of a rule book."""
    if one == rules.in_force:
        return _("in force")
    if one in rules.proposed:
        return _("proposed, waits for a second person")
    if one in rules.coming:
        come = one.from_day <= today
        return _("takes away since its first day; to be confirmed again") if come else _("confirmed, comes by date")
    return _("was in force") if one in rules.past else _("never in force: withdrawn or overtaken")


def may_see_proposals(person: Person, workshop: Workshop) -> bool:
    """Managers, auditors, and whoever may confirm: the preview names people. Everybody else reads what is settled."""
    if person.group_id != workshop.group_id:
        return False
    return bool({RoleHeld.Role.MANAGER, RoleHeld.Role.AUDITOR} & roles_of(person)) or may_confirm(person, workshop)


def may_confirm_now(person: Person, workshop: Workshop, one: BookWritten, rules: Rules, *, today: date) -> bool:
    """Whether this person could confirm this rule book now."""
    if not may_confirm(person, workshop) or one.text is None:
        return False
    return (one in rules.proposed and one.by != person.key) or (one in rules.coming and one.from_day <= today)
