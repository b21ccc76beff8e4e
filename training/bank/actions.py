"""Writing the bank: files as new versions, versions accepted for a workshop, a rule book put in force."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction
from django.utils.translation import gettext as _

from training.bank.facts import Accepted, RuleBookInForce
from training.bank.files import BankFiles, BankRefused, Entry, read_bank
from training.bank.models import Question, QuestionVersion, TaskVersion
from training.core.permission.practical import PracticalTask
from training.core.permission.reading import rule_book_from
from training.core.questions.reading import SHIPPED_AUTHOR
from training.people.models import Person, Workshop, WorkshopGroup
from training.records.actions import Refused, append
from training.records.canonical import canonical_text


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
