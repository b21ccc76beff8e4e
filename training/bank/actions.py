"""Writing the bank: files as new versions, versions accepted for a workshop, a rule book put in force."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction
from django.utils.translation import gettext as _

from training.bank.facts import Accepted, RuleBookConfirmed, RuleBookInForce, RuleBookProposed, RuleBookWithdrawn
from training.bank.files import BankFiles, BankRefused, Entry, read_bank
from training.bank.models import Question, QuestionVersion, TaskVersion
from training.bank.rule_book_checks import may_confirm, rule_book_for
from training.bank.rule_books import book_in_force
from training.bank.rule_history import BookWritten, Rules, rules_of
from training.core.permission.practical import PracticalTask
from training.core.permission.reading import as_mapping, rule_book_from
from training.core.permission.rule_book import RuleBook
from training.core.questions.reading import SHIPPED_AUTHOR
from training.people.models import Person, Workshop, WorkshopGroup
from training.people.queries import is_manager
from training.people.refusal import Refusal
from training.records.actions import Refused, append, hold
from training.records.canonical import canonical_text
from training.records.models import Record

LONGEST_AHEAD = timedelta(days=731)


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded:
    """How many questions and tasks were new, got a new version, or stood as they were."""

    new: int
    changed: int
    same: int


def load_bank(*, group: WorkshopGroup, path: Path, at: datetime) -> Loaded:
    """Load a folder of question and task files; a changed entry becomes a new version that counts once accepted.

    Raises ``BankRefused`` with every fault; then nothing is written.
    """
    files = read_bank(path)
    if files.errors:
        raise BankRefused(files.errors)
    with transaction.atomic():
        verdicts = [_store_question(group, entry, at) for entry in files.entries]
        verdicts += _store_tasks(group, files, at)
    return Loaded(new=verdicts.count("new"), changed=verdicts.count("changed"), same=verdicts.count("same"))


def accept(*, workshop: Workshop, versions: Sequence[QuestionVersion], by: Person, at: datetime) -> None:
    """A checker accepts these versions for a workshop; the caller has checked that ``by`` is one.

    Raises ``Refused`` for none, for questions or a checker of another group, and for the author's own questions.
    """
    if not versions:
        raise Refused(_("Choose at least one question to accept."))
    if {by.group_id, *(version.question.group_id for version in versions)} != {workshop.group_id}:
        raise Refused(_("These questions belong to another workshop group."))
    if any(version.author == by.full_name for version in versions):
        raise Refused(_("Whoever wrote a question does not accept it. Ask another checker."))
    local = at.astimezone(ZoneInfo(workshop.zone)).date()
    fact = Accepted(
        workshop=workshop.key, accepted_on=local, by=by.key,
        questions=[(version.question.ident, version.number) for version in versions],
    )  # fmt: skip
    with transaction.atomic():
        append(fact, chain_id=workshop.group.chain_id, about=workshop.key, at=at)


def put_in_force(*, workshop: Workshop, book: dict[str, Any], by: Person, at: datetime) -> None:
    """Put a rule book in force at a workshop from now on. Raises ``BadRuleBook`` with every fault it has."""
    version = rule_book_from(book).version
    fact = RuleBookInForce(workshop=workshop.key, version=version, book=json.dumps(book, sort_keys=True), by=by.key)
    with transaction.atomic():
        append(fact, chain_id=workshop.group.chain_id, about=workshop.key, at=at)


def propose_rule_book(
    *, workshop: Workshop, book: Mapping[str, Any], from_day: date, reason: str, by: Person, at: datetime
) -> Record:
    """A manager proposes a rule book from a local day on; it changes nothing until a second person confirms it.

    Its version is given here. Raises ``BadRuleBook`` with every fault it has, ``Refusal`` and ``Refused``.
    """
    wanted = rule_book_for(workshop, book)
    with transaction.atomic():
        rules = _rules(workshop)
        _refuse_proposal(workshop, rules, wanted, by)
        _refuse_day(from_day, at.astimezone(ZoneInfo(workshop.zone)).date())
        if not reason.strip():
            raise Refusal(_("Say in a few words why the rule book changes."), field="reason")
        version = rules.next_version()
        text = json.dumps({**as_mapping(wanted), "version": version}, sort_keys=True, ensure_ascii=False)
        fact = RuleBookProposed(
            workshop=workshop.key, version=version, book=text, from_day=from_day, reason=reason.strip(), by=by.key
        )
        return append(fact, chain_id=workshop.group.chain_id, about=workshop.key, at=at)


def confirm_rule_book(*, workshop: Workshop, proposal: int, by: Person, at: datetime) -> Record:
    """Confirm a proposed rule book, or one that was confirmed before its first day and whose day has come.

    Raises ``Refusal``: for the proposer at the first confirmation, for whoever has not the right, for a day to come.
    """
    on = at.astimezone(ZoneInfo(workshop.zone)).date()
    with transaction.atomic():
        rules = _rules(workshop)
        if not may_confirm(by, workshop):
            raise Refusal(_("Only another manager of the group confirms a rule book, or its second signer."))
        book = _waiting(rules, proposal)
        if book in rules.coming and on < book.from_day:
            raise Refusal(_("It is confirmed already. What it lets people gain is confirmed again on its first day."))
        if book in rules.proposed and book.by == by.key:
            raise Refusal(_("Whoever proposed a rule book does not confirm it. A second person does."))
        fact = RuleBookConfirmed(
            workshop=workshop.key, proposal=proposal, version=book.version, confirmed_on=on, by=by.key
        )
        return append(fact, chain_id=workshop.group.chain_id, about=workshop.key, at=at)


def withdraw_rule_book(*, workshop: Workshop, proposal: int, reason: str, by: Person, at: datetime) -> Record:
    """A manager withdraws a proposal that nobody has confirmed; a confirmed one is only replaced by a newer book."""
    with transaction.atomic():
        rules = _rules(workshop)
        _managers_only(workshop, by)
        book = _waiting(rules, proposal)
        if book in rules.coming:
            raise Refusal(_("It is confirmed. To undo it, propose a newer rule book: that takes two people as well."))
        if not reason.strip():
            raise Refusal(_("Say in a few words why it is withdrawn."), field="reason")
        fact = RuleBookWithdrawn(
            workshop=workshop.key, proposal=proposal, version=book.version, reason=reason.strip(), by=by.key
        )
        return append(fact, chain_id=workshop.group.chain_id, about=workshop.key, at=at)


def _rules(workshop: Workshop) -> Rules:
    """Where the rule books stand, under the chain's lock: nobody writes another meanwhile."""
    hold(workshop.group.chain_id)
    return rules_of(workshop)


def _managers_only(workshop: Workshop, by: Person) -> None:
    if by.group_id != workshop.group_id or not is_manager(by):
        raise Refusal(_("Only a manager of the group changes its rule books."))


def _refuse_proposal(workshop: Workshop, rules: Rules, wanted: RuleBook, by: Person) -> None:
    _managers_only(workshop, by)
    if rules.proposed:
        sentence = _("Rule book %(version)d is proposed already. Confirm or withdraw it first.")
        raise Refusal(sentence % {"version": rules.proposed[0].version})
    in_force = book_in_force(rules)
    if in_force and {**as_mapping(in_force), "version": 0} == {**as_mapping(wanted), "version": 0} and not rules.coming:
        raise Refusal(_("Nothing in it differs from the rule book in force."))


def _refuse_day(from_day: date, today: date) -> None:
    if not today <= from_day <= today + LONGEST_AHEAD:
        sentence = _("%(day)s cannot be its first day. Give a day from today on, at most two years ahead.")
        raise Refusal(sentence % {"day": from_day.isoformat()}, field="from_day")


def _waiting(rules: Rules, proposal: int) -> BookWritten:
    for book in (*rules.proposed, *rules.coming):
        if book.record == proposal and book.text is not None:
            return book
    raise Refusal(_("This rule book does not wait for anything any more. Open the page anew."))


def _store_question(group: WorkshopGroup, entry: Entry, at: datetime) -> str:
    question, _created = Question.objects.get_or_create(group=group, ident=entry.question.id)
    newest = question.versions.order_by("-number").first()
    digest = digest_of({"topic": entry.question.topic.value, **entry.content})
    if newest and newest.digest == digest:
        return "same"
    QuestionVersion.objects.create(
        question=question, number=newest.number + 1 if newest else 1, topic=entry.question.topic,
        kind=entry.question.kind, consequence=entry.question.consequence, regime=entry.question.regime,
        worked_out=entry.worked_out, content=entry.content, digest=digest, author=SHIPPED_AUTHOR, loaded_at=at,
    )  # fmt: skip
    return "changed" if newest else "new"


def _store_tasks(group: WorkshopGroup, files: BankFiles, at: datetime) -> list[str]:
    return [_store_task(group, entry.task, entry.content, at) for entry in files.tasks]


def _store_task(group: WorkshopGroup, task: PracticalTask, content: dict[str, Any], at: datetime) -> str:
    newest = TaskVersion.objects.filter(group=group, ident=task.id).order_by("-number").first()
    digest = digest_of(content)
    if newest and newest.digest == digest:
        return "same"
    number = max(task.version, newest.number + 1 if newest else 1)
    TaskVersion.objects.create(
        group=group, ident=task.id, number=number, title=task.title, topic=task.topic, minutes=task.minutes,
        content={**content, "version": number}, digest=digest, loaded_at=at,
    )  # fmt: skip
    return "changed" if newest else "new"


def digest_of(content: dict[str, Any]) -> str:
    """Digest of an entry as loaded; numbers count as their text, since canonical facts hold no floats."""
    return sha256(canonical_text(_as_text(content)).encode()).hexdigest()


def _as_text(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _as_text(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_as_text(inner) for inner in value]
    return repr(value) if isinstance(value, float) else value
